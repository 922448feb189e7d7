from django.apps import AppConfig


class PrintingConfig(AppConfig):
    name = "wintering.printing"
    label = "printing"
