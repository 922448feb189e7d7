from django.apps import AppConfig


class ApiConfig(AppConfig):
    name = "wintering.api"
    label = "api"
