"""Waking early: warmth received against the warmth that the chill still asks for.

For hours that were measured, and no others: in a sunny frame a day made up from its
minimum and its maximum is about twice as warm as it was, and no level may rest on it.
Hours bridged across a short gap between readings count as measured.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta
from enum import StrEnum
from typing import NamedTuple

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
            WakeLevel.AWAKE: "Look at the buds today, before anything else. Where "
            "green shows, keep it free of frost, no vents at night. Where they are "
            "closed, hold it back.",
        }[self]

    @property
    def meaning(self) -> str:
        """What it says of the tree: no more than may be, as it is a sum."""
        return {
            WakeLevel.WATCH: "It may soon stir.",
            WakeLevel.VENTILATE: "It may be waking.",
            WakeLevel.AWAKE: "It may be awake already.",
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

RANKS = {"very early": 1, "early": 2, "mid": 3, "late": 4, "very late": 5}
"""Words of the order of budbreak, as ranks from the first tree to wake to the last."""

GUARDED_RANK = 2
"""The guard is for trees up to this rank, and for those whose rank is not known: own
choice. The rank is an order and no multiplier: how much sooner an early tree wakes is
not published, so W is the same for all and only the guard asks who wakes first."""


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
    crossings        when each level reached was first reached; where the guard alone
                     holds 'watch', when its latest mild spell raised it
    guard            why the guard holds the tree at 'watch', as a sentence on its
                     latest mild spell, or None
    guard_last_on    the last day that would have raised the guard
    thermal_time_dd  day-degrees above 5 °C since the start of warmth
    chill_days       days with a mean at or below 5 °C since the start
    required_dd      day-degrees that the curve asks for after those chill days
    missing_days     days that lack an hour and count for nothing
    reliable         False with more than a tenth of the hours missing
    counted_w        w, or where buds were seen closed the part of it that came after;
                     None as w is
    seen_closed_on   the day on which buds were seen closed, or None
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
    counted_w: float | None
    seen_closed_on: date | None


def wake_outlook(
    hourly: Hourly,
    days: LocalDays,
    *,
    curve: RequirementCurve = BOTTA,
    requirement: Requirement | None = None,
    wake_rank: int | None = None,
    seen_closed_on: date | None = None,
    warmth_from: date | None = None,
) -> WakeOutlook:
    """How near to waking a tree is at the end of the last of some local days.

    hourly          measured temperature where the tree stood
    days            from the start of the tree's chill to yesterday
    curve           warmth asked for, by chill days
    requirement     the tree's need of chill, which arms the guard; without one no guard
    wake_rank       the tree's place in the order of waking, 1 (first) to 5; None if it
                    is not known
    seen_closed_on  the last day on which its buds were seen closed (BBCH 00)
    warmth_from     first day whose warmth counts; None: the first of the days

    W = thermal time / warmth asked for, both sums from the start of chill or from
    warmth_from, because a frame can be warm in December. That chill and warmth count
    side by side is after Cannell & Smith 1983 and Murray, Cannell & Smith 1989; to use
    the quotient as an alarm is own choice. W never falls by itself.

    Buds seen closed outweigh the model: the guard counts only what came after, and
    until the warmth since then is a quarter of what is asked for, the level is one step
    milder than W says, though never below the first. Closed buds can hold warmth that
    they do not show, so W itself stays, and a look every week does not silence the
    warning. Own choice.
    """
    means = daily_means(hourly, days)
    begin = _days_until(warmth_from and warmth_from - timedelta(days=1), days)
    heat, chilled = _fresh(thermal_time(means), begin), chill_days(means)
    asked, fresh_from = curve.to_wake(chilled), _days_until(seen_closed_on, days)
    w_by_day = _w(heat, asked)
    counted = _w(_fresh(heat, fresh_from), asked)
    guard = _guard(hourly, days, means, fresh_from, _arms(requirement, wake_rank))
    reached = _reached(w_by_day, guard)
    still_closed = fresh_from > 0 and counted[-1] < LEVELS[WakeLevel.WATCH]
    c = hourly.window(days.first_hour, days.end_hour).c
    missing_hours = int(np.isnan(c).sum())
    known = not np.isnan(means).all()
    return WakeOutlook(
        curve=curve,
        w=float(w_by_day[-1]) if known else None,
        w_by_day=w_by_day,
        level=_strongest(reached, milder=still_closed),
        crossings={each: _crossing(days, at) for each, at in reached.items()},
        guard=_sentence(guard, days) if guard else None,
        guard_last_on=days.day(guard.last) if guard else None,
        thermal_time_dd=float(heat[-1]) if len(days) else 0.0,
        chill_days=int(chilled[-1]) if len(days) else 0,
        required_dd=float(curve.to_wake(chilled[-1] if len(days) else 0)),
        missing_days=int(np.isnan(means).sum()),
        hours=c.size,
        missing_hours=missing_hours,
        reliable=is_reliable(c.size, missing_hours),
        counted_w=float(counted[-1]) if known else None,
        seen_closed_on=seen_closed_on if fresh_from else None,
    )


def _strongest(reached: Iterable[WakeLevel], *, milder: bool) -> WakeLevel | None:
    """The strongest level, or the one below it; never below the first."""
    order = list(LEVELS)
    steps = [order.index(level) for level in reached]
    return order[max(max(steps) - milder, 0)] if steps else None


def _days_until(seen_closed_on: date | None, days: LocalDays) -> int:
    """How many of the days end with or before that day."""
    if seen_closed_on is None:
        return 0
    return min(max((seen_closed_on - days.first).days + 1, 0), len(days))


def _fresh(heat: NDArray[np.float64], fresh_from: int) -> NDArray[np.float64]:
    """Thermal time without that of the days before."""
    return np.maximum(heat - heat[fresh_from - 1], 0.0) if fresh_from else heat


def _w(heat: NDArray[np.float64], required: NDArray[np.float64]) -> NDArray[np.float64]:
    """At most 1. Where the curve asks for nothing more, the first warmth is enough."""
    share = np.divide(heat, required, out=np.sign(heat), where=required > 0)
    return np.minimum(np.maximum.accumulate(share), 1.0)


def _arms(requirement: Requirement | None, wake_rank: int | None) -> Requirement | None:
    """The need of chill that arms the guard; None for a tree that it is not for."""
    if wake_rank is None:
        return requirement
    if wake_rank not in RANKS.values():
        raise ValueError(f"{wake_rank} is no rank of waking: they run from 1 to 5.")
    return requirement if wake_rank <= GUARDED_RANK else None


class _Guard(NamedTuple):
    """The latest mild spell: days by their place in the row, and what made it mild."""

    first: int
    last: int
    by_mean: bool


def _reached(
    counted: NDArray[np.float64], guard: _Guard | None
) -> dict[WakeLevel, int]:
    """The day on which each level was reached, by its place in the row."""
    reached = {
        level: int(np.argmax(counted >= least))
        for level, least in LEVELS.items()
        if np.any(counted >= least)
    }
    if guard:
        first = reached.get(WakeLevel.WATCH, guard.first)
        reached[WakeLevel.WATCH] = min(guard.first, first)
    return reached


def _crossing(days: LocalDays, index: int) -> Crossing:
    return Crossing(days.day(index), int(days.starts[index + 1]))


def _guard(
    hourly: Hourly,
    days: LocalDays,
    means: NDArray[np.float64],
    fresh_from: int,
    requirement: Requirement | None,
) -> _Guard | None:
    """The latest mild spell after three quarters of the lowest need of chill."""
    if requirement is None:
        return None
    # the most chill that gaps allow: the guard must not be armed late
    chilled = accumulated(hourly, days, requirement.unit).high
    armed = np.flatnonzero(chilled >= GUARD_CHILL_SHARE * requirement.low)
    if not armed.size:
        return None
    begin = max(int(armed[0]) + 1, fresh_from)
    mild = begin + _mild_days(means[begin:])
    gdh = days.sums(gdh_linear(hourly.window(days.first_hour, days.end_hour).c))
    sums = _running_sum(gdh[begin:], GUARD_MEAN_DAYS)
    spoke = np.union1d(mild, begin + np.flatnonzero(sums > GUARD_GDH))
    if not spoke.size:
        return None
    # days whose three days touch or overlap belong to one spell
    breaks = np.flatnonzero(np.diff(spoke) > GUARD_MEAN_DAYS)
    first = int(spoke[breaks[-1] + 1 if breaks.size else 0])
    return _Guard(first, int(spoke[-1]), by_mean=first in mild)


def _sentence(guard: _Guard, days: LocalDays) -> str:
    day = days.day(guard.first)
    what = (
        f"the mean of {GUARD_MEAN_DAYS} days was above {GUARD_MEAN_C:.0f} °C"
        if guard.by_mean
        else f"{GUARD_MEAN_DAYS} days brought more than {GUARD_GDH:.0f} growing "
        "degree hours"
    )
    return (
        f"By {day.day} {day:%B} {what} after three quarters of the lowest chill "
        "requirement."
    )


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
