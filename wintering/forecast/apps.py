from django.apps import AppConfig


class ForecastConfig(AppConfig):
    name = "wintering.forecast"
    label = "forecast"
