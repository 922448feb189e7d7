import logging

from django.apps import AppConfig

from wintering.feed.logs import HideCalendarTokens


class FeedConfig(AppConfig):
    name = "wintering.feed"
    label = "feed"

    def ready(self) -> None:
        """Hide secrets where paths are logged, whatever writes the log in the end."""
        for name in ("django.request", "django.server", "django.security"):
            logging.getLogger(name).addFilter(HideCalendarTokens())
