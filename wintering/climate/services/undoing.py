"""Taking back an import as one step."""

import numpy as np
from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils import timezone
from numpy.typing import NDArray

from wintering.climate.models import ConflictDay, LogImport, ReadingDay, Sensor
from wintering.climate.origins import sources_in
from wintering.climate.services.arrivals import fold_logger
from wintering.climate.services.conflicts import write_conflicts
from wintering.climate.services.held import Held, of_days
from wintering.climate.services.judging import held_around, judge_and_write
from wintering.climate.storage import DAY_S, start_of
from wintering.people.models import User
from wintering.people.services import record


@transaction.atomic
def undo_import(*, log_import: LogImport, by: User, reason: str) -> int:
    """Take out what an import brought, and bring back what it had pushed aside.

    Its row and its file stay, so that it can be read again. Values of other imports
    that had to give way to it take the places that become free. Returns how many
    readings were taken out.
    """
    if not by.is_keeper:
        raise ValidationError("Only a keeper takes back an import.")
    if not reason.strip():
        raise ValidationError("Say why, so that it can be understood later.")
    if log_import.logger:
        # What it sent and still waits is taken back with the rest.
        fold_logger(logger=log_import.logger)
    came = LogImport.objects.select_for_update().get(pk=log_import.pk)
    if came.undone_at:
        raise ValidationError("That import is taken back already.")
    sensors = _sensors_of(came)
    removed = sum(_take_out(sensor, came) for sensor in sensors)
    came.conflict_days.all().delete()
    _forget_replaced(came)
    came.undone_at, came.undone_by, came.undone_because = timezone.now(), by, reason
    came.full_clean(exclude=["by", "habits", "report"])
    came.save(update_fields=["undone_at", "undone_by", "undone_because"])
    record(by, "took back", came, file=came.file_name, count=removed, reason=reason)
    log_import.refresh_from_db()
    return removed


def _sensors_of(came: LogImport) -> list[Sensor]:
    """Sensors with readings or conflicts of an import, in the order they are locked."""
    days = ReadingDay.objects.filter(sensor__frame=came.frame_id)
    found = {
        pk
        for pk, origin in days.values_list("sensor_id", "origin").iterator()
        if came.pk in sources_in(origin)
    }
    found |= set(came.conflict_days.values_list("sensor_id", flat=True))
    return list(Sensor.objects.filter(pk__in=found).order_by("pk").select_for_update())


def _forget_replaced(came: LogImport) -> None:
    """What another import had replaced of this one is not to come back with that."""
    rows = ConflictDay.objects.filter(sensor__frame=came.frame_id, took_new=True)
    for row in rows:
        if came.pk not in sources_in(row.origin):
            continue
        held = of_days(ConflictDay.objects.filter(pk=row.pk))
        write_conflicts(row, held.at(held.origins.source != came.pk))


def _take_out(sensor: Sensor, came: LogImport) -> int:
    days = [
        day
        for day, origin in sensor.days.values_list("day", "origin")
        if came.pk in sources_in(origin)
    ]
    if not days:
        return 0
    edges = [start_of(min(days)), start_of(max(days)) + DAY_S - 1]
    old = held_around(sensor, np.array(edges))
    is_own = old.origins.source == came.pk
    left = old.at(~is_own)
    own = old.readings.seconds[is_own]
    # What a keeper had replaced by this import's values comes back first.
    replaced = came.conflict_days.filter(sensor=sensor, took_new=True)
    left = _filled(left, of_days(replaced.order_by("day")))
    left = _filled(left, _waiting(sensor, came, own))
    judge_and_write(sensor, left, own)
    return len(own)


def _waiting(sensor: Sensor, came: LogImport, free: NDArray[np.int64]) -> Held:
    """Other imports' values at the instants that become free, the oldest first.

    They leave the conflicts, for they stand alone now.
    """
    others = ConflictDay.objects.filter(sensor=sensor).exclude(log_import=came)
    found = []
    for row in others.filter(settled_at=None).order_by("log_import_id", "day"):
        held = of_days(ConflictDay.objects.filter(pk=row.pk))
        is_free = np.isin(held.readings.seconds, free)
        if is_free.any():
            found.append(held.at(is_free))
            write_conflicts(row, held.at(~is_free))
    return Held.joined(found)


def _filled(held: Held, more: Held) -> Held:
    """Readings with those of others added where there is none, in order of time."""
    together = Held.joined([held, more])
    first = np.unique(together.readings.seconds, return_index=True)[1]
    return together.at(first.astype(np.int64))
