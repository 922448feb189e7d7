"""All that the readings say of a tree: roots, chill, waking, stage."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

from wintering.forecast.queries.exposure import Exposure, exposures, hour_of
from wintering.forecast.queries.limits import (
    green_limits_of,
    is_cold_dormant,
    requirement_of,
    root_limits_of,
)
from wintering.science.days import LocalDays, local_days
from wintering.science.dormancy import (
    Accumulated,
    ChillOutlook,
    Requirement,
    Stage,
    WakeOutlook,
    accumulated,
    chill_outlook,
    stage,
    wake_outlook,
)
from wintering.science.hardiness import RootLimits, RootRisk, root_risk
from wintering.science.series import Hourly
from wintering.science.winter import Winter
from wintering.stays.models import Stay
from wintering.stays.queries import Place, places_of
from wintering.trees.models import Tree
from wintering.trees.queries import FactChange, Facts, bud_stages_of, facts_of_trees

RECENT_H = 24
"""A flag about cold rests on the last day and night: own choice."""

RECENT_DAYS = 2
"""Local days that surely hold those hours."""

LEAF_FALL_COUNTS_DAYS = 240
"""So long after it a leaf fall still starts the chill of the winter that is judged: own
choice, from November into early July."""


@dataclass(frozen=True, eq=False)
class TreeOutlook:
    """What is known of one tree at an instant. None is 'not known', never 'fine'.

    roots, green    limits and risk of the root zone, and of the air around green tips
    roots_winter    the root zone since the chill began
    measured_until  the hour after the last one with a temperature
    """

    tree: Tree
    place: Place | None
    at: datetime
    winter: Winter
    chill_start: date
    planned_exit: date
    days: LocalDays
    exposure: Exposure
    facts: Facts
    root_limits: RootLimits
    roots: RootRisk | None
    roots_winter: RootRisk | None
    green_limits: RootLimits | None
    green: RootRisk | None
    requirement: Requirement | None
    chill_by_day: Accumulated | None
    chill: ChillOutlook | None
    wake: WakeOutlook | None
    stage: Stage | None

    @property
    def today(self) -> date:
        return self.days.day(len(self.days))


def tree_outlook(tree: Tree, at: datetime) -> TreeOutlook:
    """The outlook of one tree; see `tree_outlooks`."""
    return tree_outlooks([tree], at)[tree.pk]


def tree_outlooks(
    trees: Sequence[Tree], at: datetime, change: FactChange | None = None
) -> dict[int, TreeOutlook]:
    """The outlook of several trees at an instant, from readings before it.

    change  a fact put in or taken out in thought

    The number of statements does not grow with the trees.
    """
    places = {tree.pk: [] for tree in trees} | places_of(trees)
    facts = facts_of_trees(trees, change)
    leaving = _planned_ends(trees)
    standing = {tree.pk: _standing(places[tree.pk], at) for tree in trees}
    frames = [place.frame for place in standing.values() if place]
    today = at.astimezone(_zone(frames[0] if frames else None)).date()
    seen = bud_stages_of(trees, since=Winter.of(today).first_day, until=today)
    # Roots are looked at also before the chill begins.
    starts = [_chill_start(tree, today) for tree in trees]
    since = min([*starts, today - timedelta(days=RECENT_DAYS)])
    exposed = exposures(places, since=since, at=at)
    sums: dict[tuple[object, ...], _Sums] = {}
    return {
        tree.pk: _outlook(
            tree,
            at=at,
            place=standing[tree.pk],
            exposure=exposed[tree.pk],
            facts=facts[tree.pk],
            leaves_on=leaving.get(tree.pk),
            bud_stage=seen.get(tree.pk),
            sums=sums,
        )
        for tree in trees
    }


@dataclass(frozen=True, eq=False)
class _Sums:
    """What trees of the same exposure, start and need share."""

    by_day: Accumulated | None
    wake: WakeOutlook | None


def _outlook(
    tree: Tree,
    *,
    at: datetime,
    place: Place | None,
    exposure: Exposure,
    facts: Facts,
    leaves_on: date | None,
    bud_stage: int | None,
    sums: dict[tuple[object, ...], _Sums],
) -> TreeOutlook:
    zone = _zone(place.frame if place else None)
    today = at.astimezone(zone).date()
    winter = Winter.of(today)
    chill_start = _chill_start(tree, today)
    planned_exit = _planned_exit(place, chill_start, leaves_on)
    days = local_days(chill_start, max(chill_start, today), zone)
    requirement = requirement_of(facts)
    summed = _summed(exposure, days, requirement, sums)
    chill = _chill(requirement, summed.by_day, planned_exit, today)
    # Waking, its advice and the stages are for trees that rest in the cold.
    rests = is_cold_dormant(facts)
    wake = summed.wake if rests else None
    root_limits = root_limits_of(tree, facts, on=today)
    green_limits = green_limits_of(tree, facts, on=today, bud_stage=bud_stage)
    return TreeOutlook(
        tree=tree,
        place=place,
        at=at,
        winter=winter,
        chill_start=chill_start,
        planned_exit=planned_exit,
        days=days,
        exposure=exposure,
        facts=facts,
        root_limits=root_limits,
        roots=root_risk(_recent(exposure.root, at), root_limits),
        roots_winter=root_risk(exposure.root, root_limits),
        green_limits=green_limits,
        green=root_risk(_recent(exposure.air, at), green_limits)
        if green_limits
        else None,
        requirement=requirement,
        chill_by_day=summed.by_day,
        chill=chill,
        wake=wake,
        stage=None
        if not rests
        else stage(
            today,
            leaf_fall_on=_counting_leaf_fall(tree, today),
            chill_met=chill.met if chill and chill.reliable else None,
            w=wake.w if wake and wake.reliable else None,
            bud_stage=bud_stage,
        ),
    )


def _chill(
    requirement: Requirement | None,
    by_day: Accumulated | None,
    planned_exit: date,
    today: date,
) -> ChillOutlook | None:
    """None also where not one hour was measured: that is not known, not zero."""
    if requirement is None or by_day is None:
        return None
    chill = chill_outlook(requirement, by_day, planned_exit=planned_exit, today=today)
    return chill if chill.missing_hours < chill.hours else None


def _summed(
    exposure: Exposure,
    days: LocalDays,
    requirement: Requirement | None,
    sums: dict[tuple[object, ...], _Sums],
) -> _Sums:
    key = (id(exposure), days.first, len(days), requirement)
    if key not in sums:
        knows = len(days) > 0 and exposure.air.c.size > 0
        sums[key] = _Sums(
            by_day=accumulated(exposure.air, days, requirement.unit)
            if knows and requirement
            else None,
            wake=wake_outlook(exposure.air, days, requirement=requirement)
            if knows
            else None,
        )
    return sums[key]


def _recent(hourly: Hourly, at: datetime) -> Hourly:
    end = hour_of(at)
    return hourly.window(end - RECENT_H, end)


def _chill_start(tree: Tree, today: date) -> date:
    """The day its leaves fell if that was entered, else 1 October of this winter."""
    return _counting_leaf_fall(tree, today) or Winter.of(today).chill_start


def _counting_leaf_fall(tree: Tree, today: date) -> date | None:
    fell_on = tree.leaf_fall_on
    counts = timedelta(days=LEAF_FALL_COUNTS_DAYS)
    return fell_on if fell_on and timedelta() <= today - fell_on <= counts else None


def _planned_exit(
    place: Place | None, chill_start: date, collected_on: date | None
) -> date:
    """The planned exit, else the 1 March after; the collection if that is sooner."""
    exit_on = place.frame.exit_on if place else None
    if exit_on is None or exit_on <= chill_start:
        winter = Winter.of(chill_start)
        exit_on = winter.default_exit
        if exit_on <= chill_start:
            exit_on = Winter(winter.start_year + 1).default_exit
    return min(exit_on, collected_on or exit_on)


def _standing(places: list[Place], at: datetime) -> Place | None:
    for place in reversed(places):
        day = at.astimezone(_zone(place.frame)).date()
        if place.since <= day and (place.until is None or day < place.until):
            return place
    return None


def _zone(frame: object | None) -> ZoneInfo:
    return ZoneInfo(frame.time_zone if frame else "UTC")


def _planned_ends(trees: Sequence[Tree]) -> dict[int, date]:
    stays = Stay.objects.filter(
        tree__in=[tree.pk for tree in trees], until=None, planned_until__isnull=False
    )
    return dict(stays.values_list("tree", "planned_until"))
