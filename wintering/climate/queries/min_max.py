"""What min/max thermometers showed when a person read them, and since when."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta

from django.db.models import QuerySet

from wintering.climate.models import MinMaxEntry, Sensor
from wintering.climate.queries.readings import latest
from wintering.climate.queries.sensors import sensors_for
from wintering.frames.models import Frame
from wintering.people.models import User
from wintering.science.by_hand import OTHER_UNIT, is_far, is_other_unit_likely
from wintering.science.units import TemperatureUnit

BESIDE_WITHIN = timedelta(hours=2)
"""A logger's reading older than this says nothing of now: own choice."""

PUT_AWAY_AFTER = timedelta(days=30)
"""A thermometer not read for so long is taken to be put away: own choice."""


@dataclass(frozen=True, slots=True)
class HandReading:
    """One entry in °C, and from when on its lowest and highest may be.

    since        when it was last reset before; None where that is not known
    reset_after  nobody said so, but it was reset at some time after `since`: its
                 lowest or highest had gone back
    last         the reading before
    """

    entry: MinMaxEntry
    since: datetime | None
    reset_after: bool
    last: MinMaxEntry | None

    @property
    def low_c(self) -> float:
        return in_c(self.entry.low, self.entry.unit)

    @property
    def high_c(self) -> float:
        return in_c(self.entry.high, self.entry.unit)

    @property
    def now_c(self) -> float | None:
        return None if self.entry.now is None else in_c(self.entry.now, self.entry.unit)

    @property
    def not_reset_at(self) -> datetime | None:
        """The reading before, where its extremes may have been carried over."""
        if self.last is None or self.reset_after or self.last.was_reset:
            return None
        return self.last.read_at


def in_c(thousandths: int, unit: str) -> float:
    return round(float(TemperatureUnit(unit).to_c(thousandths / 1000)), 6)


def thermometers_for(user: User) -> QuerySet[Sensor]:
    """The thermometers that people read here."""
    return sensors_for(user).filter(is_min_max=True)


def min_max_entries_for(user: User) -> QuerySet[MinMaxEntry]:
    """Those who work here see what was read; clients see none."""
    if not user.is_staffing:
        return MinMaxEntry.objects.none()
    return MinMaxEntry.objects.select_related("sensor__frame", "by")


def min_max_entries(
    sensor: Sensor, start: datetime | None = None, end: datetime | None = None
) -> list[HandReading]:
    """What was read of a thermometer, in order of time; without what was taken back."""
    told = hand_readings(
        sensor.min_max_entries.filter(withdrawn_at=None).select_related("by")
    )
    return [
        one
        for one in told
        if (start is None or one.entry.read_at >= start)
        and (end is None or one.entry.read_at < end)
    ]


def last_by_hand(
    sensors: Iterable[Sensor], at: datetime, *, put_away_too: bool = False
) -> dict[int, HandReading]:
    """What was last read of each thermometer up to an instant, by its pk.

    One statement; a thermometer that was never read has no entry, nor one that is taken
    to be put away, unless these are asked for too.
    """
    found: dict[int, list[MinMaxEntry]] = {}
    entries = MinMaxEntry.objects.filter(
        sensor__in=list(sensors), withdrawn_at=None, read_at__lte=at
    )
    for entry in entries.select_related("by", "sensor").order_by("sensor", "read_at"):
        found.setdefault(entry.sensor_id, []).append(entry)
    return {
        pk: hand_readings(several)[-1]
        for pk, several in found.items()
        if put_away_too or at - several[-1].read_at <= PUT_AWAY_AFTER
    }


def roots_by_hand(frame: Frame, at: datetime) -> dict[int, HandReading]:
    """The coldest last reading in the root zone of each microclimate, by its pk."""
    thermometers = frame.sensors.filter(
        is_min_max=True, place=Sensor.Place.ROOT, microclimate__isnull=False
    )
    found: dict[int, HandReading] = {}
    for told in last_by_hand(thermometers, at).values():
        part_id = told.entry.sensor.microclimate_id
        if part_id not in found or told.low_c < found[part_id].low_c:
            found[part_id] = told
    return found


@dataclass(frozen=True, slots=True)
class Beside:
    """What a reading can be held against: a logger near it, or the reading before."""

    value_c: float
    at: datetime
    sensor: Sensor | None  # None: the thermometer's own reading before
    is_at_same_place: bool


@dataclass(frozen=True, slots=True)
class Question:
    """Something to look at again before a reading is kept.

    other_unit  set where the number may have been meant in that unit
    """

    which: str
    value: float
    unit: str
    value_c: float
    other_unit: str
    beside: Beside | None


def beside(sensor: Sensor, at: datetime) -> Beside | None:
    """The nearest thing known of a thermometer's place at an instant.

    A logger at the same place of the same microclimate; else another one of the same
    frame that measures at the same kind of place; else what was read before.
    """
    near = sensor.frame.sensors.filter(
        place=sensor.place, quantity=Sensor.Quantity.TEMPERATURE, is_min_max=False
    ).order_by("name")
    loggers = sorted(
        near, key=lambda one: one.microclimate_id != sensor.microclimate_id
    )
    read = latest(loggers, at)
    for logger in loggers:
        found = read.get(logger.pk)
        if found and found.age <= BESIDE_WITHIN:
            same = sensor.microclimate_id is not None and (
                logger.microclimate_id == sensor.microclimate_id
            )
            return Beside(found.value, found.at, logger, same)
    last = (
        sensor.min_max_entries.filter(withdrawn_at=None, read_at__lt=at)
        .exclude(now=None)
        .order_by("-read_at")
        .first()
    )
    if last is None or at - last.read_at > PUT_AWAY_AFTER:
        return None
    assert last.now is not None, "filtered"
    return Beside(in_c(last.now, last.unit), last.read_at, None, False)


def questions(
    sensor: Sensor, at: datetime, unit: str, *, now: float | None, low: float
) -> list[Question]:
    """What to ask before a reading is kept; most often nothing.

    A whole reading is in one unit, so one of its numbers tells: what it shows now, else
    the lowest. How far it is from the logger beside it is asked of what both show now;
    extremes may be older.
    """
    near, in_unit = beside(sensor, at), TemperatureUnit(unit)
    which, value = ("now", now) if now is not None else ("lowest", low)
    value_c = float(in_unit.to_c(value))
    if is_other_unit_likely(value, in_unit, near.value_c if near else None):
        other = OTHER_UNIT[in_unit].value
        return [Question(which, value, unit, value_c, other, near)]
    if now is None or near is None or not near.is_at_same_place:
        return []
    if not is_far(value_c, near.value_c):
        return []
    return [Question(which, value, unit, value_c, "", near)]


def hand_readings(entries: Iterable[MinMaxEntry]) -> list[HandReading]:
    """Entries of one thermometer in order of time, each with what came before."""
    found: list[HandReading] = []
    reset_at: datetime | None = None
    last: MinMaxEntry | None = None
    for entry in entries:
        went_back = last is not None and not last.was_reset and _went_back(last, entry)
        if went_back:
            assert last is not None, "something went back"
            reset_at = last.read_at
        found.append(HandReading(entry, reset_at, went_back, last))
        if entry.was_reset:
            reset_at = entry.read_at
        last = entry
    return found


def _went_back(last: MinMaxEntry, entry: MinMaxEntry) -> bool:
    """A lowest never rises, and a highest never falls, but by a reset."""
    return in_c(entry.low, entry.unit) > in_c(last.low, last.unit) or in_c(
        entry.high, entry.unit
    ) < in_c(last.high, last.unit)
