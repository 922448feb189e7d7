"""Chill so far against the chill a tree needs, and whether it will come in time."""

from dataclasses import dataclass
from datetime import date
from enum import StrEnum
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from wintering.science import chill
from wintering.science.days import LocalDays
from wintering.science.evidence import Evidence
from wintering.science.forcing import daily_means
from wintering.science.series import Hourly

PACE_DAYS = 14
"""The pace is that of the last so many days: own choice."""

PRESSING_SHARE = 0.5
"""What is lacking presses once it asks for more than this share of the best that each
day left can bring: own choice. A warm October leaves nearly the whole winter."""

TOO_MANY_MISSING = 0.10
"""Above this share of missing hours a total is called not reliable: own choice."""


class ChillUnit(StrEnum):
    """Ways of counting chill. A figure in one is never converted to another: their
    ratios differ from place to place (Luedeling & Brown 2011)."""

    CHILL_HOURS_0_7 = "chill_hours_0_7"
    CHILL_HOURS_BELOW_7 = "chill_hours_below_7"
    UTAH = "utah"
    PORTIONS = "portions"
    COLD_DAYS = "cold_days"

    @property
    def words(self) -> str:
        return {
            ChillUnit.CHILL_HOURS_0_7: "hours at 0 to 7.2 °C",
            ChillUnit.CHILL_HOURS_BELOW_7: "hours at or below 7.2 °C",
            ChillUnit.UTAH: "Utah chill units",
            ChillUnit.PORTIONS: "chill portions",
            ChillUnit.COLD_DAYS: "days with a mean at or below 4.4 °C",
        }[self]

    @property
    def most_per_day(self) -> float:
        """What the best day can bring: all its hours, or its one day.

        A portion takes 28 hours at least (Dynamic model at 7 °C).
        """
        return {ChillUnit.COLD_DAYS: 1.0, ChillUnit.PORTIONS: 24 / 28}.get(self, 24.0)


class Bracket(NamedTuple):
    """The least and the most that something can be."""

    low: float
    high: float

    def after(self, days: int, pace: "Bracket") -> "Bracket":
        """What it grows to at a pace a day."""
        return Bracket(self.low + pace.low * days, self.high + pace.high * days)

    def __str__(self) -> str:
        # a tenth of an hour among hundreds would be no knowledge
        decimals = 0 if self.high >= 100 else 1
        low, high = (f"{end:.{decimals}f}".removesuffix(".0") for end in self)
        return low if low == high else f"{low} to {high}"


@dataclass(frozen=True)
class Requirement:
    """Chill that a tree needs, as a range in its own unit, and what that rests on."""

    low: float
    high: float
    unit: ChillUnit
    source: str
    evidence: Evidence

    def __post_init__(self) -> None:
        if not 0 < self.low <= self.high:
            raise ValueError(
                "A chill requirement is a range above 0, the lower bound first."
            )


GENERAL_REQUIREMENT = Requirement(
    low=42.0,
    high=56.0,
    unit=ChillUnit.COLD_DAYS,
    source=(
        "Fallback for a tree without a figure of its own: six to eight weeks below "
        "40 °F (4.4 °C) for container stock, Rutgers NJAES FS528 (2015) (published); "
        "to count days with a mean at or below 4.4 °C for that"
    ),
    evidence=Evidence.OWN_CHOICE,
)


@dataclass(frozen=True, eq=False)
class Accumulated:
    """Chill at the end of each local day since it began.

    low, high      running totals: missing hours or days counted as nothing, or as
                   the most they can have been
    hours          running count of clock hours that have passed
    missing_hours  running count of those without a temperature
    """

    first: date
    unit: ChillUnit
    low: NDArray[np.float64]
    high: NDArray[np.float64]
    hours: NDArray[np.int64]
    missing_hours: NDArray[np.int64]


def accumulated(hourly: Hourly, days: LocalDays, unit: ChillUnit) -> Accumulated:
    """Chill over local days; hours that the series lacks are missing.

    Utah units count from their lowest point; a missing hour can have been worth one
    unit there at most, and its possible loss is not in the bracket.
    """
    c = hourly.window(days.first_hour, days.end_hour).c
    missing = np.isnan(c)
    if unit is ChillUnit.COLD_DAYS:
        means = daily_means(hourly, days)
        cold = chill.days_at_or_below(means).astype(np.float64)
        low, high = np.cumsum(cold), np.cumsum(cold + np.isnan(means))
    else:
        low, high = (each[days.last_hours] for each in _by_hour(c, missing, unit))
    return Accumulated(
        first=days.first,
        unit=unit,
        low=low,
        high=high,
        hours=days.last_hours + 1,
        missing_hours=np.cumsum(missing)[days.last_hours],
    )


