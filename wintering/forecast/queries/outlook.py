"""All that the readings say of a tree: roots, chill, waking, stage."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

import numpy as np

from wintering.forecast.queries.buds import speaking_stage
from wintering.forecast.queries.exposure import (
    Exposure,
    exposures,
    hour_of,
    midnight_hour,
)
from wintering.forecast.queries.limits import (
    green_limits_of,
    is_cold_dormant,
    requirement_of,
    root_limits_of,
    wake_rank_of,
)
from wintering.forecast.queries.look_alikes import look_alikes
from wintering.forecast.queries.starts import (
    chill_start_of,
    counting_leaf_fall,
    early_until_of,
    is_exit_stated,
    planned_ends,
    planned_exit_of,
    warmth_start_of,
)
from wintering.forecast.queries.summing import Need, Summing, Sums, recent_mean_c
from wintering.science.acclimation import WatchRaise, watch_raise
from wintering.science.bbch import AUTUMN, CLOSED, SWELLING
from wintering.science.curves import curve_for
from wintering.science.days import LocalDays, local_days
from wintering.science.dormancy import (
    Accumulated,
    ChillOutlook,
    Requirement,
    Stage,
    WakeLevel,
    WakeOutlook,
    chill_outlook,
    stage,
)
from wintering.science.hardiness import RootLimits, RootRisk, raised, root_risk
from wintering.science.series import Hourly
from wintering.science.sun import daylength_h
from wintering.science.winter import Winter
from wintering.stays.queries import Place, places_of
from wintering.trees.models import BudStage, Tree
from wintering.trees.queries import (
    FactChange,
    Facts,
    bud_stages_of,
    facts_of_trees,
)

RECENT_H = 24
"""A flag about cold rests on the last day and night: own choice."""

LOOKED_BACK = timedelta(days=15)
"""Local days that surely hold those hours and the two weeks of a recent mean."""

HARDENING_FROM_MONTH = 9
"""Hardening is followed from 1 September: own choice, before the first cold."""


@dataclass(frozen=True, eq=False)
class TreeOutlook:
    """What is known of one tree at an instant. None is 'not known', never 'fine'.

    roots, green    limits and risk of the root zone, and of the air around green tips
    roots_winter    the root zone since the chill began
    buds            the bud stage last seen on it this winter
    look_alike      a stage seen on another of its kind in the same microclimate
    daylength_h     today, where its frame lies; None if that was not said
    planned_exit    by when chill should be complete, and whether somebody planned it
    today           the day of the instant by the clock of its frame; days reach up to
                    it and are none before the chill begins
    """

    tree: Tree
    place: Place | None
    at: datetime
    winter: Winter
    chill_start: date
    warmth_start: date
    planned_exit: date
    is_exit_stated: bool
    early_until: date
    today: date
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
    buds: BudStage | None
    look_alike: BudStage | None
    daylength_h: float | None
    recent_mean_c: float | None

    @property
    def has_moving_buds(self) -> bool:
        """Whether its buds were seen to swell, or leaves of this spring."""
        return self.buds is not None and SWELLING <= self.buds.code < AUTUMN

    @property
    def zone(self) -> ZoneInfo:
        """The clock of its frame; UTC where it stands in none."""
        return _zone(self.place.frame if self.place else None)


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
    leaving = planned_ends(trees)
    standing = {tree.pk: _standing(places[tree.pk], at) for tree in trees}
    frames = [place.frame for place in standing.values() if place]
    today = at.astimezone(_zone(frames[0] if frames else None)).date()
    seen = bud_stages_of(trees, since=Winter.of(today).first_day, until=today)
    # Roots and air are looked at also before the chill begins.
    starts = [chill_start_of(tree, today) for tree in trees]
    autumn = date(Winter.of(today).start_year, HARDENING_FROM_MONTH, 1)
    since = min([*starts, autumn, today - LOOKED_BACK])
    exposed = exposures(places, since=since, at=at)
    alike = look_alikes(trees, standing, today)
    summing = Summing()
    return {
        tree.pk: _outlook(
            tree,
            at=at,
            place=standing[tree.pk],
            exposure=exposed[tree.pk],
            facts=facts[tree.pk],
            leaves_on=leaving.get(tree.pk),
            buds=seen.get(tree.pk),
            look_alike=alike.get(tree.pk),
            summing=summing,
        )
        for tree in trees
    }


def _outlook(
    tree: Tree,
    *,
    at: datetime,
    place: Place | None,
    exposure: Exposure,
    facts: Facts,
    leaves_on: date | None,
    buds: BudStage | None,
    look_alike: BudStage | None,
    summing: Summing,
) -> TreeOutlook:
    zone = _zone(place.frame if place else None)
    today = at.astimezone(zone).date()
    chill_start = chill_start_of(tree, today)
    planned_exit = planned_exit_of(place, chill_start, leaves_on)
    buds = speaking_stage(buds, tree, today)
    days = local_days(chill_start, max(chill_start, today), zone)
    need = _need(tree, facts, buds, today)
    summed = summing.of(exposure, days, need)
    chill = _chill(need.requirement, summed, planned_exit, today)
    # Waking, its advice and the stages are for trees that rest in the cold.
    wake = summed.wake if is_cold_dormant(facts) else None
    root_limits = _raised(
        root_limits_of(tree, facts, on=today),
        watch_raise(
            exposure.air,
            days,
            fulfilled_on=fulfilled_on(need.requirement, summed.by_day),
            on=today,
        ),
    )
    code = buds.code if buds else None
    green_limits = green_limits_of(tree, facts, on=today, bud_stage=code)
    daylength = _daylength(place, today)
    recent_c = recent_mean_c(exposure, hour_of(at))
    return TreeOutlook(
        tree=tree,
        place=place,
        at=at,
        winter=Winter.of(today),
        chill_start=chill_start,
        warmth_start=need.warmth_from,
        planned_exit=planned_exit,
        is_exit_stated=is_exit_stated(place, chill_start, leaves_on),
        early_until=early_until_of(place, chill_start, leaves_on),
        today=today,
        days=days,
        exposure=exposure,
        facts=facts,
        root_limits=root_limits,
        roots=root_risk(_recent(exposure.root, at), root_limits),
        roots_winter=root_risk(
            exposure.root.window(days.first_hour, hour_of(at)), root_limits
        ),
        green_limits=green_limits,
        green=_green(exposure, green_limits, buds, at, zone),
        requirement=need.requirement,
        chill_by_day=summed.by_day,
        chill=chill,
        wake=wake,
        stage=stage(
            today,
            leaf_fall_on=counting_leaf_fall(tree, today),
            chill_met=chill.met if chill and chill.reliable else None,
            w=_awake_w(wake),
            bud_stage=code,
            sheds_leaves=tree.taxon.is_evergreen is not True,
            daylength_h=daylength,
            recent_mean_c=recent_c,
        )
        if is_cold_dormant(facts)
        else None,
        buds=buds,
        look_alike=look_alike,
        daylength_h=daylength,
        recent_mean_c=recent_c,
    )


def fulfilled_on(
    requirement: Requirement | None, by_day: Accumulated | None
) -> date | None:
    """The day on which the chill can first have been fulfilled; None if not yet."""
    if requirement is None or by_day is None:
        return None
    met = np.flatnonzero(by_day.high >= requirement.low)
    return by_day.first + timedelta(days=int(met[0])) if met.size else None


def _raised(limits: RootLimits, warm: WatchRaise) -> RootLimits:
    return raised(limits, warm.raise_k, warm.because) if warm.until else limits


def _awake_w(wake: WakeOutlook | None) -> float | None:
    """The index where its last level stands, which is where it tells of a stage."""
    if wake is None or not wake.reliable or wake.level is not WakeLevel.AWAKE:
        return None
    return wake.w


def _need(tree: Tree, facts: Facts, buds: BudStage | None, today: date) -> Need:
    return Need(
        requirement=requirement_of(facts),
        curve=curve_for(tree.taxon.scientific_name),
        wake_rank=wake_rank_of(facts),
        seen_closed_on=buds.on if buds and buds.code == CLOSED else None,
        warmth_from=warmth_start_of(tree, today),
    )


def _chill(
    requirement: Requirement | None, summed: Sums, planned_exit: date, today: date
) -> ChillOutlook | None:
    """None also where not one hour was measured: that is not known, not zero."""
    if requirement is None or summed.by_day is None:
        return None
    chill = chill_outlook(
        requirement, summed.by_day, planned_exit=planned_exit, today=today
    )
    return chill if chill.missing_hours < chill.hours else None


def _recent(hourly: Hourly, at: datetime) -> Hourly:
    end = hour_of(at)
    return hourly.window(end - RECENT_H, end)


def _green(
    exposure: Exposure,
    limits: RootLimits | None,
    buds: BudStage | None,
    at: datetime,
    zone: ZoneInfo,
) -> RootRisk | None:
    """The air around green growth, from the day on which it was seen."""
    if limits is None or buds is None:
        return None
    end = hour_of(at)
    first = max(end - RECENT_H, midnight_hour(buds.on, zone))
    return root_risk(exposure.air.window(first, end), limits)


def _daylength(place: Place | None, today: date) -> float | None:
    latitude = place.frame.latitude_deg if place else None
    if latitude is None:
        return None
    return float(daylength_h(latitude, today.timetuple().tm_yday))


def _standing(places: list[Place], at: datetime) -> Place | None:
    for place in reversed(places):
        day = at.astimezone(_zone(place.frame)).date()
        if place.since <= day and (place.until is None or day < place.until):
            return place
    return None


def _zone(frame: object | None) -> ZoneInfo:
    return ZoneInfo(frame.time_zone if frame else "UTC")
