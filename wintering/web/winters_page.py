"""One place in several winters, laid over each other by the day from 1 August."""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from zoneinfo import ZoneInfo

import numpy as np
from django.contrib.auth.models import AnonymousUser

from wintering.climate.models import ReadingDay, Sensor
from wintering.climate.queries import extremes, hourly
from wintering.climate.queries.charting import Grid, Line, columns
from wintering.climate.storage import DAY_S
from wintering.people.models import User
from wintering.science.chill import totals
from wintering.science.chill_need import Bracket
from wintering.science.counters import hours_in_band
from wintering.science.days import local_days
from wintering.science.series import HOUR_S, Hourly, bridge
from wintering.science.winter import Winter
from wintering.web.charts.columns import Drawn, Picture, bands_of
from wintering.web.counts import Counts, counts_of
from wintering.web.scales import Scale, scales_of

HOURS_UP_TO_DAYS = 45
"""In a longer stretch whole days are compared, not hours: own choice."""

MOST_WINTERS = 12
"""The newest so many are laid over each other: own choice."""


@dataclass(frozen=True, slots=True)
class OfWinter:
    """A winter, and the sensor that measured it."""

    winter: Winter
    sensor: Sensor


@dataclass(frozen=True, slots=True, eq=False)
class WinterRow:
    """A winter in numbers, all of them up to the same day of winter.

    The last three are of temperatures alone: None for humidity, as where not known.
    """

    winter: Winter
    sensor: Sensor
    known_h: int
    missing_h: int
    scale: Scale
    lowest: float | None
    lowest_at: datetime | None
    in_band_h: int | None
    counts: Counts | None
    portions: Bracket | None


@dataclass(frozen=True, slots=True, eq=False)
class WintersPage:
    rows: tuple[WinterRow, ...]
    picture: Picture | None
    day: date | None  # of the newest winter: its last with a reading


def winters_of(sensor: Sensor, *, everywhere: bool) -> list[OfWinter]:
    """The winters with readings, the newest first, and who measured each.

    everywhere  by all sensors of its microclimate at the same kind of place, each
                winter by the one with the most days
    """
    pks = [s.pk for s in alike(sensor)] if everywhere else [sensor.pk]
    days = ReadingDay.objects.filter(sensor__in=pks, low__isnull=False)
    counted = Counter(
        (Winter.of(day), pk) for pk, day in days.values_list("sensor_id", "day")
    )
    best: dict[Winter, int] = {}
    for (winter, pk), _ in counted.most_common():
        best.setdefault(winter, pk)
    known = Sensor.objects.select_related("frame", "microclimate").in_bulk(pks)
    newest = sorted(best.items(), reverse=True)[:MOST_WINTERS]
    return [OfWinter(winter, known[pk]) for winter, pk in newest]


def alike(sensor: Sensor) -> list[Sensor]:
    """Sensors that measure the same in the same microclimate, itself among them."""
    if sensor.microclimate_id is None:
        return [sensor]
    return list(
        Sensor.objects.filter(
            microclimate=sensor.microclimate_id,
            place=sensor.place,
            quantity=sensor.quantity,
        )
    )


def winters_page(
    told: Sequence[OfWinter], *, points: int, user: User | AnonymousUser | None
) -> WintersPage:
    if not told:
        return WintersPage((), None, None)
    zone = ZoneInfo(told[0].sensor.frame.time_zone)
    newest = told[0]
    last = _last_day(newest, zone)
    reached = (last - newest.winter.first_day).days + 1
    return WintersPage(
        rows=tuple(
            _row(one, scale, reached, zone)
            for one, scale in zip(told, _scales(told, user), strict=True)
        ),
        picture=_in_sight(told, *whole(newest, zone), points=points, user=user),
        day=last,
    )


def _last_day(one: OfWinter, zone: ZoneInfo) -> date:
    ends = one.sensor.days.filter(
        day__gte=one.winter.first_day, day__lte=one.winter.last_day, low__isnull=False
    )
    last: datetime = ends.order_by("-day").values_list("last_at", flat=True)[0]
    return min(last.astimezone(zone).date(), one.winter.last_day)


def whole(one: OfWinter, zone: ZoneInfo) -> tuple[int, int]:
    """From 1 August to 31 July [s]."""
    next_winter = Winter(one.winter.start_year + 1)
    return _begin_s(one.winter, zone), _begin_s(next_winter, zone)


def _begin_s(winter: Winter, zone: ZoneInfo) -> int:
    return int(datetime.combine(winter.first_day, time(), zone).timestamp())


