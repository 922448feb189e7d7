"""What is odd about a sensor's readings: to look at, and still counted."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

import numpy as np
from numpy.typing import NDArray

from wintering.climate.models import Sensor
from wintering.climate.queries.readings import Series, hourly, several_readings
from wintering.science.clock_doubts import future, hour_jumps
from wintering.science.doubts import (
    DRIFT_D,
    LASTS_D,
    Doubt,
    blips,
    calm_spells,
    drift,
    gaps,
    steps,
)
from wintering.science.screening import Quality

LOOKED_AT = timedelta(days=62)
"""Of a longer window its last two months are gone through: own choice, so that a whole
winter of minutes does not keep a page waiting."""

DRIFT_NEEDS = timedelta(days=DRIFT_D + LASTS_D + 14)
"""Growth over thirty days that lasts for fourteen, and two weeks to be found in."""

AIRY = (Sensor.Place.AIR, Sensor.Place.OUTSIDE)


@dataclass(frozen=True, eq=False)
class Doubts:
    """Newest first; `since` is from when on was looked."""

    found: list[Doubt]
    since: datetime


def doubts_of(
    sensor: Sensor, start: datetime, end: datetime, *, now: datetime
) -> Doubts:
    """The doubts about a sensor's readings from start up to and without end.

    What lies in the future is told whatever the window. Steps are held against sensors
    at the same kind of place in the same frame, drift against the first of them by
    name. The number of statements stays the same, however many sensors there are.
    """
    since = max(start, end - LOOKED_AT)
    if sensor.is_min_max:
        return Doubts([], since)
    beside = _beside(sensor)
    series = several_readings([sensor, *beside], since, end)
    own = _counted(series[sensor.pk])
    found = [*_in_future(sensor, now), *_gaps(series[sensor.pk].seconds)]
    if sensor.quantity == Sensor.Quantity.TEMPERATURE:
        neighbours = [_counted(series[one.pk]) for one in beside]
        zone = ZoneInfo(sensor.frame.time_zone)
        found += [*blips(*own), *steps(*own, neighbours, zone)]
        if sensor.place in AIRY:
            found += calm_spells(*own)
        found += _drift(sensor, beside, since, end)
    return Doubts(sorted(found, key=lambda one: one.since_s, reverse=True), since)


def _in_future(sensor: Sensor, now: datetime) -> list[Doubt]:
    ahead = several_readings([sensor], now)[sensor.pk]
    return future(ahead.seconds, int(now.timestamp()))


def _gaps(seconds: NDArray[np.int64]) -> list[Doubt]:
    """Where readings are missing; a gap of just an hour may be the clock's.

    A reading that is set aside is there: its span is told with the reason, and no gap.
    """
    jumps = hour_jumps(seconds)
    told = {one.since_s for one in jumps}
    return [*jumps, *(one for one in gaps(seconds) if one.since_s not in told)]


def _beside(sensor: Sensor) -> list[Sensor]:
    if sensor.quantity != Sensor.Quantity.TEMPERATURE:
        return []
    if sensor.place == Sensor.Place.UNKNOWN:
        return []
    alike = sensor.frame.sensors.filter(
        place=sensor.place, quantity=sensor.quantity, is_min_max=False
    )
    return list(alike.exclude(pk=sensor.pk).order_by("name"))


def _counted(series: Series) -> tuple:
    counts = series.quality == Quality.GOOD
    return series.seconds[counts], series.value[counts]


def _drift(
    sensor: Sensor, beside: Sequence[Sensor], since: datetime, end: datetime
) -> list[Doubt]:
    if not beside:
        return []
    reference = beside[0]
    hours = hourly([sensor, reference], end - DRIFT_NEEDS, end)
    zone = ZoneInfo(sensor.frame.time_zone)
    found = drift(hours[sensor.pk], hours[reference.pk], zone)
    return [one for one in found if one.until_s > since.timestamp()]
