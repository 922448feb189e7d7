"""Times that clocks show twice or not at all, on the days on which they are changed."""

from datetime import datetime, timedelta

from django.utils import timezone
from django.utils.dateparse import parse_datetime


def _offsets(at: datetime) -> tuple[timedelta | None, timedelta | None]:
    """From UTC, of a time without one: the first time that it comes, and the second."""
    zone = timezone.get_current_timezone()
    first, second = (at.replace(tzinfo=zone, fold=fold) for fold in (0, 1))
    return first.utcoffset(), second.utcoffset()


def comes_twice(at: datetime) -> bool:
    first, second = _offsets(at)
    return first is not None and second is not None and first > second


def on_the_clock(at: datetime) -> str:
    """An instant to the second as clocks show it; its offset too if they do twice."""
    local = timezone.localtime(at)
    plain = local.replace(tzinfo=None)
    return (local if comes_twice(plain) else plain).isoformat(timespec="seconds")


def _parsed(text: str) -> datetime | None:
    try:
        return parse_datetime(text.strip())
    except ValueError:
        return None


def takes_offset(text: str) -> bool:
    """Whether a written time has its offset from UTC, or cannot do without."""
    at = _parsed(text)
    return at is not None and (at.tzinfo is not None or comes_twice(at))


def clock_refusal(text: str) -> str:
    """Why a written time is no single instant; empty where it is one, or no time."""
    at = _parsed(text)
    if at is None or at.tzinfo is not None:
        return ""
    first, second = _offsets(at)
    if first == second:
        return ""
    if not comes_twice(at):
        return (
            f"The clocks went forward over {at:%H:%M} that day: no clock showed it. "
            "Give a time before or after."
        )
    zone = timezone.get_current_timezone()
    either = (at.replace(tzinfo=zone, fold=fold) for fold in (0, 1))
    once, again = (one.isoformat(timespec="minutes") for one in either)
    return (
        f"The clocks showed {at:%H:%M} twice that day. Write which: {once} for the "
        f"first time, {again} for the second."
    )
