"""Which readings of a sensor do not count, why, and what a keeper's word would change.

All of it from the quality bytes beside the readings.
"""

from dataclasses import dataclass
from datetime import UTC, datetime

import numpy as np
from django.db.models import QuerySet
from numpy.typing import NDArray

from wintering.climate.models import Sensor, Verdict
from wintering.climate.queries.readings import readings
from wintering.people.models import User
from wintering.science.screening import Quality
from wintering.science.series import HOUR_S

APART_S = 3 * HOUR_S
"""Readings set aside for one reason closer together than this are one span: own
choice."""


@dataclass(frozen=True, slots=True)
class MarkedSpan:
    """Readings that do not count, for one reason; the span excludes its end."""

    reason: str
    is_by_keeper: bool
    start_at: datetime
    end_at: datetime
    readings: int
    hours: int  # clock hours that hold one of them


@dataclass(frozen=True, slots=True)
class WhatChanges:
    """What a word on a span would change."""

    readings: int  # that would change sides
    hours: int  # clock hours that hold one of them
    of: int  # readings in the span
    counts: bool

    @property
    def refusal(self) -> str:
        """Why there is nothing to say; empty where there is."""
        if not self.of:
            return (
                "There is no reading from then to then. Choose a span with readings, "
                "or bring the log in first."
            )
        if not self.readings:
            state = "counts already" if self.counts else "is set aside already"
            return f"Each of the {self.of} readings from then to then {state}."
        return ""


def verdicts_for(user: User) -> QuerySet[Verdict]:
    """Those who work here see every word on readings; clients see none."""
    if not user.is_staffing:
        return Verdict.objects.none()
    return Verdict.objects.select_related("sensor__frame", "by", "withdrawn_by")


def marked_spans(
    sensor: Sensor, start: datetime | None = None, end: datetime | None = None
) -> list[MarkedSpan]:
    """The spans of a sensor's readings that do not count, newest first."""
    found = readings(sensor, start, end)
    return spans_in(found.seconds, found.quality)


def spans_in(
    seconds: NDArray[np.int64], quality: NDArray[np.uint8]
) -> list[MarkedSpan]:
    """The spans of readings in order of time that do not count, newest first."""
    spans = [
        span
        for code in np.unique(quality)
        if code != Quality.GOOD
        for span in _spans(seconds[quality == code], Quality(int(code)))
    ]
    return sorted(spans, key=lambda span: span.start_at, reverse=True)


def what_changes(
    sensor: Sensor, start: datetime, end: datetime, *, counts: bool
) -> WhatChanges:
    """How many readings and clock hours a word on a span would move."""
    found = readings(sensor, start, end)
    is_good = found.quality == Quality.GOOD
    changed = found.seconds[~is_good if counts else is_good]
    return WhatChanges(len(changed), _hours(changed), len(found), counts)


def _spans(seconds: NDArray[np.int64], quality: Quality) -> list[MarkedSpan]:
    breaks = np.flatnonzero(np.diff(seconds) > APART_S) + 1
    return [
        MarkedSpan(
            reason=quality.reason,
            is_by_keeper=quality is Quality.BY_KEEPER,
            start_at=datetime.fromtimestamp(int(run[0]), UTC),
            end_at=datetime.fromtimestamp(int(run[-1]) + 1, UTC),
            readings=len(run),
            hours=_hours(run),
        )
        for run in np.split(seconds, breaks)
    ]


def _hours(seconds: NDArray[np.int64]) -> int:
    return len(np.unique(seconds // HOUR_S))
