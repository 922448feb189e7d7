"""Adding sensors, and merging readings into their days."""

from dataclasses import dataclass
from datetime import UTC, datetime

import numpy as np
from django.core.exceptions import ValidationError
from django.db import transaction
from numpy.typing import NDArray

from wintering.climate.models import ReadingDay, Sensor
from wintering.climate.queries import measured, stored_days
from wintering.climate.storage import DAY_S, Readings, day_of, pack
from wintering.frames.models import Frame, Microclimate
from wintering.people.models import User
from wintering.people.services import record
from wintering.science.series import SPIKE_REACH_S, Quality, judge

# Air cannot hold more than 100 %, but probes in wet air read a little more: own choice.
_DRIEST, _DAMPEST = 0, 105_000


@transaction.atomic
def add_sensor(
    *,
    frame: Frame,
    name: str,
    by: User | None,
    place: str = Sensor.Place.UNKNOWN,
    quantity: str = Sensor.Quantity.TEMPERATURE,
    unit: str = Sensor.Unit.CELSIUS,
    microclimate: Microclimate | None = None,
) -> Sensor:
    """Enter a sensor of a frame."""
    _refuse_foreign(frame, microclimate)
    sensor = Sensor(
        frame=frame,
        name=name,
        place=place,
        quantity=quantity,
        unit=unit,
        microclimate=microclimate,
    )
    sensor.full_clean()
    sensor.save()
    record(by, "added", sensor, name=name, place=place, frame=frame.slug)
    return sensor


@transaction.atomic
def place_sensor(
    *, sensor: Sensor, place: str, microclimate: Microclimate | None, by: User | None
) -> Sensor:
    """Say where a sensor measures; its readings stay as they are."""
    _refuse_foreign(sensor.frame, microclimate)
    if sensor.place == place and sensor.microclimate == microclimate:
        return sensor
    was = {"place": sensor.place, "microclimate": _name(sensor.microclimate)}
    sensor.place, sensor.microclimate = place, microclimate
    sensor.full_clean()
    sensor.save(update_fields=["place", "microclimate"])
    now = {"place": place, "microclimate": _name(microclimate)}
    record(by, "placed", sensor, was=was, now=now)
    return sensor


def _name(microclimate: Microclimate | None) -> str | None:
    return microclimate.name if microclimate else None


def _refuse_foreign(frame: Frame, microclimate: Microclimate | None) -> None:
    if microclimate and microclimate.frame_id != frame.pk:
        raise ValidationError(
            f"{microclimate.name} is not part of {frame.name}; choose one that is."
        )


@dataclass(frozen=True, slots=True)
class Conflict:
    """Another value at an instant that already has one; the stored one stays."""

    index: int  # into the readings as they were given
    stored: int  # thousandths of the sensor's unit
    new: int


@dataclass(frozen=True, eq=False)
class Stored:
    """What became of readings, in the order in which they were given."""

    added: int
    unchanged: int
    marked: int  # of those added: kept, but set aside by a check
    conflicts: tuple[Conflict, ...]
    stands: NDArray[np.bool_]  # the reading is in the database with this value
    quality: NDArray[np.uint8]  # of what stands at the reading's instant


@transaction.atomic
def store_readings(
    *, sensor: Sensor, seconds: NDArray[np.int64], thousandths: NDArray[np.int32]
) -> Stored:
    """Merge readings into the sensor's days by their instant.

    seconds      UTC, since 1970, in any order; the first of several at one instant is
                 stored
    thousandths  of the sensor's own unit

    Merging the same readings again changes nothing. The sensor's row is held, so that
    two people cannot merge into the same day at once.
    """
    if not len(seconds):
        nothing = np.empty(0, np.uint8)
        return Stored(0, 0, 0, (), nothing.astype(bool), nothing)
    Sensor.objects.select_for_update().get(pk=sensor.pk)
    around = DAY_S  # neighbours just across midnight take part in judging
    old = Readings.joined(
        stored_days(
            [sensor],
            day_of(int(seconds.min()) - around),
            day_of(int(seconds.max()) + around),
            lock=True,
        )[sensor.pk]
    )
    fresh = _first_at_new_instants(old, seconds)
    added = Readings(seconds[fresh], thousandths[fresh], np.zeros(len(fresh), np.uint8))
    merged, is_added, is_changed = _merged(sensor, old, added)
    if len(fresh):
        _write_days(sensor, merged, is_added | is_changed)
    return _told(seconds, thousandths, fresh, merged)