def laid_over(
    told: Sequence[OfWinter],
    start_s: int,
    end_s: int,
    *,
    points: int,
    user: User | AnonymousUser | None,
) -> Picture:
    """Older winters moved onto the newest; start_s and end_s are times of that."""
    newest = told[0]
    frame = newest.sensor.frame
    zone = ZoneInfo(frame.time_zone)
    grid = Grid.over(start_s, end_s, _at_most_daily(start_s, end_s, points))
    drawn = []
    for one, scale in zip(told, _scales(told, user), strict=True):
        days = (newest.winter.first_day - one.winter.first_day).days
        drawn.append(
            Drawn(
                key=one.winter.start_year,
                name=one.winter.name,
                place=one.sensor.name,
                scale=scale,
                line=_moved(one, grid.moved(-days), zone),
            )
        )
    return Picture(
        title=_title(newest.sensor, told),
        frame=frame,
        start_s=start_s,
        end_s=end_s,
        grid=grid,
        drawn=tuple(drawn),
        bands=bands_of([newest.sensor]),
        is_laid_over=True,
    )


def _at_most_daily(start_s: int, end_s: int, points: int) -> int:
    """Columns of a day at least, where nights would only hide one winter by another."""
    days = -(-(end_s - start_s) // DAY_S)
    return min(points, days + 1) if days > HOURS_UP_TO_DAYS else points


def _in_sight(
    told: Sequence[OfWinter],
    start_s: int,
    end_s: int,
    *,
    points: int,
    user: User | AnonymousUser | None,
) -> Picture:
    """From the first day to the last on which any winter has a reading."""
    year = laid_over(told, start_s, end_s, points=points, user=user)
    known = ~np.isnan(np.array([one.line.low for one in year.drawn])).all(axis=0)
    if not known.any():
        return year
    columns_s = year.grid.starts[known]
    first, end = int(columns_s[0]), int(columns_s[-1]) + year.grid.step_s
    start_s, end_s = max(start_s, first), min(end_s, end)
    return laid_over(told, start_s, end_s, points=points, user=user)


def _scales(told: Sequence[OfWinter], user: User | AnonymousUser | None) -> list[Scale]:
    """As finely as each sensor wrote in its newest winter here."""
    found: dict[int, Scale] = {}
    for one in told:
        if one.sensor.pk not in found:
            zone = ZoneInfo(one.sensor.frame.time_zone)
            found |= scales_of([one.sensor], user, _last_day(one, zone))
    return [found[one.sensor.pk] for one in told]


def _title(sensor: Sensor, told: Sequence[OfWinter]) -> str:
    place = sensor.get_place_display()
    if len({one.sensor.pk for one in told}) > 1:
        return f"Winters of {sensor.microclimate}, {place}"
    return f"Winters of {sensor.name}, {place}"


def _moved(one: OfWinter, grid: Grid, zone: ZoneInfo) -> Line:
    """A winter's columns; what lies in another winter is left out."""
    line = columns([one.sensor], grid).lines[one.sensor.pk]
    first, end = whole(one, zone)
    outside = (grid.starts + grid.step_s <= first) | (grid.starts >= end)
    return Line(
        np.where(outside, np.nan, line.low), np.where(outside, np.nan, line.high)
    )


def _row(one: OfWinter, scale: Scale, reached: int, zone: ZoneInfo) -> WinterRow:
    since = one.winter.first_day
    until = since + timedelta(days=reached)
    start, end = (datetime.combine(day, time(), zone) for day in (since, until))
    hours = hourly([one.sensor], start, end)[one.sensor.pk]
    days = local_days(since, until, zone)
    found = extremes([one.sensor], start, end).get(one.sensor.pk)
    is_temperature = one.sensor.quantity == Sensor.Quantity.TEMPERATURE
    part = one.sensor.microclimate if is_temperature else None
    known = ~np.isnan(hours.c)
    return WinterRow(
        winter=one.winter,
        sensor=one.sensor,
        scale=scale,
        known_h=int(known.sum()),
        missing_h=int((~known).sum()),
        lowest=found.lowest if found else None,
        lowest_at=found.lowest_at.astimezone(zone) if found else None,
        in_band_h=hours_in_band(hours.c, part.safe_low_c, part.safe_high_c).hours
        if part
        else None,
        counts=counts_of(hours, days, zone) if is_temperature else None,
        portions=_portions(hours, one.winter, until, zone) if is_temperature else None,
    )


def _portions(
    hours: Hourly, winter: Winter, until: date, zone: ZoneInfo
) -> Bracket | None:
    """Chill portions from 1 October; None before it."""
    if until <= winter.chill_start:
        return None
    since = datetime.combine(winter.chill_start, time(), zone).timestamp()
    end = datetime.combine(until, time(), zone).timestamp()
    window = bridge(hours).window(-int(-since // HOUR_S), -int(-end // HOUR_S))
    found = totals(window)
    return Bracket(found.portions, found.portions_high)
