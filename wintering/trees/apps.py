from django.apps import AppConfig


class TreesConfig(AppConfig):
    name = "wintering.trees"
    label = "trees"
