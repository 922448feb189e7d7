"""All about one sensor in a stretch of days: chart, days, and what they add up to."""

from dataclasses import dataclass
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

import numpy as np
from django.contrib.auth.models import AnonymousUser
from numpy.typing import NDArray

from wintering.climate.models import Sensor
from wintering.climate.queries import Series as Readings
from wintering.climate.queries import hourly, readings
from wintering.people.models import User
from wintering.science.days import LocalDays, local_days
from wintering.science.screening import Quality
from wintering.science.series import DECIMALS, HOUR_S, Hourly
from wintering.web.charts import Chart
from wintering.web.charts.columns import Picture, picture_of
from wintering.web.charts.giving import as_chart
from wintering.web.counts import Counts, counts_of
from wintering.web.layouts import DAWN, DUSK
from wintering.web.scales import Scale
from wintering.web.windows import Window

STILL_COLUMNS = 450
"""Columns of a drawing, two of its units each: own choice."""


@dataclass(frozen=True, slots=True)
class DayRow:
    """A day's extremes and mean, and how many of its hours are known."""

    day: date
    low: float | None
    mean: float | None
    high: float | None
    hours: int
    length_h: int


@dataclass(frozen=True, slots=True)
class Sums:
    """Clock hours of a window; None where the question does not arise."""

    known_h: int
    missing_h: int
    in_band_h: int | None
    below_zero_h: int | None
    coldest: float | None
    coldest_at: datetime | None

    @property
    def in_band_percent(self) -> int | None:
        if self.in_band_h is None or not self.known_h:
            return None
        return round(100 * self.in_band_h / self.known_h)

    @property
    def night_of(self) -> date | None:
        """The morning that the coldest night ended in; None where it was by day."""
        if self.coldest_at is None:
            return None
        clock, day = self.coldest_at.time(), self.coldest_at.date()
        if clock >= DUSK:
            return day + timedelta(days=1)
        return day if clock <= DAWN else None


@dataclass(frozen=True, eq=False)
class SetAside:
    reason: str
    count: int


@dataclass(frozen=True, eq=False)
class SensorPage:
    window: Window
    scale: Scale
    picture: Picture
    chart: Chart | None
    counts: Counts | None
    days: tuple[DayRow, ...]
    sums: Sums
    set_aside: tuple[SetAside, ...]


def sensor_page(
    sensor: Sensor,
    window: Window,
    now: datetime,
    user: User | AnonymousUser | None = None,
) -> SensorPage:
    measured = readings(sensor, window.start, window.end)
    # An hour that has not come, or is not over, is not missing.
    this_hour = now.replace(minute=0, second=0, microsecond=0)
    until = max(window.start, min(window.end, this_hour))
    hours = hourly([sensor], window.start, until)[sensor.pk]
    days = local_days(window.since, window.until, window.zone)
    picture = picture_of(
        [sensor], window.start_s, window.end_s, points=STILL_COLUMNS, user=user
    )
    return SensorPage(
        window=window,
        scale=picture.drawn[0].scale,
        picture=picture,
        chart=as_chart(picture) if len(measured) else None,
        counts=_counts(sensor, hours, days),
        days=_day_rows(days, measured, hours),
        sums=_sums(sensor, hours, measured, window.zone),
        set_aside=_set_aside(measured),
    )


def _counts(sensor: Sensor, hours: Hourly, days: LocalDays) -> Counts | None:
    if sensor.quantity != Sensor.Quantity.TEMPERATURE:
        return None
    return counts_of(hours, days, ZoneInfo(sensor.frame.time_zone))


def unit_of(sensor: Sensor) -> str:
    return "%" if sensor.quantity == Sensor.Quantity.HUMIDITY else "°C"


def _day_rows(days: LocalDays, measured: Readings, hours: Hourly) -> tuple[DayRow, ...]:
    counts = measured.quality == Quality.GOOD
    seconds, values = measured.seconds[counts], measured.value[counts]
    edges = np.searchsorted(seconds, days.starts * HOUR_S)
    known = hours.window(days.first_hour, days.end_hour).c
    rows = []
    for n in range(len(days)):
        of_day = values[edges[n] : edges[n + 1]]
        first = int(days.starts[n]) - days.first_hour
        last = int(days.starts[n + 1]) - days.first_hour
        rows.append(_day_row(days.day(n), of_day, known[first:last]))
    return tuple(row for row in rows if row.low is not None)


def _day_row(
    day: date, values: NDArray[np.float64], hours: NDArray[np.float64]
) -> DayRow:
    known = hours[~np.isnan(hours)]
    return DayRow(
        day=day,
        low=float(values.min()) if values.size else None,
        mean=float(known.mean()) if known.size else None,
        high=float(values.max()) if values.size else None,
        hours=int(known.size),
        length_h=int(hours.size),
    )


def _sums(sensor: Sensor, hours: Hourly, measured: Readings, zone: ZoneInfo) -> Sums:
    known = hours.c[~np.isnan(hours.c)]
    counts = measured.quality == Quality.GOOD
    seconds, values = measured.seconds[counts], measured.value[counts]
    lowest = int(np.argmin(values)) if values.size else None
    is_temperature = sensor.quantity == Sensor.Quantity.TEMPERATURE
    return Sums(
        known_h=int(known.size),
        missing_h=int(hours.c.size - known.size),
        in_band_h=_in_band_h(sensor, known) if is_temperature else None,
        below_zero_h=int((known.round(DECIMALS) < 0).sum()) if is_temperature else None,
        coldest=float(values[lowest]) if lowest is not None else None,
        coldest_at=datetime.fromtimestamp(int(seconds[lowest]), zone)
        if lowest is not None
        else None,
    )


def _in_band_h(sensor: Sensor, known: NDArray[np.float64]) -> int | None:
    part = sensor.microclimate
    if part is None:
        return None
    return int(((known >= part.safe_low_c) & (known <= part.safe_high_c)).sum())


def _set_aside(measured: Readings) -> tuple[SetAside, ...]:
    codes, counts = np.unique(measured.quality, return_counts=True)
    return tuple(
        SetAside(Quality(int(code)).reason, int(count))
        for code, count in zip(codes, counts, strict=True)
        if code != Quality.GOOD
    )
