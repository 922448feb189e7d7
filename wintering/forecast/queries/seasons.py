"""How hardy a tree is through its winter: top and roots apart, as ranges."""

from datetime import date

import numpy as np
from numpy.typing import NDArray

from wintering.forecast.queries.limits import (
    established_limits_of,
    source_of,
    tender_limits_of,
)
from wintering.forecast.queries.outlook import HARDENING_FROM_MONTH, TreeOutlook
from wintering.science.acclimation import Limit, Season, SeasonDays, TreeState, season
from wintering.science.days import LocalDays, local_days
from wintering.science.evidence import Evidence
from wintering.science.forcing import daily_means
from wintering.science.hardiness import is_recent
from wintering.stays.models import ConditionReport
from wintering.trees.queries import Facts

WEAK = (ConditionReport.Vigour.WEAK, ConditionReport.Vigour.FAILING)


def season_of(outlook: TreeOutlook) -> Season | None:
    """Hardiness of top and roots up to today; None without any limit or any day."""
    first = date(outlook.winter.start_year, HARDENING_FROM_MONTH, 1)
    days = local_days(first, outlook.today, outlook.zone)
    if not len(days):
        return None
    met = SeasonDays(
        first=first,
        air_c=daily_means(outlook.exposure.air, days),
        root_c=_roots(outlook, days),
        least_chill=_share(outlook, days, most=False),
        most_chill=_share(outlook, days, most=True),
    )
    return season(met, _state(outlook))


def _roots(outlook: TreeOutlook, days: LocalDays) -> NDArray[np.float64] | None:
    """Daily means of the measured root zone; None where nothing measured it."""
    root = outlook.exposure.root
    return daily_means(root, days) if np.isfinite(root.c).any() else None


def _share(
    outlook: TreeOutlook, days: LocalDays, *, most: bool
) -> NDArray[np.float64] | None:
    """Share of the need of chill that is received, by day; 0 before chill begins."""
    by_day, need = outlook.chill_by_day, outlook.requirement
    if by_day is None or need is None:
        return None
    so_far = by_day.high / need.low if most else by_day.low / need.high
    shares = np.zeros(len(days))
    begin = (by_day.first - days.first).days
    known = so_far[max(-begin, 0) :][: len(days) - max(begin, 0)]
    shares[max(begin, 0) :][: known.size] = known
    return shares


def _state(outlook: TreeOutlook) -> TreeState:
    tree, facts = outlook.tree, outlook.facts
    worked_on = tree.root_work_on
    top = facts.best("zone_limit_temp")
    return TreeState(
        top=Limit(top.low, source_of(top), Evidence(top.kind))
        if top and top.low is not None
        else None,
        root=_root_limit(facts),
        roots_worked=None if worked_on is None else is_recent(worked_on, outlook.today),
        weak=_is_weak(outlook),
        bud_stage=outlook.buds.code if outlook.buds else None,
        buds_seen_on=outlook.buds.on if outlook.buds else None,
    )


def _root_limit(facts: Facts) -> Limit | None:
    """What hardened roots bear; None for a tree whose roots never harden."""
    if tender_limits_of(facts):
        return None
    limits = established_limits_of(facts)
    return Limit(limits.kill_c, limits.source, limits.evidence)


def _is_weak(outlook: TreeOutlook) -> bool:
    reports = ConditionReport.objects.filter(
        tree=outlook.tree, on__lte=outlook.today
    ).exclude(vigour=ConditionReport.Vigour.UNKNOWN)
    last = reports.order_by("-on", "-pk").first()
    return last is not None and last.vigour in WEAK
