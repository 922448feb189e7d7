"""Charts of one tree: its chill against its need, its root zone against its limits."""

from datetime import UTC, datetime, time, timedelta

import numpy as np

from wintering.forecast.queries import TreeOutlook
from wintering.science.series import HOUR_S
from wintering.web.charts.contents import Band, Chart, Event, Series, Threshold
from wintering.web.charts.lines import Floats

# Sums are known once a day; a day that is missing is in the bracket, not a gap.
BETWEEN_SUMS_S = 3 * 24 * HOUR_S
LEAST_SHOWN = timedelta(days=14)


def chill_chart(outlook: TreeOutlook) -> Chart | None:
    """Chill by day, and what may come of it by the planned exit; None without sums."""
    by_day, need = outlook.chill_by_day, outlook.requirement
    if by_day is None or need is None or not by_day.low.size:
        return None
    zone = outlook.zone
    since = datetime.combine(outlook.chill_start, time(), zone)
    exit_at = datetime.combine(outlook.planned_exit, time(), zone)
    until = max(exit_at, outlook.at, since + LEAST_SHOWN) + timedelta(days=3)
    ends_s = outlook.days.starts[1:] * float(HOUR_S)
    return Chart(
        title=f"Chill of {outlook.tree.number} against its need",
        unit=need.unit.words,
        since=since,
        until=until,
        zone=zone,
        series=(
            *_so_far(ends_s, by_day.low, by_day.high),
            *_to_come(outlook, exit_at),
        ),
        bands=(Band(need.low, need.high, "needed"),) if need.high > need.low else (),
        thresholds=() if need.high > need.low else (Threshold(need.low, "needed"),),
        events=(Event(exit_at, "planned exit"),),
        include=(0.0,),
        decimals=0 if by_day.unit == "cold_days" else 1,
        summary=outlook.chill.because if outlook.chill else "",
    )


def _so_far(ends_s: Floats, low: Floats, high: Floats) -> list[Series]:
    """One line, or the least and the most where hours are missing."""
    least = Series("Chill so far", ends_s, low, gap_after_s=BETWEEN_SUMS_S)
    if np.array_equal(low, high):
        return [least]
    most = Series(
        "If every missing hour was cold", ends_s, high, gap_after_s=BETWEEN_SUMS_S
    )
    return [least, most]


def _to_come(outlook: TreeOutlook, exit_at: datetime) -> list[Series]:
    chill = outlook.chill
    if chill is None or chill.projected is None or exit_at <= outlook.at:
        return []
    ends = [(outlook.at, chill.so_far.low), (exit_at, chill.projected.low)]
    return [
        Series.of(
            "At the pace of the last 14 days",
            ends,
            is_expected=True,
            gap_after_s=float("inf"),
        )
    ]


def root_chart(outlook: TreeOutlook) -> Chart | None:
    """The root zone where the tree stood; None where no reading speaks of it."""
    root, limits = outlook.exposure.root, outlook.root_limits
    if outlook.roots_winter is None:
        return None
    at_s = (root.first_hour + np.arange(root.c.size)) * float(HOUR_S)
    first = datetime.fromtimestamp(at_s[np.flatnonzero(~np.isnan(root.c))[0]], UTC)
    return Chart(
        title=f"Root zone where {outlook.tree.number} stood",
        unit="°C",
        since=min(first, outlook.at - LEAST_SHOWN),
        until=outlook.at,
        zone=outlook.zone,
        series=(Series("Root zone", at_s, root.c, gap_after_s=1.5 * HOUR_S),),
        thresholds=(
            Threshold(limits.watch_c, "watch", "week"),
            Threshold(limits.act_c, "act", "tonight"),
        ),
    )
