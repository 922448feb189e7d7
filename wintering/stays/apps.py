from django.apps import AppConfig


class StaysConfig(AppConfig):
    name = "wintering.stays"
    label = "stays"
