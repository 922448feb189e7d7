"""What a chart draws: the lowest and highest of each column of time, gaps left open.

Short ranges come from the readings themselves, long ones from the extremes kept for
each hour, the longest from those of each day: so no extreme is ever lost, and the
time it takes does not grow with what is stored.
"""

from bisect import bisect_left
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from enum import Enum
from typing import Any, Self

import numpy as np
from django.db.models import CharField
from django.db.models.functions import Cast
from numpy.typing import NDArray

from wintering.climate.models import ReadingDay, Sensor
from wintering.climate.queries.offsets import Offsets, as_shown, offsets_of
from wintering.climate.storage import (
    DAY_S,
    NO_LOW,
    day_of,
    unpack_days,
    unpack_hours,
)
from wintering.science.series import HOUR_S

Floats = NDArray[np.float64]
Seconds = NDArray[np.int64]
Thousandths = NDArray[np.int32]

STEPS_S = (
    *(1, 2, 5, 10, 15, 30, 60, 120, 300, 600, 900, 1800),
    *(hours * HOUR_S for hours in (1, 2, 3, 4, 6, 8, 12)),
    *(days * DAY_S for days in (1, 2, 4, 7, 14, 28, 56, 112, 224)),
)
"""Widths that a column may have: own choice, each a round word to say."""

LOOKED_AT = timedelta(days=90)
"""How far back the extremes of days tell how finely a sensor writes: own choice."""

APART_S = 3 * HOUR_S
"""Readings set aside closer together than this are one span: own choice."""


class Source(Enum):
    READINGS = "readings"
    HOURS = "hours"
    DAYS = "days"


