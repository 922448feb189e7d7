"""Adding to the record of who did what."""

from typing import Any

from django.db import models
from django.utils import timezone

from wintering.people.models import Event, User


def record(by: User | None, verb: str, row: models.Model, **detail: Any) -> Event:
    """Add one event about a row; `by` is None for what the program did by itself."""
    event = Event(
        at=timezone.now(),
        by=by,
        verb=verb,
        table=row._meta.label_lower,
        row_id=row.pk,
        detail={name: _plain(value) for name, value in detail.items()},
    )
    event.save(force_insert=True)
    return event


def _plain(value: object) -> object:
    if value is None or isinstance(value, bool | int | float | str | list | dict):
        return value
    return str(value)
