"""What sensors measured, as arrays and as clock hours, with their ice-bath offsets."""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime, timedelta

import numpy as np
from django.db.models import F, Max, Window
from django.db.models.functions import RowNumber
from numpy.typing import NDArray

from wintering.climate.models import ReadingDay, Sensor
from wintering.climate.queries.offsets import as_shown, offsets_of
from wintering.climate.storage import (
    Readings,
    day_of,
    second_from,
    unpack,
    unpack_days,
)
from wintering.science.screening import HIGHEST_C, LOWEST_C
from wintering.science.series import HOUR_S, Hourly, hourly_means

# Slow loggers are interpolated over up to three hours: so much is read around a
# window that its first and last hours come out as in the whole series.
_AROUND_S = 4 * HOUR_S


@dataclass(frozen=True, eq=False)
class Series:
    """A sensor's readings in order of time: °C or %, each with its quality code."""

    seconds: NDArray[np.int64]  # UTC, since 1970
    value: NDArray[np.float64]
    quality: NDArray[np.uint8]

    def __len__(self) -> int:
        return len(self.seconds)


def readings(
    sensor: Sensor, start: datetime | None = None, end: datetime | None = None
) -> Series:
    """What a sensor measured from start up to and without end, marked ones too."""
    return several_readings([sensor], start, end)[sensor.pk]


def several_readings(
    sensors: Sequence[Sensor],
    start: datetime | None = None,
    end: datetime | None = None,
) -> dict[int, Series]:
    """`readings` of several sensors by their pk, in one look at the database."""
    found = _between(sensors, _second(start), _second(end))
    measured = _measuring(sensors)
    return {
        sensor.pk: Series(
            found[sensor.pk].seconds,
            measured(sensor, found[sensor.pk]),
            found[sensor.pk].quality,
        )
        for sensor in sensors
    }


def hourly(
    sensors: Sequence[Sensor],
    start: datetime | None = None,
    end: datetime | None = None,
) -> dict[int, Hourly]:
    """Clock hours by sensor pk, °C or %, from readings that no check set aside.

    Gaps stay as they are: the caller bridges them. So does an hour that no frame
    reaches, though a keeper let its readings count: no sum is defined there. With start
    and end the hours run from the one that begins at start up to the one that begins
    before end.
    """
    first_s, end_s = _second(start), _second(end)
    wide = _between(
        sensors,
        None if first_s is None else first_s - _AROUND_S,
        None if end_s is None else end_s + _AROUND_S,
    )
    measured = _measuring(sensors)
    found = {}
    for sensor in sensors:
        counted = wide[sensor.pk].counted
        hours = hourly_means(counted.seconds, measured(sensor, counted))
        if sensor.quantity == Sensor.Quantity.TEMPERATURE:
            hours = _within_reach(hours)
        found[sensor.pk] = _window(hours, first_s, end_s)
    return found


@dataclass(frozen=True, slots=True)
class Latest:
    """A sensor's last counted reading: °C or %."""

    at: datetime
    value: float
    age: timedelta


def latest(sensors: Iterable[Sensor], at: datetime) -> dict[int, Latest]:
    """The last counted reading up to an instant, by sensor pk; none, no entry."""
    known = {sensor.pk: sensor for sensor in sensors}
    # Two days are enough: the older lies wholly before, and holds a counted reading.
    days = (
        ReadingDay.objects.filter(sensor__in=known, low__isnull=False, first_at__lte=at)
        .annotate(
            back=Window(RowNumber(), partition_by=F("sensor"), order_by=F("day").desc())
        )
        .filter(back__lte=2)
        .order_by("sensor_id", "day")
    )
    found: dict[int, Latest] = {}
    measured = _measuring(known.values())
    for row in days:
        counted = unpack(row.day, row.packed).counted
        counted = counted.at(counted.seconds <= at.timestamp())
        if len(counted):
            sensor, last = known[row.sensor_id], counted.at(slice(-1, None))
            when = datetime.fromtimestamp(int(last.seconds[0]), UTC)
            value = float(measured(sensor, last)[0])
            found[sensor.pk] = Latest(when, value, at - when)
    return found