@dataclass(frozen=True, slots=True)
class Grid:
    """Columns of equal width, the first beginning on a whole multiple of it (UTC)."""

    first_s: int
    step_s: int
    count: int

    @classmethod
    def over(cls, start_s: int, end_s: int, points: int) -> Self:
        """As many columns as fit, at most `points`, that cover start up to end."""
        assert start_s < end_s, "a chart covers some time"
        assert points >= 2, "one column is no line"
        # One is lost where a column begins before the start.
        finest = (end_s - start_s) / (points - 1)
        step = STEPS_S[min(bisect_left(STEPS_S, finest), len(STEPS_S) - 1)]
        first = start_s // step * step
        return cls(first, step, -(-(end_s - first) // step))

    def moved(self, days: int) -> Self:
        """The same columns earlier or later: whole days stay whole days."""
        return replace(self, first_s=self.first_s + days * DAY_S)

    @property
    def end_s(self) -> int:
        return self.first_s + self.step_s * self.count

    @property
    def starts(self) -> Seconds:
        return self.first_s + self.step_s * np.arange(self.count, dtype=np.int64)

    @property
    def source(self) -> Source:
        if self.step_s < HOUR_S:
            return Source.READINGS
        return Source.HOURS if self.step_s < DAY_S else Source.DAYS


@dataclass(frozen=True, eq=False)
class Line:
    """A sensor's columns, °C or %: not a number where no reading counts."""

    low: Floats
    high: Floats


@dataclass(frozen=True, slots=True)
class Aside:
    """A stretch in which readings are set aside, and why where that was looked at."""

    start_s: int
    end_s: int
    codes: tuple[int, ...]
    count: int


@dataclass(frozen=True, eq=False)
class Lines:
    grid: Grid
    lines: Mapping[int, Line]
    asides: Mapping[int, tuple[Aside, ...]]


def chart_lines(
    sensors: Sequence[Sensor], start_s: int, end_s: int, *, points: int
) -> Lines:
    """Columns by sensor pk, calibrated; whole columns, so they may reach a little out.

    Within an hour or a day of which only the extremes are looked at, a calibration
    made in its middle counts from its beginning.
    """
    return columns(sensors, Grid.over(start_s, end_s, points))


def columns(sensors: Sequence[Sensor], grid: Grid) -> Lines:
    """The same on a grid that is given."""
    offsets = offsets_of(sensors)
    rows = _rows(sensors, grid)
    reduce = {
        Source.READINGS: _of_readings,
        Source.HOURS: _of_hours,
        Source.DAYS: _of_days,
    }[grid.source]
    lines, asides = {}, {}
    for sensor in sensors:
        own = Own(sensor, grid, offsets[sensor.pk])
        found = rows.get(sensor.pk)
        lines[sensor.pk], asides[sensor.pk] = (
            reduce(own, found) if found else _of_nothing(own)
        )
    return Lines(grid, lines, asides)


def written_decimals(sensors: Sequence[Sensor], until: date) -> dict[int, int]:
    """How many decimals each sensor writes in its own unit, 0 to 3, by its pk.

    Told by the extremes of its days up to `until`; a sensor without any has no entry.
    """
    days = ReadingDay.objects.filter(
        sensor__in=sensors, day__gt=until - LOOKED_AT, day__lte=until, low__isnull=False
    )
    finest: dict[int, int] = {}
    for pk, low, high in days.values_list("sensor_id", "low", "high"):
        seen = max(_decimals(low), _decimals(high))
        finest[pk] = max(seen, finest.get(pk, 0))
    return finest


def _decimals(thousandths: int) -> int:
    for decimals, unit in enumerate((1000, 100, 10)):
        if thousandths % unit == 0:
            return decimals
    return 3


@dataclass(frozen=True, eq=False)
class Own:
    """One sensor's share of a chart."""

    sensor: Sensor
    grid: Grid
    offsets: Offsets

    def calibrated(self, at: Seconds, thousandths: Thousandths) -> Floats:
        return self.offsets.taken_off(at, as_shown(self.sensor, thousandths))

    def line(self, at: Seconds, low: Floats, high: Floats) -> Line:
        """Columns from values in order of time."""
        column = (at - self.grid.first_s) // self.grid.step_s
        within = slice(*np.searchsorted(column, [0, self.grid.count]).tolist())
        column, low, high = column[within], low[within], high[within]
        lowest = np.full(self.grid.count, np.nan)
        highest = np.full(self.grid.count, np.nan)
        if column.size:
            begins = np.flatnonzero(np.diff(column, prepend=-1))
            lowest[column[begins]] = np.minimum.reduceat(low, begins)
            highest[column[begins]] = np.maximum.reduceat(high, begins)
        return Line(lowest, highest)


@dataclass(frozen=True, eq=False)
class Rows:
    """One sensor's days in order, and by column what is worked out from them."""

    days: NDArray[np.datetime64]
    columns: tuple[Sequence[Any], ...]

    @property
    def starts(self) -> Seconds:
        return self.days.astype(np.int64) * DAY_S


_COLUMNS = {
    Source.READINGS: ("packed",),
    Source.HOURS: ("hours", "marked"),
    Source.DAYS: ("low", "high", "marked"),
}


def _rows(sensors: Sequence[Sensor], grid: Grid) -> dict[int, Rows]:
    """In one statement, whatever the number of sensors."""
    first, last = day_of(grid.first_s), day_of(grid.end_s - 1)
    days = ReadingDay.objects.filter(sensor__in=sensors, day__gte=first, day__lte=last)
    # Dates of many years become numbers at once; one by one they take half the time.
    told = Cast("day", CharField())
    found = list(
        days.order_by("sensor_id", "day").values_list(
            "sensor_id", told, *_COLUMNS[grid.source]
        )
    )
    if not found:
        return {}
    pks, words, *columns = zip(*found, strict=True)
    dates = np.array(words, dtype="datetime64[D]")
    own, begins = np.unique(np.array(pks), return_index=True)
    ends = [*begins[1:].tolist(), len(pks)]
    return {
        pk: Rows(dates[begin:end], tuple(column[begin:end] for column in columns))
        for pk, begin, end in zip(own.tolist(), begins.tolist(), ends, strict=True)
    }


def _of_readings(own: Own, rows: Rows) -> tuple[Line, tuple[Aside, ...]]:
    (packed,) = rows.columns
    found = unpack_days(list(zip(rows.days.tolist(), packed, strict=True)))
    readings = found.between(own.grid.first_s, own.grid.end_s)
    counted = readings.counted
    value = own.calibrated(counted.seconds, counted.thousandths)
    is_aside = readings.quality != 0
    return (
        own.line(counted.seconds, value, value),
        _asides(readings.seconds[is_aside], readings.quality[is_aside]),
    )


def _of_hours(own: Own, rows: Rows) -> tuple[Line, tuple[Aside, ...]]:
    packed, marked = rows.columns
    low, high = (hours.ravel() for hours in unpack_hours(packed))
    at = (rows.starts[:, np.newaxis] + HOUR_S * np.arange(24)).ravel()
    known = low != NO_LOW
    at, low, high = at[known], low[known], high[known]
    ends = at + HOUR_S - 1
    line = own.line(at, own.calibrated(ends, low), own.calibrated(ends, high))
    return line, _days_aside(rows.starts, marked)


def _of_days(own: Own, rows: Rows) -> tuple[Line, tuple[Aside, ...]]:
    *extremes, marked = rows.columns
    # A day that is wholly set aside has none.
    known = np.array([value is not None for value in extremes[0]])
    at = rows.starts[known]
    low, high = (
        np.array([value for value in values if value is not None], dtype=np.int32)
        for values in extremes
    )
    ends = at + DAY_S - 1
    line = own.line(at, own.calibrated(ends, low), own.calibrated(ends, high))
    return line, _days_aside(rows.starts, marked)


def _of_nothing(own: Own) -> tuple[Line, tuple[Aside, ...]]:
    unknown = np.full(own.grid.count, np.nan)
    return Line(unknown, unknown.copy()), ()


def _asides(at: Seconds, quality: NDArray[np.uint8]) -> tuple[Aside, ...]:
    breaks = np.flatnonzero(np.diff(at) > APART_S) + 1
    return tuple(
        Aside(int(run[0]), int(run[-1]), tuple(np.unique(why).tolist()), run.size)
        for run, why in zip(
            np.split(at, breaks), np.split(quality, breaks), strict=True
        )
        if run.size
    )


def _days_aside(starts: Seconds, marked: Sequence[int]) -> tuple[Aside, ...]:
    """Whole days on which something is set aside, neighbours as one."""
    counts = np.array(marked, dtype=np.int64)
    on = np.flatnonzero(counts)
    breaks = np.flatnonzero(np.diff(starts[on]) > DAY_S) + 1
    return tuple(
        Aside(
            int(starts[run[0]]),
            int(starts[run[-1]]) + DAY_S,
            (),
            int(counts[run].sum()),
        )
        for run in np.split(on, breaks)
        if run.size
    )
