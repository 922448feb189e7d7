"""All about one sensor in a stretch of days: chart, days, and what they add up to."""

from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

import numpy as np
from numpy.typing import NDArray

from wintering.climate.models import Sensor
from wintering.climate.queries import Series as Readings
from wintering.climate.queries import hourly, readings
from wintering.science.days import LocalDays, local_days
from wintering.science.series import HOUR_S, Hourly, Quality
from wintering.science.winter import Winter
from wintering.web.charts import Band, Chart, Series, Span
from wintering.web.forms.climate import MONTH, OWN, WINTER, RangeForm
from wintering.web.layouts import DAWN, DUSK

# Readings set aside closer together than this are one hatch.
APART_S = 3 * HOUR_S
# A lone reading set aside is hatched so far to each side.
AROUND_S = HOUR_S // 2


@dataclass(frozen=True, slots=True)
class Window:
    """Local days, the last one excluded."""

    since: date
    until: date
    zone: ZoneInfo

    @property
    def start(self) -> datetime:
        return datetime.combine(self.since, time(), self.zone)

    @property
    def end(self) -> datetime:
        return datetime.combine(self.until, time(), self.zone)

    @property
    def last_day(self) -> date:
        return self.until - timedelta(days=1)


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
    chart: Chart | None
    days: tuple[DayRow, ...]
    sums: Sums
    set_aside: tuple[SetAside, ...]


def window_of(form: RangeForm, sensor: Sensor, now: datetime) -> Window:
    """The days asked for, up to the sensor's last reading where that is older."""
    zone = ZoneInfo(sensor.frame.time_zone)
    ends = sensor.days.order_by("-day").values_list("last_at", flat=True).first()
    last = min(ends or now, now).astimezone(zone).date()
    until = last + timedelta(days=1)
    asked = form.cleaned_data if form.is_valid() else {}
    if asked.get("range") == OWN:
        return Window(asked["since"], asked["until"] + timedelta(days=1), zone)
    if asked.get("range") == WINTER:
        return Window(_first_day(sensor, Winter.of(last), zone), until, zone)
    length = 30 if asked.get("range") == MONTH else 7
    return Window(until - timedelta(days=length), until, zone)


def _first_day(sensor: Sensor, winter: Winter, zone: ZoneInfo) -> date:
    """The winter's first day with a reading."""
    days = sensor.days.filter(day__gte=winter.first_day).order_by("day")
    first = days.values_list("first_at", flat=True).first()
    # The first UTC day can begin on the local day before.
    first_on = first.astimezone(zone).date() if first else winter.first_day
    return max(first_on, winter.first_day)


def sensor_page(sensor: Sensor, window: Window, now: datetime) -> SensorPage:
    measured = readings(sensor, window.start, window.end)
    # An hour that has not come, or is not over, is not missing.
    this_hour = now.replace(minute=0, second=0, microsecond=0)
    until = max(window.start, min(window.end, this_hour))
    hours = hourly([sensor], window.start, until)[sensor.pk]
    days = local_days(window.since, window.until, window.zone)
    return SensorPage(
        window=window,
        chart=_chart(sensor, window, measured) if len(measured) else None,
        days=_day_rows(days, measured, hours),
        sums=_sums(sensor, hours, measured, window.zone),
        set_aside=_set_aside(measured),
    )


def unit_of(sensor: Sensor) -> str:
    return "%" if sensor.quantity == Sensor.Quantity.HUMIDITY else "°C"


def _chart(sensor: Sensor, window: Window, measured: Readings) -> Chart:
    counts = measured.quality == Quality.GOOD
    where = sensor.get_place_display()
    return Chart(
        title=f"{sensor.name}, {where}",
        unit=unit_of(sensor),
        since=window.start,
        until=window.end,
        zone=window.zone,
        series=(
            Series(
                sensor.name,
                measured.seconds[counts].astype(float),
                measured.value[counts],
            ),
        ),
        bands=_bands(sensor),
        spans=_spans(measured.seconds[~counts]),
    )


def _bands(sensor: Sensor) -> tuple[Band, ...]:
    part = sensor.microclimate
    if part is None or sensor.quantity != Sensor.Quantity.TEMPERATURE:
        return ()
    return (Band(part.safe_low_c, part.safe_high_c, f"safe band, {part.name}"),)


def _spans(marked: NDArray[np.int64]) -> tuple[Span, ...]:
    if not marked.size:
        return ()
    breaks = np.flatnonzero(np.diff(marked) > APART_S) + 1
    return tuple(
        Span(
            datetime.fromtimestamp(int(run[0]) - AROUND_S, UTC),
            datetime.fromtimestamp(int(run[-1]) + AROUND_S, UTC),
            "set aside",
        )
        for run in np.split(marked, breaks)
    )


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
        below_zero_h=int((known < 0).sum()) if is_temperature else None,
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