def _first_at_new_instants(
    old: Readings, seconds: NDArray[np.int64]
) -> NDArray[np.int64]:
    """Indices of the readings to add, in order of time."""
    instants, first = np.unique(seconds, return_index=True)
    is_new = np.isin(instants, old.seconds, assume_unique=True, invert=True)
    return first[is_new].astype(np.int64)


def _merged(
    sensor: Sensor, old: Readings, added: Readings
) -> tuple[Readings, NDArray[np.bool_], NDArray[np.bool_]]:
    """Old and added together, judged; which were added, whose verdict changed."""
    together = Readings.joined([old, added])
    order = np.argsort(together.seconds, kind="stable")
    is_added = (np.arange(len(together)) >= len(old))[order]
    together = together.at(order)
    verdict = _judged(sensor, together)
    # Judged again is only what an added reading stands close to: further out the
    # surroundings needed for a verdict may not have been loaded.
    near = _distance_s(together.seconds, added.seconds) <= SPIKE_REACH_S
    quality = np.where(near, verdict, together.quality)
    is_changed = quality != together.quality
    merged = Readings(together.seconds, together.thousandths, quality)
    return merged, is_added, is_changed


def _judged(sensor: Sensor, readings: Readings) -> NDArray[np.uint8]:
    if sensor.quantity == Sensor.Quantity.TEMPERATURE:
        return judge(readings.seconds, measured(sensor, readings.thousandths))
    beyond = (readings.thousandths < _DRIEST) | (readings.thousandths > _DAMPEST)
    return np.where(beyond, Quality.OUT_OF_RANGE, Quality.GOOD).astype(np.uint8)


def _distance_s(
    seconds: NDArray[np.int64], marks: NDArray[np.int64]
) -> NDArray[np.float64]:
    """How far each instant lies from the nearest mark; both are in order."""
    if not len(marks):
        return np.full(len(seconds), np.inf)
    after = np.searchsorted(marks, seconds)
    later = marks[np.minimum(after, len(marks) - 1)]
    earlier = marks[np.maximum(after - 1, 0)]
    return np.minimum(np.abs(later - seconds), np.abs(seconds - earlier)).astype(float)


def _write_days(
    sensor: Sensor, merged: Readings, is_touched: NDArray[np.bool_]
) -> None:
    of_day = merged.seconds // DAY_S
    touched = np.unique(of_day[is_touched])
    starts = np.searchsorted(of_day, touched)
    ends = np.searchsorted(of_day, touched, side="right")
    rows = [
        _day_row(sensor, merged.at(slice(int(a), int(b))))
        for a, b in zip(starts, ends, strict=True)
    ]
    ReadingDay.objects.bulk_create(
        rows,
        update_conflicts=True,
        unique_fields=["sensor", "day"],
        update_fields=[
            "count",
            "marked",
            "low",
            "high",
            "first_at",
            "last_at",
            "packed",
        ],
    )


def _day_row(sensor: Sensor, readings: Readings) -> ReadingDay:
    counted = readings.counted.thousandths
    day = day_of(int(readings.seconds[0]))
    return ReadingDay(
        sensor=sensor,
        day=day,
        count=len(readings),
        marked=len(readings) - len(counted),
        low=int(counted.min()) if len(counted) else None,
        high=int(counted.max()) if len(counted) else None,
        first_at=datetime.fromtimestamp(int(readings.seconds[0]), UTC),
        last_at=datetime.fromtimestamp(int(readings.seconds[-1]), UTC),
        packed=pack(day, readings),
    )


def _told(
    seconds: NDArray[np.int64],
    thousandths: NDArray[np.int32],
    fresh: NDArray[np.int64],
    merged: Readings,
) -> Stored:
    where = np.searchsorted(merged.seconds, seconds)
    stored, quality = merged.thousandths[where], merged.quality[where]
    stands = stored == thousandths
    conflicts = tuple(
        Conflict(int(i), int(stored[i]), int(thousandths[i]))
        for i in np.flatnonzero(~stands)
    )
    return Stored(
        added=len(fresh),
        unchanged=int(stands.sum()) - len(fresh),
        marked=int(np.sum(quality[fresh] != Quality.GOOD)),
        conflicts=conflicts,
        stands=stands,
        quality=quality,
    )
