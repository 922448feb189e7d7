"""Round numbers up the side, whole days along the foot."""

import math
from collections.abc import Iterable
from datetime import datetime, time, timedelta, tzinfo

from django.utils.formats import date_format

DAY_S = 86400
HOUR_STEPS = (1, 3, 6, 12)
DAY_STEPS = (1, 2, 7, 14)
MONTH_STEPS = (1, 2, 3, 6, 12)


def value_ticks(low: float, high: float, most: int = 6) -> list[float]:
    """Round values within a range: steps of 1, 2 or 5 times a power of ten."""
    raw = (high - low) / most
    power = 10.0 ** math.floor(math.log10(raw))
    step = next(m * power for m in (1, 2, 5, 10) if m * power >= raw * (1 - 1e-9))
    first, last = math.ceil(low / step - 1e-9), math.floor(high / step + 1e-9)
    return [round(n * step, 10) for n in range(first, last + 1)]


def time_ticks(
    since: datetime, until: datetime, zone: tzinfo, most: int = 8
) -> list[tuple[datetime, str]]:
    """Instants to name and their names, on local hours, days, Mondays or months."""
    start, end = since.astimezone(zone), until.astimezone(zone)
    hours = (until - since).total_seconds() / 3600
    for step in HOUR_STEPS:
        if hours / step <= most:
            return [(at, _hour_name(at)) for at in _hours(start, end, step)]
    for step in DAY_STEPS:
        if hours / 24 / step <= most:
            name = "D j M" if hours <= most * 24 else "j M"
            return [(at, date_format(at, name)) for at in _days(start, end, step)]
    months = hours / 24 / 30.4
    step = next((s for s in MONTH_STEPS if months / s <= most), MONTH_STEPS[-1])
    return [(at, _month_name(at)) for at in _months(start, end, step)]


def _hour_name(at: datetime) -> str:
    return date_format(at, "H:i" if at.hour else "D j M")


def _month_name(at: datetime) -> str:
    return date_format(at, "M Y" if at.month == 1 else "M")


def _hours(start: datetime, end: datetime, step: int) -> list[datetime]:
    midnight = datetime.combine(start, time(), start.tzinfo)
    days = range((end - midnight).days + 2)
    wall = (
        datetime.combine(midnight + timedelta(days=day), time(hour), start.tzinfo)
        for day in days
        for hour in range(0, 24, step)
    )
    return _within(wall, start, end)


def _days(start: datetime, end: datetime, step: int) -> list[datetime]:
    """Local midnights; steps of whole weeks fall on Mondays."""
    first = start.date()
    if step % 7 == 0:
        first -= timedelta(days=first.weekday())
    count = (end.date() - first).days // step + 1
    midnights = (
        datetime.combine(first + timedelta(days=step * n), time(), start.tzinfo)
        for n in range(count)
    )
    return _within(midnights, start, end)


def _months(start: datetime, end: datetime, step: int) -> list[datetime]:
    numbers = range(start.year * 12 + start.month - 1, end.year * 12 + end.month)
    firsts = (
        datetime(n // 12, n % 12 + 1, 1, tzinfo=start.tzinfo)
        for n in numbers
        if n % step == 0
    )
    return _within(firsts, start, end)


def _within(
    instants: Iterable[datetime], start: datetime, end: datetime
) -> list[datetime]:
    return [at for at in instants if start <= at <= end]
