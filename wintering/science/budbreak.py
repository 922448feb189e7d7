"""When rest is complete and when buds break, over many futures at once.

The dates are spreads over futures and over the range of the chill requirement, never
one date. Three structures are shown side by side. The alternating one warns; the
sequential one alone would miss a tree that wakes early, because to it warmth before
the end of rest is nothing.
"""

from dataclasses import dataclass
from datetime import date, timedelta
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray

from wintering.science import chill
from wintering.science.chill_need import (
    ChillUnit,
    Requirement,
    accumulated,
    is_reliable,
)
from wintering.science.curves import BOTTA, RequirementCurve
from wintering.science.days import LocalDays
from wintering.science.forcing import chill_days, daily_means, thermal_time
from wintering.science.series import Hourly

POINTS = (10, 50, 90)
"""Shares of the cases by which a date is given [%]."""

NEEDS = 5
"""The range of a requirement counts as so many needs, evenly spread from its lower to
its upper bound: own choice, no need within it being called likelier."""

FIRST_YEAR_DAYS = 7
"""A forecast of budbreak can be at least so many days off in the first year, while the
tree's own dates are not known: common practice."""


CHUNK_H = 14 * 24
"""Portions are run so far at a time, until every future has enough of them."""


DAY = timedelta(days=1)


class Structure(StrEnum):
    """How chill and warmth are put together."""

    ALTERNATING = "alternating"
    SEQUENTIAL = "sequential"
    OVERLAP = "overlap"

    @property
    def words(self) -> str:
        return {
            Structure.ALTERNATING: (
                "chill and warmth count side by side from the start, and more chill "
                "asks for less warmth (Cannell & Smith 1983, J. Appl. Ecol. "
                "20:951-963; Murray, Cannell & Smith 1989, J. Appl. Ecol. 26:693-700)"
            ),
            Structure.SEQUENTIAL: (
                "warmth counts only once rest is complete, and what is asked for is "
                "settled by then; for comparison, never as a warning"
            ),
            Structure.OVERLAP: (
                "warmth counts once rest is complete, and chill after that still "
                "lowers what is asked for, as in the chill overlap model (Pope et al. "
                "2014, Global Change Biol. 20:1518-1525; from memory); for "
                "comparison, since its own curves are fitted to each cultivar and "
                "the curve of this tree stands in for them by own choice"
            ),
        }[self]


@dataclass(frozen=True)
class DatePoints:
    """Days by which 10, 50 and 90 % of the cases are there.

    None: fewer than that share get there within the days looked at.

    reached  share of the cases that do, 0 to 1
    """

    p10: date | None
    p50: date | None
    p90: date | None
    reached: float


@dataclass(frozen=True)
class Budbreak:
    """Budbreak by one structure.

    points            what the cases say
    earliest, latest  the 10 and 90 % points, at least the margin away from the middle;
                      None as they are. Where the middle lies beyond the days looked at,
                      earliest is at least the margin before the last of them
    """

    structure: Structure
    points: DatePoints
    earliest: date | None
    latest: date | None


@dataclass(frozen=True, eq=False)
class BudbreakOutlook:
    """Rest and budbreak to come.

    rest_complete  when the chill requirement is met
    by_structure   budbreak by each structure
    members        futures, each pooled with every one of the needs [of chill]
    needs          chill in the requirement's unit, from its lower to its upper bound
    margin_days    least distance of earliest and latest from the middle
    until          last of the days looked at
    hours          clock hours that have passed since the first day
    missing_hours  those of them without a temperature: they count for nothing, so that
                   dates are the latest they can be
    reliable       False with more than a tenth of the past hours missing
    """

    requirement: Requirement
    curve: RequirementCurve
    rest_complete: DatePoints
    by_structure: dict[Structure, Budbreak]
    members: int
    needs: tuple[float, ...]
    margin_days: int
    until: date
    hours: int
    missing_hours: int
    reliable: bool

    @property
    def warning(self) -> Budbreak:
        """The one to act on."""
        return self.by_structure[Structure.ALTERNATING]


def budbreak_outlook(
    past: Hourly,
    futures_c: NDArray[np.float64],
    days: LocalDays,
    *,
    requirement: Requirement,
    curve: RequirementCurve = BOTTA,
    margin_days: int = FIRST_YEAR_DAYS,
    seen_closed_on: date | None = None,
    warmth_from: date | None = None,
) -> BudbreakOutlook:
    """When rest is complete and buds break, by futures that follow the hours so far.

    past            measured temperature where the tree stood, windowed to end with the
                    present hour
    futures_c       hourly temperatures to come [°C], (hours, members), the first row
                    the hour after the last one of the past; none may be missing
    days            from the start of the tree's chill to the end of the horizon
    requirement     chill that completes rest; the range is pooled with the futures
    curve           warmth asked for, by chill days
    margin_days     7 in the first year; less once the tree's own dates bear it
    seen_closed_on  the last day on which the buds were seen closed (BBCH 00)
    warmth_from     first day whose warmth counts, as for the index of waking; None: the
                    first of the days

    A day counts as reached at its end. Where the curve asks for nothing more, the first
    warmth after is enough. That one curve serves all three structures is own choice, so
    that they differ in their structure alone.

    Buds seen closed outweigh the model: nothing breaks before the day after. Where the
    model had it break sooner that day is given, because the buds are due: own choice.
    """
    c, passed, missing = _joined(past, futures_c, days)
    begin = _days_before(warmth_from, days)
    chilled, heat, cold_days = _courses(c, days, requirement, begin)
    needs = np.linspace(requirement.low, requirement.high, NEEDS)
    # (days, needs, members)
    rest = _first(chilled[:, np.newaxis] >= needs[:, np.newaxis])
    open_from = _days_before(seen_closed_on and seen_closed_on + DAY, days)
    by_structure = {}
    for structure in Structure:
        first = _first(_breaks(structure, rest, heat, cold_days, curve))
        points = _points(np.maximum(first, open_from), days)
        by_structure[structure] = Budbreak(
            structure, points, *_band(points, days, margin_days, open_from)
        )
    return BudbreakOutlook(
        requirement=requirement,
        curve=curve,
        rest_complete=_points(rest, days),
        by_structure=by_structure,
        members=c.shape[1],
        needs=tuple(needs.tolist()),
        margin_days=margin_days,
        until=days.day(len(days) - 1),
        hours=passed,
        missing_hours=missing,
        reliable=is_reliable(passed, missing),
    )


