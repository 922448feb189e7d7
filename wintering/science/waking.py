"""Waking early: warmth received against the warmth that the chill still asks for."""

from dataclasses import dataclass
from datetime import date
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray

from wintering.science.chill_need import Requirement, accumulated, is_reliable
from wintering.science.curves import BOTTA, RequirementCurve
from wintering.science.days import LocalDays
from wintering.science.forcing import (
    chill_days,
    daily_means,
    gdh_linear,
    thermal_time,
)
from wintering.science.series import Hourly


class WakeLevel(StrEnum):
    """What to do about a tree that may be waking, mildest first."""

    WATCH = "watch"
    VENTILATE = "ventilate"
    AWAKE = "awake"

    @property
    def advice(self) -> str:
        return {
            WakeLevel.WATCH: "Look at the buds.",
            WakeLevel.VENTILATE: "Ventilate, and shade the glazing.",
            WakeLevel.AWAKE: "Treat the tree as awake.",
        }[self]


LEVELS = {WakeLevel.WATCH: 0.25, WakeLevel.VENTILATE: 0.5, WakeLevel.AWAKE: 0.8}
"""W from which each level holds: own choice, early on purpose, because a missed waking
kills shoots and a false alarm costs a look."""

GUARD_CHILL_SHARE = 0.75
"""The guard is armed from this share of the lower chill bound on: own choice. After
three quarters of it peach no longer lost chill to 12 days at 23 °C (Couvillon & Erez
1985, JASHS 110:579-581)."""

GUARD_MEAN_C, GUARD_MEAN_DAYS, GUARD_GDH = 8.0, 3, 150.0
"""Three days with a mean above 8 °C, or with more than 150 growing degree hours by the
straight line: own choice. Within three days, because over weeks every frame that is not
frozen gathers so many."""


@dataclass(frozen=True)
class Crossing:
    """When a level was first reached.

    on       the local day whose temperatures reached it
    at_hour  the hour after that day, since 1970-01-01 00:00 UTC: only then it is known
    """

    on: date
    at_hour: int


@dataclass(frozen=True, eq=False)
class WakeOutlook:
    """How near a tree is to waking.

    w                warmth received over warmth asked for, 0 to 1; None while no whole
                     day is known. With days missing it is the least it can be
    w_by_day         the same at the end of each day
    level            the strongest level reached, None below all
    crossings        when each level reached was first reached
    guard            why the guard holds the tree at 'watch', as a sentence, or None
    guard_last_on    the last day that would have raised the guard
    thermal_time_dd  day-degrees above 5 °C since the start
    chill_days       days with a mean at or below 5 °C since the start
    required_dd      day-degrees that the curve asks for after those chill days
    missing_days     days that lack an hour and count for nothing
    reliable         False with more than a tenth of the hours missing
    """

    curve: RequirementCurve
    w: float | None
    w_by_day: NDArray[np.float64]
    level: WakeLevel | None
    crossings: dict[WakeLevel, Crossing]
    guard: str | None
    guard_last_on: date | None
    thermal_time_dd: float
    chill_days: int
    required_dd: float
    missing_days: int
    hours: int
    missing_hours: int
    reliable: bool


