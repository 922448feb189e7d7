"""What a person reads off a min/max thermometer."""

from datetime import datetime, timedelta
from decimal import Decimal
from uuid import UUID

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils import timezone
from django.utils.formats import date_format

from wintering.climate.models import MinMaxEntry, Sensor
from wintering.climate.queries.min_max import Question, in_c, questions
from wintering.people.models import User
from wintering.people.services import record
from wintering.science.screening import HIGHEST_C, LOWEST_C
from wintering.science.units import TemperatureUnit

LONG_AGO = timedelta(days=366)
"""Of a reading so far back it is asked whether its year is meant: own choice."""

FIRST_YEAR = 1970  # from which on readings are counted


class LookAgain(ValidationError):
    """Something to look at before it is kept; the same again, surely, is kept."""

    def __init__(self, asked: list[Question], *, is_long_ago: bool) -> None:
        super().__init__("Look at the thermometer again before this is kept.")
        self.asked, self.is_long_ago = asked, is_long_ago


class SavedBefore(ValidationError):
    """The same form was sent before, with other values."""


@transaction.atomic
def record_min_max(
    *,
    sensor: Sensor,
    low: Decimal,
    high: Decimal,
    now: Decimal | None,
    unit: str,
    read_at: datetime,
    was_reset: bool | None,
    entry_id: UUID,
    by: User,
    note: str = "",
    is_sure: bool = False,
) -> MinMaxEntry:
    """Keep what a thermometer showed, in the unit in which it was read.

    entry_id  drawn by the form: the same entry sent twice is kept once
    is_sure   the person has looked again at what was asked
    """
    Sensor.objects.select_for_update().get(pk=sensor.pk)
    entry = MinMaxEntry(
        sensor=sensor,
        read_at=read_at.replace(microsecond=0),
        low=_thousandths(low),
        high=_thousandths(high),
        now=None if now is None else _thousandths(now),
        unit=unit,
        was_reset=was_reset,
        note=note,
        recorded_at=timezone.now(),
        by=by,
        entry_id=entry_id,
    )
    known = MinMaxEntry.objects.filter(entry_id=entry_id).first()
    return _same(known, entry) if known else _kept(entry, is_sure)


def _kept(entry: MinMaxEntry, is_sure: bool) -> MinMaxEntry:
    _refuse(entry)
    # Whether it was reset may be unknown: None is an answer.
    entry.full_clean(exclude=["was_reset"])
    asked = questions(
        entry.sensor,
        entry.read_at,
        entry.unit,
        now=None if entry.now is None else entry.now / 1000,
        low=entry.low / 1000,
    )
    is_long_ago = entry.recorded_at - entry.read_at > LONG_AGO
    if (asked or is_long_ago) and not is_sure:
        raise LookAgain(asked, is_long_ago=is_long_ago)
    entry.save()
    told = {"low": entry.low, "high": entry.high, "now": entry.now}
    record(entry.by, "read", entry.sensor, at=entry.read_at, unit=entry.unit, **told)
    return entry


@transaction.atomic
def withdraw_min_max(*, entry: MinMaxEntry, by: User) -> MinMaxEntry:
    """Take a wrong entry back: it counts no more and stays on record."""
    held = MinMaxEntry.objects.select_for_update().get(pk=entry.pk)
    if held.withdrawn_at:
        raise ValidationError("That reading was taken back before.")
    held.withdrawn_at = timezone.now()
    held.full_clean(exclude=["was_reset"])
    held.save(update_fields=["withdrawn_at"])
    record(by, "took back a reading of", held.sensor, read_at=held.read_at)
    return held


def _thousandths(value: Decimal) -> int:
    return int((value * 1000).to_integral_value())


def _refuse(entry: MinMaxEntry) -> None:
    if not entry.sensor.is_min_max:
        raise ValidationError("This sensor sends its readings by itself.")
    if entry.unit not in {Sensor.Unit.CELSIUS, Sensor.Unit.FAHRENHEIT}:
        raise ValidationError("A thermometer shows °C or °F.")
    if entry.read_at > timezone.now():
        raise ValidationError("That lies ahead: write down what has happened.")
    if entry.read_at.year < FIRST_YEAR:
        raise ValidationError(f"That lies before {FIRST_YEAR}: look at the year again.")
    _refuse_second(entry)
    lowest, highest = in_c(entry.low, entry.unit), in_c(entry.high, entry.unit)
    if lowest < LOWEST_C or highest > HIGHEST_C:
        raise ValidationError(
            f"No frame reaches that: it lies outside {_reached(entry)}. Look at the "
            "numbers again."
        )


def _refuse_second(entry: MinMaxEntry) -> None:
    standing = entry.sensor.min_max_entries.filter(withdrawn_at=None)
    if standing.filter(read_at=entry.read_at).exists():
        when = date_format(timezone.localtime(entry.read_at), "D j M Y, H:i")
        raise ValidationError(
            f"Another reading of {when} stands: take it back first, or give another "
            "time."
        )


def _reached(entry: MinMaxEntry) -> str:
    """In the unit that was read: '−60 to 70 °C'."""
    unit = TemperatureUnit(entry.unit)
    ends = (f"{unit.from_c(end):.0f}" for end in (LOWEST_C, HIGHEST_C))
    words = " to ".join(ends).replace("-", "\N{MINUS SIGN}")
    return f"{words} {Sensor.Unit(entry.unit).label}"


def _same(known: MinMaxEntry, entry: MinMaxEntry) -> MinMaxEntry:
    fields = ("sensor_id", "low", "high", "now", "was_reset", "note")
    if all(getattr(known, name) == getattr(entry, name) for name in fields):
        return known
    raise SavedBefore(
        f"This form was saved before, at {timezone.localtime(known.recorded_at):%H:%M},"
        " with other values, and that reading stands. Save again to record what is "
        "written here as another reading."
    )
