"""Hours rebuilt from daily minimum and maximum, for keepers without a logger.

Linvill 1990, HortScience 25:14-16 (equations from memory): a sine by day that peaks two
hours after solar noon, a logarithmic fall by night that ends at the next morning's
minimum. What comes out is not measured, and has a type of its own so that nothing
which needs measured hours can take it.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, time, timedelta
from itertools import pairwise
from typing import ClassVar

import numpy as np
from numpy.typing import NDArray

from wintering.science import chill
from wintering.science.series import DECIMALS, HOUR_S, Hourly
from wintering.science.sun import daylength_h, equation_of_time_min

DAY_S = 86_400
NOON = time(12)
EPOCH = date(1970, 1, 1)

AFTER_NOON_H = 4.0
"""The sine is as wide as the day and this, so that it peaks half of it after noon."""

SHORTEST_NIGHT_H = 1.0
"""Nights up to this have no logarithm to fall by: the day's mean stands for it all."""


@dataclass(frozen=True, eq=False)
class DailyExtremes:
    """Minimum and maximum of consecutive calendar days [°C], not a number if unknown.

    first  the first day
    min_c  of the morning of each day
    max_c  of the afternoon of each day
    """

    first: date
    min_c: NDArray[np.float64]
    max_c: NDArray[np.float64]

    def __post_init__(self) -> None:
        if self.min_c.shape != self.max_c.shape or self.min_c.ndim != 1:
            raise ValueError(
                f"{self.min_c.size} minima and {self.max_c.size} maxima: give one of "
                "each a day."
            )
        wrong = np.flatnonzero(self.min_c > self.max_c)
        if wrong.size:
            day = self.first + timedelta(days=int(wrong[0]))
            raise ValueError(
                f"On {day.day} {day:%B %Y} the minimum is above the maximum: were they "
                "written down the wrong way round?"
            )


@dataclass(frozen=True)
class MinMaxReading:
    """What a min/max thermometer showed when it was read and then reset [°C]."""

    on: date
    min_c: float
    max_c: float


def extremes(readings: Sequence[MinMaxReading], *, reset_at: time) -> DailyExtremes:
    """Which minimum and which maximum belong to which day.

    readings  one a day, in order of their days
    reset_at  time of day at which it is read and reset, on the keeper's clock

    Reset before noon, it shows the maximum of the day before and the minimum of this
    morning; from noon on, both of this day. The first reading only sets it, and so does
    a reading after a day without one: what they show may be of any day before. The cold
    of a morning at the reset can show again as the next day's minimum, and the warmth
    of an afternoon as the next day's maximum: reset when it is neither cold nor warm.
    """
    days = [reading.on for reading in readings]
    if any(later <= earlier for earlier, later in pairwise(days)):
        raise ValueError("Give one reading a day, in the order of the days.")
    if not readings:
        return DailyExtremes(EPOCH, np.empty(0), np.empty(0))
    first = days[0] - timedelta(days=1)
    size = (days[-1] - first).days + 1
    min_c, max_c = np.full(size, np.nan), np.full(size, np.nan)
    shift = 1 if reset_at < NOON else 0
    for before, reading in pairwise(readings):
        if (reading.on - before.on).days != 1:
            continue
        if reading.min_c > reading.max_c:
            raise ValueError(
                f"Read on {reading.on.day} {reading.on:%B %Y}, the minimum is above "
                "the maximum: were they written down the wrong way round?"
            )
        index = (reading.on - first).days
        min_c[index], max_c[index - shift] = reading.min_c, reading.max_c
    # on a day that only falls, both are the temperature at the reset, each read apart
    return DailyExtremes(first, min_c, np.where(max_c < min_c, min_c, max_c))


