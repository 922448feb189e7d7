from django.apps import AppConfig


class FeedConfig(AppConfig):
    name = "wintering.feed"
    label = "feed"
