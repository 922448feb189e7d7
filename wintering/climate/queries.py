"""Sensors and what they measured, as arrays and as clock hours."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta

import numpy as np
from django.db.models import F, Max, QuerySet, Window
from django.db.models.functions import RowNumber
from numpy.typing import NDArray

from wintering.climate.models import LogImport, ReadingDay, Sensor
from wintering.climate.storage import Readings, day_of, unpack
from wintering.people.models import User
from wintering.science.series import HOUR_S, Hourly, hourly_means
from wintering.science.units import TemperatureUnit

# Slow loggers are interpolated over up to three hours: so much is read around a
# window that its first and last hours come out as in the whole series.
_AROUND_S = 4 * HOUR_S


def sensors_for(user: User) -> QuerySet[Sensor]:
    """Those who work here see every sensor; clients see none."""
    if not user.is_staffing:
        return Sensor.objects.none()
    return Sensor.objects.select_related("frame", "microclimate")


def log_imports_for(user: User) -> QuerySet[LogImport]:
    """Those who work here see which logs came in; clients see none."""
    if not user.is_staffing:
        return LogImport.objects.none()
    return LogImport.objects.select_related("frame", "by")


def measured(sensor: Sensor, thousandths: NDArray[np.int32]) -> NDArray[np.float64]:
    """Stored integers as °C, or as % relative humidity."""
    value = thousandths / 1000
    if sensor.quantity == Sensor.Quantity.HUMIDITY:
        return value
    return TemperatureUnit(sensor.unit).to_c(value)


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
    return {
        sensor.pk: Series(
            found[sensor.pk].seconds,
            measured(sensor, found[sensor.pk].thousandths),
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

    Gaps stay as they are: the caller bridges them. With start and end the hours run
    from the one that begins at start up to the one that begins before end.
    """
    first_s, end_s = _second(start), _second(end)
    wide = _between(
        sensors,
        None if first_s is None else first_s - _AROUND_S,
        None if end_s is None else end_s + _AROUND_S,
    )
    return {
        sensor.pk: _hours(sensor, wide[sensor.pk].counted, first_s, end_s)
        for sensor in sensors
    }


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
        .order_by("sensor", "day")
    )
    found: dict[int, Latest] = {}
    for row in days:
        counted = unpack(row.day, row.packed).counted
        counted = counted.at(counted.seconds <= at.timestamp())
        if len(counted):
            sensor = known[row.sensor_id]
            when = datetime.fromtimestamp(int(counted.seconds[-1]), UTC)
            value = float(measured(sensor, counted.thousandths[-1:])[0])
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


def last_reading_at(sensor: Sensor | None = None) -> datetime | None:
    """When the newest reading was taken, of one sensor or of all, marked or not."""
    days = ReadingDay.objects.all() if sensor is None else sensor.days.all()
    newest: datetime | None = days.aggregate(newest=Max("last_at"))["newest"]
    return newest


def stored_days(
    sensors: Iterable[Sensor],
    first: date | None,
    last: date | None,
    *,
    lock: bool = False,
) -> dict[int, list[Readings]]:
    """Each sensor's days from first to last, both included, in order."""
    found: dict[int, list[Readings]] = {sensor.pk: [] for sensor in sensors}
    days = ReadingDay.objects.filter(sensor__in=found).order_by("sensor", "day")
    if first is not None:
        days = days.filter(day__gte=first)
    if last is not None:
        days = days.filter(day__lte=last)
    if lock:
        days = days.select_for_update()
    for pk, day, packed in days.values_list("sensor_id", "day", "packed"):
        found[pk].append(unpack(day, packed))
    return found


def _between(
    sensors: Sequence[Sensor], start_s: int | None, end_s: int | None
) -> dict[int, Readings]:
    days = stored_days(
        sensors,
        None if start_s is None else day_of(start_s),
        None if end_s is None else day_of(end_s),
    )
    lowest, highest = np.iinfo(np.int64).min, np.iinfo(np.int64).max
    first = lowest if start_s is None else start_s
    end = highest if end_s is None else end_s
    return {
        pk: Readings.joined(parts).between(first, end) for pk, parts in days.items()
    }


def _hours(
    sensor: Sensor, counted: Readings, start_s: int | None, end_s: int | None
) -> Hourly:
    found = hourly_means(counted.seconds, measured(sensor, counted.thousandths))
    if start_s is None and end_s is None:
        return found
    first = found.first_hour if start_s is None else -(-start_s // HOUR_S)
    end = found.end_hour if end_s is None else -(-end_s // HOUR_S)
    return found.window(first, end)


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
    """The first whole second not before an instant."""
    return None if at is None else -int(-at.timestamp() // 1)
