"""Merging readings into their days."""

from dataclasses import dataclass

import numpy as np
from django.db import transaction
from numpy.typing import NDArray

from wintering.climate.models import LogImport, Sensor
from wintering.climate.origins import Origins
from wintering.climate.services.conflicts import keep_conflicts
from wintering.climate.services.held import Held
from wintering.climate.services.judging import held_around, judge_and_write
from wintering.climate.storage import Readings
from wintering.science.screening import Quality


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
    conflict_at: NDArray[np.int64]  # indices of those that differ from what is stored
    stored: NDArray[np.int32]  # what stands at each reading's instant
    new: NDArray[np.int32]  # as they were given
    quality: NDArray[np.uint8]  # of what stands at each reading's instant

    @property
    def stands(self) -> NDArray[np.bool_]:
        """Whether the reading is in the database with this value."""
        return self.stored == self.new

    @property
    def conflict_count(self) -> int:
        return len(self.conflict_at)

    @property
    def conflicts(self) -> tuple[Conflict, ...]:
        return self.first_conflicts(self.conflict_count)

    def first_conflicts(self, count: int) -> tuple[Conflict, ...]:
        return tuple(
            Conflict(int(i), int(self.stored[i]), int(self.new[i]))
            for i in self.conflict_at[:count]
        )


@transaction.atomic
def store_readings(
    *,
    sensor: Sensor,
    seconds: NDArray[np.int64],
    thousandths: NDArray[np.int32],
    origin: LogImport,
    rows: NDArray[np.int32] | NDArray[np.int64],
) -> Stored:
    """Merge readings into the sensor's days by their instant.

    seconds      UTC, since 1970, in any order; the first of several at one instant is
                 stored
    thousandths  of the sensor's own unit
    origin, rows the import that brings them, and the row of each in it

    Merging the same readings again changes nothing. Another value at an instant is
    kept beside the stored one, as a conflict of this import. The sensor's row is held,
    so that two people cannot merge into the same day at once.
    """
    if not len(seconds):
        none, nothing = np.empty(0, np.int32), np.empty(0, np.int64)
        return Stored(0, 0, 0, nothing, none, none, none.astype(np.uint8))
    # Without its key, which rows that speak of the sensor may need meanwhile.
    Sensor.objects.select_for_update(no_key=True).get(pk=sensor.pk)
    old = held_around(sensor, seconds)
    fresh = _first_at_new_instants(old.readings, seconds)
    added = Held(
        Readings(seconds[fresh], thousandths[fresh], np.zeros(len(fresh), np.uint8)),
        Origins.of(origin.pk, rows[fresh]),
    )
    merged = _merged(sensor, old, added) if len(fresh) else old
    told = _told(seconds, thousandths, fresh, merged.readings)
    differ = told.conflict_at
    if len(differ):
        rivals = Readings(seconds[differ], thousandths[differ], told.quality[differ])
        rows_of = Origins.of(origin.pk, rows[differ])
        keep_conflicts(sensor, origin, Held(rivals, rows_of))
    return told


def _merged(sensor: Sensor, old: Held, added: Held) -> Held:
    together = Held.joined([old, added])
    order = np.argsort(together.readings.seconds, kind="stable")
    return judge_and_write(sensor, together.at(order), added.readings.seconds)


def _first_at_new_instants(
    old: Readings, seconds: NDArray[np.int64]
) -> NDArray[np.int64]:
    """Indices of the readings to add, in order of time."""
    if len(seconds) and np.all(np.diff(seconds) > 0):
        instants, first = seconds, np.arange(len(seconds))
    else:
        instants, first = np.unique(seconds, return_index=True)
    is_new = ~_is_among(instants, old.seconds)
    return first[is_new].astype(np.int64)


def _is_among(
    instants: NDArray[np.int64], ordered: NDArray[np.int64]
) -> NDArray[np.bool_]:
    if not len(ordered):
        return np.zeros(len(instants), bool)
    at = np.minimum(np.searchsorted(ordered, instants), len(ordered) - 1)
    return ordered[at] == instants


def _told(
    seconds: NDArray[np.int64],
    thousandths: NDArray[np.int32],
    fresh: NDArray[np.int64],
    merged: Readings,
) -> Stored:
    where = np.searchsorted(merged.seconds, seconds)
    stored, quality = merged.thousandths[where], merged.quality[where]
    differs = stored != thousandths
    return Stored(
        added=len(fresh),
        unchanged=len(seconds) - int(differs.sum()) - len(fresh),
        marked=int(np.sum(quality[fresh] != Quality.GOOD)),
        conflict_at=np.flatnonzero(differs),
        stored=stored,
        new=thousandths,
        quality=quality,
    )
