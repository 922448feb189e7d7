"""Values that differ from what is stored: both kept, until a keeper chooses."""

import numpy as np
from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils import timezone
from numpy.typing import NDArray

from wintering.climate.models import ConflictDay, LogImport, Sensor
from wintering.climate.origins import pack_origins
from wintering.climate.services.held import Held, by_day, of_days
from wintering.climate.services.judging import held_around, judge_and_write
from wintering.climate.storage import DAY_S, day_of, pack
from wintering.people.models import User
from wintering.people.services import record


def keep_conflicts(sensor: Sensor, origin: LogImport, rivals: Held) -> None:
    """Keep values of an import that differ from the stored ones, packed by their day.

    One value is kept an instant and import, and one that another import brought before
    is not kept twice: what a keeper settled stays settled.
    """
    rivals = rivals.at(_first_of_each(rivals.readings.seconds))
    days = np.unique(rivals.readings.seconds // DAY_S)
    known = sensor.conflict_days.filter(
        day__gte=day_of(int(days[0]) * DAY_S), day__lte=day_of(int(days[-1]) * DAY_S)
    )
    rivals = rivals.at(~_is_known(rivals, of_days(known.order_by("day"))))
    if not len(rivals):
        return
    # What is settled stays as it was settled: what comes now is asked about anew.
    open_rows = known.filter(log_import=origin, settled_at=None)
    together = Held.joined([of_days(open_rows.order_by("day")), rivals])
    together = together.at(_first_of_each(together.readings.seconds))
    touched = np.unique(rivals.readings.seconds // DAY_S)
    open_rows.filter(day__in=[day_of(int(day) * DAY_S) for day in touched]).delete()
    ConflictDay.objects.bulk_create(
        _conflict_row(sensor, origin, part) for _, part in by_day(together, touched)
    )


@transaction.atomic
def settle_conflicts(
    *, log_import: LogImport, sensor: Sensor, take_new: bool, reason: str, by: User
) -> int:
    """Choose for a sensor between the stored values and an import's own.

    Taking the new ones makes the two change places: the import then keeps the others.
    Returns how many readings this was about.
    """
    if not by.is_keeper:
        raise ValidationError("Only a keeper chooses between two values.")
    if not reason.strip():
        raise ValidationError("Say why, so that it can be understood later.")
    Sensor.objects.select_for_update(no_key=True).get(pk=sensor.pk)
    days = log_import.conflict_days.filter(sensor=sensor, settled_at=None)
    count = sum(days.values_list("count", flat=True))
    if not count:
        raise ValidationError("Nothing is left to choose here.")
    if take_new:
        _change_places(sensor, log_import)
    days.update(
        settled_at=timezone.now(), settled_by=by, took_new=take_new, reason=reason
    )
    verb = "replaced" if take_new else "kept"
    record(by, verb, log_import, sensor=sensor.name, count=count, reason=reason)
    return count


def _change_places(sensor: Sensor, log_import: LogImport) -> None:
    """Unsettled values of an import into the sensor's days, the stored ones out."""
    days = log_import.conflict_days.filter(sensor=sensor, settled_at=None)
    new = of_days(days.order_by("day"))
    old = held_around(sensor, new.readings.seconds)
    # A stored one may be gone meanwhile; then the new one takes the free place.
    is_replaced = np.isin(old.readings.seconds, new.readings.seconds)
    held = Held.joined([old.at(~is_replaced), new])
    held = held.at(np.argsort(held.readings.seconds, kind="stable"))
    judge_and_write(sensor, held, new.readings.seconds)
    given, touched = old.at(is_replaced), np.unique(new.readings.seconds // DAY_S)
    for day, part in by_day(given, touched):
        write_conflicts(days.get(day=day_of(day * DAY_S)), part)


def write_conflicts(row: ConflictDay, held: Held) -> None:
    """Let a row hold these values; without any it goes."""
    if not len(held):
        row.delete()
        return
    row.count, row.packed = len(held), pack(row.day, held.readings)
    row.origin = pack_origins(held.origins)
    row.save(update_fields=["count", "packed", "origin"])


def _first_of_each(seconds: NDArray[np.int64]) -> NDArray[np.int64]:
    """Indices of the first reading at each instant, in order of time."""
    return np.unique(seconds, return_index=True)[1].astype(np.int64)


def _is_known(rivals: Held, known: Held) -> NDArray[np.bool_]:
    """Which instants and values are among the known ones."""
    there = known.readings.seconds * 2**32 + known.readings.thousandths
    asked = rivals.readings.seconds * 2**32 + rivals.readings.thousandths
    return np.isin(asked, there)


def _conflict_row(sensor: Sensor, origin: LogImport, held: Held) -> ConflictDay:
    day = day_of(int(held.readings.seconds[0]))
    return ConflictDay(
        log_import=origin,
        sensor=sensor,
        day=day,
        count=len(held),
        packed=pack(day, held.readings),
        origin=pack_origins(held.origins),
    )