@dataclass(frozen=True, slots=True)
class Extremes:
    """Lowest and highest counted readings of a window: °C or %, and when."""

    lowest: float
    lowest_at: datetime
    highest: float
    highest_at: datetime
    counted: int
    marked: int


def extremes(
    sensors: Sequence[Sensor],
    start: datetime | None = None,
    end: datetime | None = None,
) -> dict[int, Extremes]:
    """Extremes by sensor pk; a sensor without a counted reading has no entry."""
    found = several_readings(sensors, start, end)
    return {pk: _extremes(s) for pk, s in found.items() if np.any(s.quality == 0)}


def last_reading_at(at: datetime, sensor: Sensor | None = None) -> datetime | None:
    """When the newest reading up to an instant was taken, marked or not.

    Of one sensor or of all. What a clock that runs ahead dates later says nothing: it
    would hide a silence.
    """
    days = ReadingDay.objects.all() if sensor is None else sensor.days.all()
    days = days.filter(first_at__lte=at)
    newest = days.filter(last_at__lte=at).aggregate(newest=Max("last_at"))["newest"]
    found = [] if newest is None else [newest]
    for day, packed in days.filter(last_at__gt=at).values_list("day", "packed"):
        seconds = unpack(day, packed).seconds
        last = int(seconds[seconds <= at.timestamp()][-1])
        found.append(datetime.fromtimestamp(last, UTC))
    return max(found, default=None)


def _between(
    sensors: Sequence[Sensor], start_s: int | None, end_s: int | None
) -> dict[int, Readings]:
    days = ReadingDay.objects.filter(sensor__in=[s.pk for s in sensors])
    if start_s is not None:
        days = days.filter(day__gte=day_of(start_s))
    if end_s is not None:
        days = days.filter(day__lte=day_of(end_s))
    found: dict[int, list[tuple[date, bytes]]] = {sensor.pk: [] for sensor in sensors}
    rows = days.order_by("sensor_id", "day").values_list("sensor_id", "day", "packed")
    for pk, day, packed in rows:
        found[pk].append((day, packed))
    lowest, highest = np.iinfo(np.int64).min, np.iinfo(np.int64).max
    first = lowest if start_s is None else start_s
    end = highest if end_s is None else end_s
    return {pk: unpack_days(parts).between(first, end) for pk, parts in found.items()}


def _within_reach(hours: Hourly) -> Hourly:
    beyond = (hours.c < LOWEST_C) | (hours.c > HIGHEST_C)
    if not beyond.any():
        return hours
    return replace(hours, c=np.where(beyond, np.nan, hours.c))


def _window(found: Hourly, start_s: int | None, end_s: int | None) -> Hourly:
    if start_s is None and end_s is None:
        return found
    first = found.first_hour if start_s is None else -(-start_s // HOUR_S)
    end = found.end_hour if end_s is None else -(-end_s // HOUR_S)
    return found.window(first, end)


def _measuring(
    sensors: Iterable[Sensor],
) -> Callable[[Sensor, Readings], NDArray[np.float64]]:
    """Stored integers as °C or %, less what each sensor showed too much in ice."""
    offsets = offsets_of(sensors)

    def measured(sensor: Sensor, readings: Readings) -> NDArray[np.float64]:
        shown = as_shown(sensor, readings.thousandths)
        return offsets[sensor.pk].taken_off(readings.seconds, shown)

    return measured


def _extremes(series: Series) -> Extremes:
    counted = series.quality == 0
    value, seconds = series.value[counted], series.seconds[counted]
    low, high = int(np.argmin(value)), int(np.argmax(value))
    return Extremes(
        lowest=float(value[low]),
        lowest_at=datetime.fromtimestamp(int(seconds[low]), UTC),
        highest=float(value[high]),
        highest_at=datetime.fromtimestamp(int(seconds[high]), UTC),
        counted=len(value),
        marked=len(series) - len(value),
    )


def _second(at: datetime | None) -> int | None:
    return None if at is None else second_from(at)
