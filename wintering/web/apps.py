from django.apps import AppConfig


class WebConfig(AppConfig):
    name = "wintering.web"
    label = "web"