def wake_outlook(
    hourly: Hourly,
    days: LocalDays,
    *,
    curve: RequirementCurve = BOTTA,
    requirement: Requirement | None = None,
) -> WakeOutlook:
    """How near to waking a tree is at the end of the last of some local days.

    hourly       temperature where the tree stood
    days         from the start of the tree's chill to yesterday
    curve        warmth asked for, by chill days
    requirement  the tree's need of chill, which arms the guard; without one no guard

    W = thermal time / warmth asked for, both sums from the start of chill, because a
    frame can be warm in December. That chill and warmth count side by side is after
    Cannell & Smith 1983 and Murray, Cannell & Smith 1989; to use the quotient as an
    alarm is own choice. W never falls by itself.
    """
    means = daily_means(hourly, days)
    heat, chilled = thermal_time(means), chill_days(means)
    w_by_day = _w(heat, curve.required(chilled))
    c = hourly.window(days.first_hour, days.end_hour).c
    missing_hours = int(np.isnan(c).sum())
    reached = {
        level: int(np.argmax(w_by_day >= least))
        for level, least in LEVELS.items()
        if np.any(w_by_day >= least)
    }
    guard, guard_day, guard_last = _guard(hourly, days, means, requirement)
    if guard_day is not None:
        first = reached.get(WakeLevel.WATCH, guard_day)
        reached[WakeLevel.WATCH] = min(guard_day, first)
    unknown = np.isnan(means)
    return WakeOutlook(
        curve=curve,
        w=None if unknown.all() else float(w_by_day[-1]),
        w_by_day=w_by_day,
        level=max(reached, key=list(LEVELS).index, default=None),
        crossings={level: _crossing(days, reached[level]) for level in reached},
        guard=guard,
        guard_last_on=None if guard_last is None else days.day(guard_last),
        thermal_time_dd=float(heat[-1]) if len(days) else 0.0,
        chill_days=int(chilled[-1]) if len(days) else 0,
        required_dd=float(curve.required(chilled[-1] if len(days) else 0)),
        missing_days=int(unknown.sum()),
        hours=c.size,
        missing_hours=missing_hours,
        reliable=is_reliable(c.size, missing_hours),
    )


def _w(heat: NDArray[np.float64], required: NDArray[np.float64]) -> NDArray[np.float64]:
    """At most 1. Where the curve asks for nothing more, the first warmth is enough."""
    share = np.divide(heat, required, out=np.sign(heat), where=required > 0)
    return np.minimum(np.maximum.accumulate(share), 1.0)


def _crossing(days: LocalDays, index: int) -> Crossing:
    return Crossing(days.day(index), int(days.starts[index + 1]))


def _guard(
    hourly: Hourly,
    days: LocalDays,
    means: NDArray[np.float64],
    requirement: Requirement | None,
) -> tuple[str | None, int | None, int | None]:
    """The guard's sentence, and the first and last day on which it spoke."""
    if requirement is None:
        return None, None, None
    # the most chill that gaps allow: the guard must not be armed late
    chilled = accumulated(hourly, days, requirement.unit).high
    armed = np.flatnonzero(chilled >= GUARD_CHILL_SHARE * requirement.low)
    if not armed.size:
        return None, None, None
    begin = int(armed[0]) + 1
    mild = begin + _mild_days(means[begin:])
    gdh = days.sums(gdh_linear(hourly.window(days.first_hour, days.end_hour).c))
    sums = _running_sum(gdh[begin:], GUARD_MEAN_DAYS)
    spoke = np.union1d(mild, begin + np.flatnonzero(sums > GUARD_GDH))
    if not spoke.size:
        return None, None, None
    first, last = int(spoke[0]), int(spoke[-1])
    what = (
        f"the mean of {GUARD_MEAN_DAYS} days was above {GUARD_MEAN_C:.0f} °C"
        if first in mild
        else f"{GUARD_MEAN_DAYS} days brought more than {GUARD_GDH:.0f} growing "
        "degree hours"
    )
    sentence = (
        f"By {days.day(first).day} {days.day(first):%B} {what} after three quarters "
        "of the lowest chill requirement."
    )
    return sentence, first, last


def _mild_days(means: NDArray[np.float64]) -> NDArray[np.int64]:
    """Each last day of three whole days that are mild together."""
    if means.size < GUARD_MEAN_DAYS:
        return np.empty(0, dtype=np.int64)
    spans = np.lib.stride_tricks.sliding_window_view(means, GUARD_MEAN_DAYS)
    mild = np.flatnonzero(spans.mean(axis=1) > GUARD_MEAN_C)
    return mild.astype(np.int64) + GUARD_MEAN_DAYS - 1


def _running_sum(values: NDArray[np.float64], count: int) -> NDArray[np.float64]:
    """Sum of each value and those just before it, so many in all."""
    sums = np.cumsum(values)
    sums[count:] -= sums[:-count].copy()
    return sums
