from django.apps import AppConfig


class FramesConfig(AppConfig):
    name = "wintering.frames"
    label = "frames"
