from django.apps import AppConfig


class ClimateConfig(AppConfig):
    name = "wintering.climate"
    label = "climate"