def _by_hour(
    c: NDArray[np.float64], missing: NDArray[np.bool_], unit: ChillUnit
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    if unit is ChillUnit.PORTIONS:
        return chill.portions_with_gaps(c)
    of_hour = {
        ChillUnit.CHILL_HOURS_0_7: chill.chill_hours_0_7,
        ChillUnit.CHILL_HOURS_BELOW_7: chill.chill_hours_below_7,
        ChillUnit.UTAH: chill.utah,
    }[unit]
    low, high = np.cumsum(of_hour(c)), np.cumsum(of_hour(c) + missing)
    if unit is ChillUnit.UTAH:
        return chill.from_lowest(low), chill.from_lowest(high)
    return low, high


@dataclass(frozen=True)
class ChillOutlook:
    """Chill so far, at what pace, and what that comes to by the planned exit.

    pace            per day over the last 14 days; None before so many have passed
    projected       at the planned exit if the pace stays; None without a pace
    needed_per_day  pace from today on that just meets the lower bound; 0 if it is met,
                    None if it is not and no day is left
    at_risk         True if even the upper end of what is projected misses the lower
                    bound, False if the lower end meets it, None if that is not known
    met             'no', 'possibly' between the bounds, 'likely' above the upper one
    reliable        False with more than a tenth of the hours missing
    because         the same in a sentence
    """

    requirement: Requirement
    so_far: Bracket
    pace: Bracket | None
    projected: Bracket | None
    planned_exit: date
    days_left: int
    needed_per_day: float | None
    at_risk: bool | None
    met: str
    hours: int
    missing_hours: int
    reliable: bool
    because: str

    @property
    def is_pressing(self) -> bool:
        """Whether most of what the days left can bring is needed."""
        if self.needed_per_day is None:
            return True
        most = self.requirement.unit.most_per_day
        return self.needed_per_day > PRESSING_SHARE * most


def chill_outlook(
    requirement: Requirement, so_far: Accumulated, *, planned_exit: date, today: date
) -> ChillOutlook:
    """Whether a tree gets the chill it needs before it leaves the frame.

    so_far  chill by day in the requirement's unit, reaching to yesterday at least;
            today itself does not count yet
    """
    if so_far.unit is not requirement.unit:
        raise ValueError(
            f"The need is in {requirement.unit.words}, the sum in {so_far.unit.words}."
        )
    passed = (today - so_far.first).days
    if passed > so_far.low.size:
        raise ValueError("The chill by day ends before yesterday: sum it up to today.")
    days_left = max(0, (planned_exit - today).days)
    now, pace = _at(so_far, passed), _pace(so_far, passed)
    projected = pace and now.after(days_left, pace)
    hours, missing = (
        int(count[passed - 1]) if passed > 0 else 0
        for count in (so_far.hours, so_far.missing_hours)
    )
    return ChillOutlook(
        requirement=requirement,
        so_far=now,
        pace=pace,
        projected=projected,
        planned_exit=planned_exit,
        days_left=days_left,
        needed_per_day=_needed_per_day(requirement.low - now.low, days_left),
        at_risk=_at_risk(requirement, now, projected),
        met=_met(requirement, now),
        hours=hours,
        missing_hours=missing,
        reliable=is_reliable(hours, missing),
        because=_because(requirement, now, projected, planned_exit, days_left, missing),
    )


def is_reliable(hours: int, missing_hours: int) -> bool:
    """Whether a sum over so many hours stands, with so many of them missing."""
    return hours > 0 and missing_hours <= TOO_MANY_MISSING * hours


def _at(so_far: Accumulated, passed: int) -> Bracket:
    if passed <= 0:
        return Bracket(0.0, 0.0)
    return Bracket(float(so_far.low[passed - 1]), float(so_far.high[passed - 1]))


def _pace(so_far: Accumulated, passed: int) -> Bracket | None:
    if passed < PACE_DAYS:
        return None
    now, then = _at(so_far, passed), _at(so_far, passed - PACE_DAYS)
    low, high = (now.low - then.low) / PACE_DAYS, (now.high - then.high) / PACE_DAYS
    # filling a gap at 6 °C can leave less of the next days to gain
    return Bracket(min(low, high), max(low, high))


def _needed_per_day(lacking: float, days_left: int) -> float | None:
    if lacking <= 0:
        return 0.0
    return lacking / days_left if days_left else None


def _at_risk(need: Requirement, now: Bracket, projected: Bracket | None) -> bool | None:
    if now.low >= need.low:
        return False
    if projected is None:
        return None
    if projected.low >= need.low:
        return False
    return True if projected.high < need.low else None


def _met(need: Requirement, now: Bracket) -> str:
    if now.low >= need.high:
        return "likely"
    return "possibly" if now.high >= need.low else "no"


def _because(
    need: Requirement,
    now: Bracket,
    projected: Bracket | None,
    planned_exit: date,
    days_left: int,
    missing: int,
) -> str:
    asked = Bracket(need.low, need.high)
    exit_on = f"{planned_exit.day} {planned_exit:%B}"
    if not days_left:
        ahead = f"{exit_on}, by which it should be complete, has come"
    elif projected:
        ahead = f"at the pace of the last {PACE_DAYS} days {projected} by {exit_on}"
    else:
        ahead = f"fewer than {PACE_DAYS} days have passed, so no pace is known yet"
    gaps = f"; {missing} hours are missing" if missing else ""
    return f"{now} of {asked} {need.unit.words} so far; {ahead}{gaps}."
