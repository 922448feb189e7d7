"""Days and instants as people read them: with the weekday, in their own time."""

from datetime import date, datetime, timedelta

from django import template
from django.utils import timezone
from django.utils.formats import date_format

register = template.Library()

HOUR = timedelta(hours=1)
DAY = timedelta(days=1)


@register.filter
def day(value: date | None) -> str:
    """Mon 20 Jan 2025, in the order that the reader's language writes it."""
    if value is None:
        return "not known"
    local = timezone.localtime(value) if isinstance(value, datetime) else value
    return f"{date_format(local, 'D')} {date_format(local, 'DATE_FORMAT')}"


@register.filter
def short_day(value: date | None) -> str:
    """Mon 20 Jan: where the year is plain."""
    if value is None:
        return "not known"
    local = timezone.localtime(value) if isinstance(value, datetime) else value
    return date_format(local, "D j M")


@register.filter
def part_of_month(value: date | None) -> str:
    """'late February': of days that are known no better."""
    if value is None:
        return "not known"
    part = ("early", "mid", "late")[min((value.day - 1) // 10, 2)]
    return f"{part} {date_format(value, 'F')}"


@register.filter
def clock(value: datetime | None) -> str:
    if value is None:
        return "not known"
    return date_format(timezone.localtime(value), "H:i")


@register.filter
def moment(value: datetime | None) -> str:
    """Mon 20 Jan 2025, 06:10."""
    return "not known" if value is None else f"{day(value)}, {clock(value)}"


@register.filter
def lately(value: datetime | None) -> str:
    """'today 07:40', 'Mon 18:00' within six days, then with the day of the month."""
    if value is None:
        return "not known"
    ago = (timezone.localdate() - timezone.localtime(value).date()).days
    if ago == 0:
        return f"today {clock(value)}"
    if 0 < ago < 7:
        return f"{date_format(timezone.localtime(value), 'D')} {clock(value)}"
    return f"{short_day(value)}, {clock(value)}"


@register.filter
def age(value: datetime | None) -> str:
    """12 min ago; what is older than two days in days."""
    if value is None:
        return "never"
    return age_at(value, timezone.now())


def age_at(value: datetime, now: datetime) -> str:
    passed = now - value
    if passed < timedelta(0):
        return f"in {_length(-passed)}"
    if passed < timedelta(minutes=1):
        return "just now"
    return f"{_length(passed)} ago"


def _length(span: timedelta) -> str:
    if span < HOUR:
        return f"{max(1, span // timedelta(minutes=1))} min"
    if span < 2 * DAY:
        return f"{span // HOUR} h"
    return f"{span // DAY} days"
