from django.apps import AppConfig


class CareConfig(AppConfig):
    name = "wintering.care"
    label = "care"