def _joined(
    past: Hourly, futures_c: NDArray[np.float64], days: LocalDays
) -> tuple[NDArray[np.float64], int, int]:
    """Every hour of the days for each member, how many are past, and missing there."""
    if futures_c.ndim != 2 or futures_c.shape[1] == 0:
        raise ValueError("Give the futures as (hours, members), one member at least.")
    if not len(days):
        raise ValueError("No days to look at: let them reach past the start of chill.")
    if days.end_hour > past.end_hour + futures_c.shape[0]:
        raise ValueError("The days reach beyond the futures: end them sooner.")
    now = min(max(past.end_hour, days.first_hour), days.end_hour)
    begin, end = now - past.end_hour, days.end_hour - past.end_hour
    ahead = futures_c[max(begin, 0) : max(end, 0)]
    if np.isnan(ahead).any():
        raise ValueError("A future lacks hours: fill them, or leave that future out.")
    so_far = past.window(days.first_hour, now).c
    shared = np.broadcast_to(so_far[:, np.newaxis], (so_far.size, futures_c.shape[1]))
    missing = int(np.isnan(so_far).sum())
    return np.concatenate([shared, ahead]), so_far.size, missing


def _courses(
    c: NDArray[np.float64], days: LocalDays, need: Requirement, begin: int
) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64]]:
    """Chill in its unit, day-degrees and chill days at the end of each day.

    begin  number of days at the start whose warmth does not count
    """
    members = [Hourly.measured(days.first_hour, member) for member in c.T]
    means = [daily_means(member, days) for member in members]
    if need.unit is ChillUnit.PORTIONS:
        chilled = _portions(c, need.high)[days.last_hours]
    else:
        by_member = [accumulated(each, days, need.unit).low for each in members]
        chilled = np.stack(by_member, axis=1)
    heat = np.stack([thermal_time(mean) for mean in means], axis=1)
    if begin:
        heat = np.maximum(heat - heat[begin - 1], 0.0)
    cold_days = np.stack([chill_days(mean) for mean in means], axis=1)
    return chilled, heat, cold_days.astype(np.float64)


def _portions(c: NDArray[np.float64], enough: float) -> NDArray[np.float64]:
    """Running portions of all members, held once every one of them has enough."""
    total, state = np.empty(c.shape), None
    for begin in range(0, c.shape[0], CHUNK_H):
        run = chill.portions(c[begin : begin + CHUNK_H], state)
        total[begin : begin + CHUNK_H], state = run.total, run.state
        if np.all(state.total >= enough):
            total[begin + CHUNK_H :] = state.total
            break
    return total


def _breaks(
    structure: Structure,
    rest: NDArray[np.int64],
    heat: NDArray[np.float64],
    cold_days: NDArray[np.float64],
    curve: RequirementCurve,
) -> NDArray[np.bool_]:
    """Whether the warmth asked for is there, (days, needs, members)."""
    asked = curve.to_wake(cold_days)[:, np.newaxis]
    warmth = np.broadcast_to(heat[:, np.newaxis], (heat.shape[0], *rest.shape))
    if structure is not Structure.ALTERNATING:
        # rest that is never complete leaves no warmth after it
        end = np.minimum(rest, heat.shape[0] - 1)
        warmth = warmth - np.take_along_axis(heat, end, axis=0)
        if structure is Structure.SEQUENTIAL:
            asked = curve.to_wake(np.take_along_axis(cold_days, end, axis=0))
    return (warmth >= asked) & (warmth > 0)


def _first(met: NDArray[np.bool_]) -> NDArray[np.int64]:
    """The first day on which it is met, by its place; the number of days if never."""
    never = met.shape[0]
    first: NDArray[np.int64] = np.where(met.any(axis=0), met.argmax(axis=0), never)
    return first


def _days_before(day: date | None, days: LocalDays) -> int:
    """How many of the days lie before that one."""
    return min(max((day - days.first).days, 0), len(days)) if day else 0


def _points(first: NDArray[np.int64], days: LocalDays) -> DatePoints:
    cases = np.sort(first, axis=None)
    # the fewest cases that make up the share
    places = [-(-share * cases.size // 100) - 1 for share in POINTS]
    p10, p50, p90 = (
        days.day(int(cases[place])) if cases[place] < len(days) else None
        for place in places
    )
    return DatePoints(p10, p50, p90, float((cases < len(days)).mean()))


def _band(
    points: DatePoints, days: LocalDays, margin_days: int, open_from: int
) -> tuple[date | None, date | None]:
    """The 10 and 90 % points, at least the margin away from the middle."""
    margin = timedelta(days=margin_days)
    middle = points.p50 or days.day(len(days) - 1)
    earliest = points.p10 and max(min(points.p10, middle - margin), days.day(open_from))
    return earliest, points.p90 and max(points.p90, middle + margin)
