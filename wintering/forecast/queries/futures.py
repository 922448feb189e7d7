"""What may come: the temperatures of a tree's place in its other winters."""

from dataclasses import dataclass
from datetime import UTC, date, datetime

import numpy as np
from django.db.models import Min
from numpy.typing import NDArray

from wintering.climate.models import ReadingDay
from wintering.climate.queries import hourly
from wintering.climate.sources import AIR_PLACES, Source, sources_of
from wintering.forecast.queries.exposure import hour_of
from wintering.forecast.queries.outlook import TreeOutlook
from wintering.science.budbreak import BudbreakOutlook, budbreak_outlook
from wintering.science.chill_need import Bracket, accumulated
from wintering.science.days import LocalDays, local_days
from wintering.science.series import HOUR_S, Hourly, bridge, joined
from wintering.science.winter import Winter

MOST_WINTERS = 10
"""Older ones are of another climate and another frame: own choice."""

LEAST_KNOWN = 0.9
"""A winter that lacks more of the hours asked for is left out: own choice."""

# Within this longest gap straight lines fill what a winter lacks; they are counted.
ANY_GAP_H = 10**6


@dataclass(frozen=True, eq=False)
class Futures:
    """Hours that may follow the present one, as this place had them in other winters.

    c             [°C], (hours, winters), the first row the hour after the last known
    filled_hours  those of each winter that straight lines stand for
    source        the sensor whose readings they are
    """

    winters: tuple[Winter, ...]
    c: NDArray[np.float64]
    filled_hours: tuple[int, ...]
    source: Source

    @property
    def words(self) -> str:
        named = ", ".join(winter.name for winter in self.winters)
        filled = sum(self.filled_hours)
        lines = f"; {filled} missing hours filled by straight lines" if filled else ""
        return f"readings of {self.source} in {named}{lines}"


def futures_of(outlook: TreeOutlook, *, until: date) -> Futures | None:
    """The hours from now to a day, as in each other winter of the tree's place.

    None where it stands nowhere, or where no other winter was measured there.
    """
    if outlook.place is None:
        return None
    part = outlook.place.microclimate_id
    source = sources_of([part], AIR_PLACES).get(part)
    if source is None:
        return None
    end = local_days(until, until, outlook.zone).end_hour
    if end <= hour_of(outlook.at):
        return None
    start, found = hour_of(outlook.at), []
    for winter, back_h in _other_winters(source, outlook):
        ahead = _ahead(source, start, end, back_h)
        if ahead is not None:
            found.append((winter, *ahead))
    if not found:
        return None
    winters, columns, filled = zip(*found, strict=True)
    return Futures(winters, np.stack(columns, axis=1), filled, source)


def _other_winters(source: Source, outlook: TreeOutlook) -> list[tuple[Winter, int]]:
    """Earlier winters that the sensor may know, and how many hours they lie back."""
    days = ReadingDay.objects.filter(sensor=source.sensor)
    first: date | None = days.aggregate(first=Min("day"))["first"]
    found = []
    for years in range(1, MOST_WINTERS + 1):
        then = _years_before(outlook.today, years)
        if first is None or then < first:
            break
        back_h = 24 * (outlook.today - then).days
        found.append((Winter(outlook.winter.start_year - years), back_h))
    return found


def _ahead(
    source: Source, start: int, end: int, back_h: int
) -> tuple[NDArray[np.float64], int] | None:
    """The hours of another winter and how many were filled; None if too few."""
    start_at, end_at = (
        datetime.fromtimestamp((hour - back_h) * HOUR_S, UTC) for hour in (start, end)
    )
    measured = hourly([source.sensor], start_at, end_at)[source.sensor.pk]
    lacking = np.isnan(bridge(measured).c)
    if not lacking.size or lacking.mean() > 1 - LEAST_KNOWN:
        return None
    whole = bridge(measured, ANY_GAP_H).shifted(source.offset_k).c
    # Lines need an hour at both ends; beyond, the nearest known one stands.
    known = np.flatnonzero(~np.isnan(whole))
    filled = np.interp(np.arange(whole.size), known, whole[known])
    return filled, int(lacking.sum())


def _years_before(day: date, years: int) -> date:
    try:
        return day.replace(year=day.year - years)
    except ValueError:  # 29 February
        return date(day.year - years, 2, 28)


@dataclass(frozen=True, eq=False)
class Ahead:
    """What the futures come to for one tree, looked at to 31 July.

    days      from the start of its chill to the last day looked at
    chill     by day from today on, (days, winters), in the unit of its requirement;
              the first row is the chill so far, with missing hours counted as none
    most      the same with missing hours counted as what they can have brought at most
    budbreak  rest and budbreak to come; None where the tree needs no cold dormancy
    """

    futures: Futures
    days: LocalDays
    chill: NDArray[np.float64]
    most: NDArray[np.float64]
    budbreak: BudbreakOutlook | None

    def chill_by(self, day: date) -> Bracket:
        """Least and most chill at the end of the day before, over the winters."""
        passed = len(self.days) - self.chill.shape[0]
        row = (day - self.days.first).days - 1 - passed
        at_end = min(max(row, 0), self.chill.shape[0] - 1)
        least, most = self.chill[at_end].min(), self.most[at_end].max()
        return Bracket(float(least), float(most))


def ahead_of(outlook: TreeOutlook) -> Ahead | None:
    """Chill and budbreak to come as in the other winters; None without any.

    Looks to the end of the winter, 31 July, so that late trees break within it.
    """
    if outlook.requirement is None or outlook.chill is None:
        return None
    until = outlook.winter.last_day
    futures = futures_of(outlook, until=until)
    if futures is None or outlook.chill_start >= outlook.today:
        return None
    days = local_days(outlook.chill_start, until, outlook.zone)
    past = outlook.exposure.air.window(days.first_hour, hour_of(outlook.at))
    chill, most = _chill(outlook, past, futures, days)
    return Ahead(
        futures=futures,
        days=days,
        chill=chill,
        most=most,
        budbreak=_budbreak(outlook, past, futures, days),
    )


def _budbreak(
    outlook: TreeOutlook, past: Hourly, futures: Futures, days: LocalDays
) -> BudbreakOutlook | None:
    """By the curve, the start of warmth and the look at buds of its index of waking."""
    wake = outlook.wake
    if wake is None or outlook.requirement is None:
        return None
    return budbreak_outlook(
        past,
        futures.c,
        days,
        requirement=outlook.requirement,
        curve=wake.curve,
        seen_closed_on=wake.seen_closed_on,
        warmth_from=outlook.warmth_start,
    )


def _chill(
    outlook: TreeOutlook, past: Hourly, futures: Futures, days: LocalDays
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Least and most chill by day from today on, a column for each winter."""
    now, passed = past.end_hour, len(outlook.days)
    courses = []
    for column in futures.c.T:
        ahead = Hourly.measured(now, column)
        whole = joined([(past, past.first_hour, now), (ahead, now, days.end_hour)])
        courses.append(accumulated(whole, days, outlook.requirement.unit))
    least, most = (
        np.stack(ends, axis=1)[max(passed - 1, 0) :]
        for ends in zip(*((each.low, each.high) for each in courses), strict=True)
    )
    return least, most
