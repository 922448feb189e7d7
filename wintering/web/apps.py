from importlib import import_module

from django.apps import AppConfig


class WebConfig(AppConfig):
    name = "wintering.web"
    label = "web"

    def ready(self) -> None:
        import_module("wintering.web.checks")
