"""What the checks and a keeper's words make of stored readings."""

import numpy as np
from django.db import transaction
from numpy.typing import NDArray

from wintering.climate.models import Sensor
from wintering.climate.queries.offsets import as_shown
from wintering.climate.services.held import Held, days_held, write_days
from wintering.climate.storage import DAY_S, Readings, second_from
from wintering.science.screening import (
    DAMPEST_PCT,
    DRIEST_PCT,
    REACH_S,
    Quality,
    judge,
)

_DRY_PLACES = (Sensor.Place.AIR, Sensor.Place.OUTSIDE)

AROUND_S = 2 * REACH_S
"""So much is loaded around a change: it bears on what lies within REACH_S of it, and
that in turn is judged by what lies within REACH_S of itself."""


def holds_ice(sensor: Sensor) -> bool:
    """Whether ice may form around the sensor, which then rightly stands at 0 °C."""
    return sensor.place not in _DRY_PLACES


def judged(sensor: Sensor, readings: Readings) -> NDArray[np.uint8]:
    """The quality of readings in order of time: the checks, and above them a keeper."""
    if sensor.quantity == Sensor.Quantity.TEMPERATURE:
        shown_c = as_shown(sensor, readings.thousandths)
        quality = judge(readings.seconds, shown_c, holds_ice=holds_ice(sensor))
    else:
        shown = as_shown(sensor, readings.thousandths)
        beyond = (shown < DRIEST_PCT) | (shown > DAMPEST_PCT)
        quality = np.where(beyond, Quality.NO_HUMIDITY, Quality.GOOD).astype(np.uint8)
    for verdict in sensor.verdicts.filter(withdrawn_at=None).order_by("at", "pk"):
        first, end = np.searchsorted(
            readings.seconds,
            [second_from(verdict.start_at), second_from(verdict.end_at)],
        )
        quality[first:end] = Quality.GOOD if verdict.counts else Quality.BY_KEEPER
    return quality


def held_around(sensor: Sensor, seconds: NDArray[np.int64]) -> Held:
    """What is stored around instants at which something is about to change."""
    first, last = int(seconds.min()), int(seconds.max())
    return days_held(sensor, first - AROUND_S, last + AROUND_S)


def judge_and_write(sensor: Sensor, held: Held, changed: NDArray[np.int64]) -> Held:
    """Judge what instants that were added, replaced or removed bear on, and store it.

    held     what is to stand, in order of time
    changed  the instants, in order of time
    """
    seconds, was = held.readings.seconds, held.readings.quality
    is_near = _distance_s(seconds, changed) <= REACH_S
    quality = np.where(is_near, judged(sensor, held.readings), was)
    touched = np.concatenate([changed, seconds[quality != was]])
    held = held.judged_as(quality)
    write_days(sensor, held, np.unique(touched // DAY_S))
    return held


@transaction.atomic
def rejudge(
    *, sensor: Sensor, start_s: int | None = None, end_s: int | None = None
) -> int:
    """Judge again what is stored, from start_s up to and without end_s.

    Returns how many readings changed sides or reason. What the checks may look at
    beyond the span is looked at too; the verdicts there stay as they are.
    """
    Sensor.objects.select_for_update(no_key=True).get(pk=sensor.pk)
    held = days_held(
        sensor,
        None if start_s is None else start_s - AROUND_S,
        None if end_s is None else end_s + AROUND_S,
    )
    seconds = held.readings.seconds
    is_asked = np.ones(len(held), bool)
    if start_s is not None:
        is_asked &= seconds >= start_s
    if end_s is not None:
        is_asked &= seconds < end_s
    was = held.readings.quality
    quality = np.where(is_asked, judged(sensor, held.readings), was)
    is_changed = quality != was
    if is_changed.any():
        days = np.unique(seconds[is_changed] // DAY_S)
        write_days(sensor, held.judged_as(quality), days)
    return int(is_changed.sum())


def _distance_s(
    seconds: NDArray[np.int64], marks: NDArray[np.int64]
) -> NDArray[np.int64]:
    """How far each instant lies from the nearest mark; both are in order."""
    after = np.searchsorted(marks, seconds)
    later = marks[np.minimum(after, len(marks) - 1)]
    earlier = marks[np.maximum(after - 1, 0)]
    return np.minimum(np.abs(later - seconds), np.abs(seconds - earlier))
