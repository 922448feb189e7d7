"""Mistakes in the environment that are better told at the start than found at night."""

import os
from collections.abc import Sequence
from typing import Any

from django.conf import settings
from django.core.checks import CheckMessage, Error, Warning, register

LOCAL_HOSTS = {"localhost", "127.0.0.1", "[::1]"}


@register()
def data_folder(app_configs: Sequence[Any] | None, **kwargs: Any) -> list[CheckMessage]:
    """Photos, logs and the database need a folder that can be written to."""
    if os.access(settings.DATA_DIR, os.W_OK):
        return []
    return [
        Error(
            f"The data folder {settings.DATA_DIR} cannot be written to.",
            hint="Give its owner the right to write, or set WINTERING_DATA.",
            id="wintering.E001",
        )
    ]


@register()
def https(app_configs: Sequence[Any] | None, **kwargs: Any) -> list[CheckMessage]:
    """Behind an https front end the site's own name must be known."""
    if not settings.IS_HTTPS or set(settings.ALLOWED_HOSTS) - LOCAL_HOSTS:
        return []
    return [
        Warning(
            "WINTERING_HTTPS is on, but only this machine's own names are allowed.",
            hint="Set WINTERING_HOSTS to the name people type, such as trees.example.",
            id="wintering.W001",
        )
    ]


@register()
def open_to_all(app_configs: Sequence[Any] | None, **kwargs: Any) -> list[CheckMessage]:
    """Debug pages show settings and data to whoever causes an error."""
    if not settings.DEBUG or not set(settings.ALLOWED_HOSTS) - LOCAL_HOSTS:
        return []
    return [
        Warning(
            "WINTERING_DEBUG is on while the site answers to other machines.",
            hint="Unset WINTERING_DEBUG: error pages would show what is stored.",
            id="wintering.W002",
        )
    ]
