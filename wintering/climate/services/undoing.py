"""Taking back an import as one step."""

import numpy as np
from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils import timezone
from numpy.typing import NDArray

from wintering.climate.models import ConflictDay, LogImport, ReadingDay, Sensor
from wintering.climate.origins import sources_in, unpack_origins
from wintering.climate.services.arrivals import fold_logger
from wintering.climate.services.conflicts import write_conflicts
from wintering.climate.services.held import Held, of_days
from wintering.climate.services.judging import held_around, judge_and_write
from wintering.climate.storage import DAY_S, day_of, start_of, unpack
from wintering.people.models import User
from wintering.people.services import record

Freed = dict[int, NDArray[np.int64]]  # by the sensor's pk, the instants


@transaction.atomic
def undo_import(*, log_import: LogImport, by: User, reason: str) -> int:
    """Take out what an import brought, and bring back what it had pushed aside.

    Its row and its file stay, so that it can be read again. Values of other imports
    that had to give way to it take the places that become free. Returns how many
    readings were taken out.
    """
    freed = take_out_import(log_import=log_import, by=by, reason=reason)
    fill_freed(freed)
    return sum(len(instants) for instants in freed.values())


@transaction.atomic
def take_out_import(*, log_import: LogImport, by: User, reason: str) -> Freed:
    """The first half of undoing, for one that is about to be read again.

    What a keeper had replaced by its values stands again; other places stay free.
    """
    if not by.is_keeper:
        raise ValidationError("Only a keeper takes back an import.")
    if not reason.strip():
        raise ValidationError("Say why, so that it can be understood later.")
    if log_import.logger:
        # What it sent and still waits is taken back with the rest.
        fold_logger(logger=log_import.logger)
    came = LogImport.objects.select_for_update(no_key=True).get(pk=log_import.pk)
    if came.undone_at:
        raise ValidationError("That import is taken back already.")
    if not came.is_traced:
        raise ValidationError(
            "That log came in before readings were traced to their logs: it can't be "
            "taken back."
        )
    freed = {s.pk: _take_out(s, came) for s in _sensors_of(came)}
    _forget_replaced(came)
    came.conflict_days.all().delete()
    came.undone_at, came.undone_by, came.undone_because = timezone.now(), by, reason
    came.full_clean(exclude=["by", "habits", "report"])
    came.save(update_fields=["undone_at", "undone_by", "undone_because"])
    removed = sum(len(instants) for instants in freed.values())
    record(by, "took back", came, file=came.file_name, count=removed, reason=reason)
    log_import.refresh_from_db()
    return freed


@transaction.atomic
def fill_freed(freed: Freed) -> None:
    """The second half: values that wait for a place that is still free take it."""
    sensors = Sensor.objects.filter(pk__in=[pk for pk, at in freed.items() if len(at)])
    for sensor in sensors.order_by("pk").select_for_update(no_key=True):
        old = held_around(sensor, freed[sensor.pk])
        is_free = ~np.isin(freed[sensor.pk], old.readings.seconds)
        waiting = _waiting(sensor, freed[sensor.pk][is_free])
        if len(waiting):
            filled = _filled(old, waiting)
            judge_and_write(sensor, filled, np.unique(waiting.readings.seconds))


def _sensors_of(came: LogImport) -> list[Sensor]:
    """Sensors with readings or conflicts of an import, in the order they are locked."""
    days = ReadingDay.objects.filter(sensor__frame=came.frame_id)
    found = {
        pk
        for pk, origin in days.values_list("sensor_id", "origin").iterator()
        if came.pk in sources_in(origin)
    }
    found |= set(came.conflict_days.values_list("sensor_id", flat=True))
    sensors = Sensor.objects.filter(pk__in=found).order_by("pk")
    return list(sensors.select_for_update(no_key=True))


def _take_out(sensor: Sensor, came: LogImport) -> NDArray[np.int64]:
    """The instants at which the import's readings stood."""
    days = [
        day
        for day, origin in sensor.days.values_list("day", "origin")
        if came.pk in sources_in(origin)
    ]
    if not days:
        return np.empty(0, np.int64)
    edges = [start_of(min(days)), start_of(max(days)) + DAY_S - 1]
    old = held_around(sensor, np.array(edges))
    is_own = old.origins.source == came.pk
    own = old.readings.seconds[is_own]
    left = _filled(old.at(~is_own), _replaced_by(came, sensor))
    judge_and_write(sensor, left, own)
    return own


def _replaced_by(came: LogImport, sensor: Sensor) -> Held:
    """What of other imports a keeper had replaced by this one's values."""
    rows = came.conflict_days.filter(sensor=sensor, took_new=True).order_by("day")
    held = of_days(rows)
    return held.at(held.origins.source != came.pk)


def _forget_replaced(came: LogImport) -> None:
    """What another import had replaced of this one is not to come back with that.

    What this one had replaced before comes back in its stead.
    """
    rows = ConflictDay.objects.filter(sensor__frame=came.frame_id, took_new=True)
    for row in rows.exclude(log_import=came).select_related("sensor"):
        if came.pk not in sources_in(row.origin):
            continue
        held = _held_of(row)
        is_own = held.origins.source == came.pk
        before = _replaced_by(came, row.sensor)
        is_there = np.isin(before.readings.seconds, held.readings.seconds[is_own])
        write_conflicts(row, _filled(held.at(~is_own), before.at(is_there)))


def _waiting(sensor: Sensor, free: NDArray[np.int64]) -> Held:
    """Unsettled values of imports at free instants, the oldest first.

    They leave the conflicts, for they stand alone now.
    """
    if not len(free):
        return Held.joined([])
    days = {day_of(int(day) * DAY_S) for day in np.unique(free // DAY_S)}
    rows = ConflictDay.objects.filter(sensor=sensor, settled_at=None, day__in=days)
    found = []
    for row in rows.order_by("log_import_id", "day"):
        held = _held_of(row)
        is_free = np.isin(held.readings.seconds, free)
        if is_free.any():
            found.append(held.at(is_free))
            write_conflicts(row, held.at(~is_free))
    return Held.joined(found)


def _held_of(row: ConflictDay) -> Held:
    return Held(unpack(row.day, row.packed), unpack_origins(row.origin, row.count))


def _filled(held: Held, more: Held) -> Held:
    """Readings with those of others added where there is none, in order of time."""
    together = Held.joined([held, more])
    first = np.unique(together.readings.seconds, return_index=True)[1]
    return together.at(first.astype(np.int64))
