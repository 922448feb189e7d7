from django.apps import AppConfig


class PeopleConfig(AppConfig):
    name = "wintering.people"
    label = "people"