@dataclass(frozen=True, eq=False)
class Reconstructed:
    """Hours rebuilt from minimum and maximum. Not a series of readings.

    first_hour  number of the first hour since 1970-01-01 00:00 UTC
    curve_c     rebuilt temperature of each hour [°C]; not a number where it is unknown
    first_day   the first solar day
    known       whether both minimum and maximum of each day are known
    use         what it may be used for, for people
    """

    first_hour: int
    curve_c: NDArray[np.float64]
    first_day: date
    known: NDArray[np.bool_]

    use: ClassVar[str] = (
        "Rebuilt from daily minimum and maximum, not measured. Chill hours from 0 to "
        "7.2 °C and portions come within a tenth outdoors, and up to a fifth too low "
        "under glass. Its warmth is rough: mostly too high, by half or more under "
        "glass, but too low in a dull month. No warning of early waking rests on it: "
        "that needs a logger."
    )


def reconstruct(
    days: DailyExtremes, *, latitude_deg: float, longitude_deg: float
) -> Reconstructed:
    """One temperature for each clock hour of some days, by Linvill's curves.

    longitude_deg  positive east: it turns the sun's time into UTC, no time zone needed

    The curve at the middle of a clock hour stands for its mean: own choice. Hours that
    lean on an unknown minimum or maximum stay unknown: the day itself, the night before
    it, and the night after it. So do the first hours up to sunrise and the last ones
    from sunset on. With no night to speak of, or no day, the mean of minimum and
    maximum stands for all hours. With less than four hours of daylight the curve ends
    before its peak and the maximum is not reached.
    """
    count = days.min_c.size
    first_s = (days.first - EPOCH).days * DAY_S - longitude_deg * 240
    # the equation of time is at most 17 minutes: one hour each way holds every day
    hours = np.arange(
        int(first_s // HOUR_S) - 1, int((first_s + count * DAY_S) // HOUR_S) + 2
    )
    day, solar_h = _solar(hours, longitude_deg)
    day = day - (days.first - EPOCH).days
    inside = (day >= 0) & (day < count)
    hours, day, solar_h = hours[inside], day[inside], solar_h[inside]
    c = _Curves.of(days, latitude_deg).at(day, solar_h).round(DECIMALS)
    known = ~np.isnan(days.min_c) & ~np.isnan(days.max_c)
    first_hour = int(hours[0]) if hours.size else 0
    return Reconstructed(first_hour, c, days.first, known)


def _solar(
    hours: NDArray[np.int64], longitude_deg: float
) -> tuple[NDArray[np.int64], NDArray[np.float64]]:
    """Solar day since 1970, and solar time, in the middle of clock hours."""
    mean_s = (hours + 0.5) * HOUR_S + longitude_deg * 240
    day_of_year = _day_of_year(np.floor(mean_s / DAY_S).astype(np.int64))
    solar_s = mean_s + 60 * equation_of_time_min(day_of_year)
    day = np.floor(solar_s / DAY_S).astype(np.int64)
    return day, (solar_s - day * DAY_S) / HOUR_S


def _day_of_year(day: NDArray[np.int64]) -> NDArray[np.int64]:
    dates = day.astype("datetime64[D]")
    new_year = dates.astype("datetime64[Y]").astype("datetime64[D]")
    number: NDArray[np.int64] = (dates - new_year).astype(np.int64) + 1
    return number


@dataclass(frozen=True, eq=False)
class _Curves:
    """The curve of each day; one value a day, and the next day's minimum beside it."""

    min_c: NDArray[np.float64]
    max_c: NDArray[np.float64]
    daylength: NDArray[np.float64]
    next_min_c: NDArray[np.float64]

    @classmethod
    def of(cls, days: DailyExtremes, latitude_deg: float) -> "_Curves":
        first = (days.first - EPOCH).days
        numbers = np.arange(first, first + days.min_c.size)
        daylength = daylength_h(latitude_deg, _day_of_year(numbers))
        after = np.append(days.min_c[1:], np.nan)[: days.min_c.size]
        return cls(days.min_c, days.max_c, daylength, after)

    def at(
        self, day: NDArray[np.int64], solar_h: NDArray[np.float64]
    ) -> NDArray[np.float64]:
        sunrise, sunset = 12 - self.daylength / 2, 12 + self.daylength / 2
        flat = (self.daylength <= 0) | (self.daylength >= 24 - SHORTEST_NIGHT_H)
        eve = day - 1
        # before the first day there is no evening: its night is unknown
        night = np.where(eve >= 0, self.night(eve, solar_h + 24 - sunset[eve]), np.nan)
        # the night after a day without a curve has no sunset to fall from
        mean = (self.min_c + self.max_c) / 2
        morning = np.where((eve >= 0) & flat[eve], mean[day], night)
        c = np.where(solar_h < sunrise[day], morning, self.light(day, solar_h))
        late = solar_h > sunset[day]
        c = np.where(late, self.night(day, solar_h - sunset[day]), c)
        return np.where(flat[day], mean[day], c)

    def light(
        self, day: NDArray[np.int64], solar_h: NDArray[np.float64]
    ) -> NDArray[np.float64]:
        since_h = solar_h - (12 - self.daylength[day] / 2)
        rise = np.sin(np.pi * since_h / (self.daylength[day] + AFTER_NOON_H))
        span: NDArray[np.float64] = self.max_c[day] - self.min_c[day]
        c: NDArray[np.float64] = self.min_c[day] + span * rise
        return c

    def night(
        self, day: NDArray[np.int64], since_sunset_h: NDArray[np.float64]
    ) -> NDArray[np.float64]:
        """Hours after the sunset of a day, held between it and the next minimum.

        Within the first hour the logarithm would rise above the sunset; and where days
        shorten fast, a night longer than 24 hours less the day before would carry it
        far below the minimum: both held, own choice.
        """
        at_sunset = self.light(day, 12 + self.daylength[day] / 2)
        length = np.maximum(24 - self.daylength[day], 1.000001)
        fallen = np.log(np.maximum(since_sunset_h, 1.0)) / np.log(length)
        drop = (at_sunset - self.next_min_c[day]) * np.minimum(fallen, 1.0)
        c: NDArray[np.float64] = at_sunset - drop
        return c


@dataclass(frozen=True)
class ReconstructedChill:
    """Chill of rebuilt hours, and their warmth roughly.

    hours, gap_hours  hours rebuilt, and hours unknown
    *_high            what it can have been at most, given the unknown hours alone
    gdh_*_rough       warmth of the hours rebuilt [°C h], never for warnings
    use               what it may be used for, for people

    Against measured winters, outdoors: chill hours 7 % too low to 4 % too high,
    portions 5 % either way, warmth 1 to 14 % too high. In a box and under a roof:
    chill hours 5 to 11 % and portions up to 8 % too low, warmth 7 to 30 % too high. In
    a tunnel: chill hours 12 %, portions 15 to 20 % too low, warmth 40 to 50 % too high.
    In single dull months warmth was up to 45 % too low, so it is no bound. Utah units
    are left out: up to a quarter too low even outdoors.
    """

    hours: int
    gap_hours: int
    chill_hours_0_7: int
    chill_hours_0_7_high: int
    chill_hours_below_7: int
    portions: float
    portions_high: float
    gdh_linear_rough: float
    gdh_curvilinear_rough: float

    use: ClassVar[str] = Reconstructed.use


def chill_of(
    rebuilt: Reconstructed, start_hour: int, end_hour: int
) -> ReconstructedChill:
    """Chill from start_hour up to and without end_hour, numbered since 1970 UTC."""
    hours = Hourly.measured(rebuilt.first_hour, rebuilt.curve_c)
    found = chill.totals(hours.window(start_hour, end_hour))
    return ReconstructedChill(
        hours=found.hours,
        gap_hours=found.gap_hours,
        chill_hours_0_7=found.chill_hours_0_7,
        chill_hours_0_7_high=found.chill_hours_0_7_high,
        chill_hours_below_7=found.chill_hours_below_7,
        portions=found.portions,
        portions_high=found.portions_high,
        gdh_linear_rough=found.gdh_linear,
        gdh_curvilinear_rough=found.gdh_curvilinear,
    )
