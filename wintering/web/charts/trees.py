"""Charts of one tree: its chill against its need, its root zone against its limits."""

from datetime import UTC, datetime, time, timedelta

import numpy as np

from wintering.forecast.queries import Ahead, TreeOutlook
from wintering.science.acclimation import Season
from wintering.science.chill_need import Bracket
from wintering.science.days import local_days
from wintering.science.series import HOUR_S
from wintering.web.charts.contents import Band, Chart, Event, Fan, Series, Threshold
from wintering.web.charts.lines import Floats

# Sums are known once a day; a day that is missing is in the bracket, not a gap.
GAP_S = 1.5 * HOUR_S
BETWEEN_SUMS_S = 3 * 24 * HOUR_S
LEAST_SHOWN = timedelta(days=14)


def chill_chart(outlook: TreeOutlook, ahead: Ahead | None = None) -> Chart | None:
    """Chill by day, and what may come of it by the planned exit; None without sums.

    ahead  what the other winters of its place say; without any, the late pace goes on
    """
    by_day, need = outlook.chill_by_day, outlook.requirement
    if by_day is None or need is None or not by_day.low.size:
        return None
    zone = outlook.zone
    since = datetime.combine(outlook.chill_start, time(), zone)
    exit_at = datetime.combine(outlook.planned_exit, time(), zone)
    exit_name = "planned exit" if outlook.is_exit_stated else "no exit planned"
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
            *(_middle(ahead) if ahead else _to_come(outlook, exit_at)),
        ),
        fans=(_fan(ahead),) if ahead else (),
        bands=(Band(need.low, need.high, "needed"),) if need.high > need.low else (),
        thresholds=() if need.high > need.low else (Threshold(need.low, "needed"),),
        events=(Event(exit_at, exit_name),),
        include=(0.0,),
        decimals=0 if by_day.unit == "cold_days" else 1,
        summary=_chill_words(outlook, ahead),
    )


def _chill_words(outlook: TreeOutlook, ahead: Ahead | None) -> str:
    """One outlook, never two that differ: the other winters where there are any."""
    chill = outlook.chill
    if chill is None or ahead is None or outlook.planned_exit <= outlook.today:
        return chill.because if chill else ""
    need = chill.requirement
    asked, exit_on = Bracket(need.low, need.high), outlook.planned_exit
    return (
        f"{chill.so_far} of {asked} {need.unit.words} so far; as in the other winters "
        f"of its place {ahead.chill_by(exit_on)} by {exit_on.day} {exit_on:%B}."
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


def _fan(ahead: Ahead) -> Fan:
    """From the least to the most of the other winters, day by day."""
    low, high = ahead.chill.min(axis=1), ahead.most.max(axis=1)
    return Fan(f"As in {_winters(ahead)}", _ends_s(ahead), low, high)


def _middle(ahead: Ahead) -> list[Series]:
    """The middle of at least three winters; of fewer there is none."""
    if ahead.chill.shape[1] < 3:
        return []
    middle = np.median(ahead.chill, axis=1)
    name = "Middle of the other winters"
    at_s = _ends_s(ahead)
    return [Series(name, at_s, middle, is_expected=True, gap_after_s=BETWEEN_SUMS_S)]


def _ends_s(ahead: Ahead) -> Floats:
    ends = ahead.days.starts[-ahead.chill.shape[0] :]
    return ends * float(HOUR_S)


def _winters(ahead: Ahead) -> str:
    return " and ".join(winter.name for winter in ahead.futures.winters[:3]) + (
        f" and {len(ahead.futures.winters) - 3} more"
        if len(ahead.futures.winters) > 3
        else ""
    )


def season_chart(outlook: TreeOutlook, season: Season | None) -> Chart | None:
    """What top and roots bear through the winter; None where no limit is known."""
    parts = [part for part in (season.top, season.root) if part] if season else []
    if not parts:
        return None
    first = parts[0].first
    days = local_days(first, first + timedelta(days=parts[0].mild_c.size), outlook.zone)
    ends_s = days.starts[1:] * float(HOUR_S)
    root = outlook.exposure.root
    hours_s = (root.first_hour + np.arange(root.c.size)) * float(HOUR_S)
    return Chart(
        title=f"What {outlook.tree.number} bears through the winter",
        unit="°C",
        since=datetime.combine(first, time(), outlook.zone),
        until=max(outlook.at, datetime.fromtimestamp(float(ends_s[-1]), UTC)),
        zone=outlook.zone,
        series=(
            Series("Root zone where it stood", hours_s, root.c, gap_after_s=GAP_S),
        ),
        fans=tuple(
            Fan(name, ends_s, part.hardy_c, part.mild_c)
            for name, part in (("Top", season.top), ("Roots", season.root))
            if part
        ),
        decimals=0,
    )


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
        series=(Series("Root zone", at_s, root.c, gap_after_s=GAP_S),),
        thresholds=(
            Threshold(limits.watch_c, "watch", "week"),
            Threshold(limits.act_c, "act", "tonight"),
        ),
    )
