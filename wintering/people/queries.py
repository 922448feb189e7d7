"""Reading the record of who did what."""

from django.db import models

from wintering.people.models import Event, EventQuerySet


def events_about(row: models.Model) -> EventQuerySet:
    """What was done to a row, newest first, with who did it."""
    return Event.objects.about(row).select_related("by")
