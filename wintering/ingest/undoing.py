"""Taking an import back, and reading its file again with other settings."""

from collections.abc import Callable, Sequence
from typing import Any, BinaryIO

import numpy as np
from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils import timezone

from wintering.climate.models import LogImport, Sensor
from wintering.climate.services import fill_freed, take_out_import, undo_import
from wintering.climate.storage import unpack_days
from wintering.forecast.services import judge_frame
from wintering.frames.models import Frame
from wintering.ingest.channels import Channel, channels_of
from wintering.ingest.dates import Order
from wintering.ingest.gathering import Gathering
from wintering.ingest.headings import Unit
from wintering.ingest.intake import answers_for, import_log, open_log
from wintering.ingest.kept import kept_copy
from wintering.ingest.opening import Part
from wintering.ingest.placing import Pass
from wintering.ingest.refusals import LogRefused
from wintering.ingest.report import ImportReport
from wintering.people.models import User

SETTINGS = ("zone", "date_order", "unit", "repeated_hour")


def take_back(*, log_import: LogImport, by: User, reason: str) -> int:
    """Take an import back; returns how many readings were taken out.

    What other files held as well, and so was no news when they came, is read from
    their kept copies and stands as theirs.
    """
    with transaction.atomic():
        _hold(log_import.frame)
        removed = undo_import(log_import=log_import, by=by, reason=reason)
        for other in readers_after(log_import):
            _bring_again(other)
    judge_frame(frame=log_import.frame, at=timezone.now())
    return removed


def read_again(
    *,
    log_import: LogImport,
    by: User,
    mapping: Sequence[Channel],
    zone: str | None = None,
    date_order: Order | None = None,
    unit: Unit | None = None,
    repeated_hour: Pass | None = None,
) -> tuple[LogImport | None, ImportReport]:
    """Take an import back, if it is in, and bring its file in anew.

    All of it or nothing: where the new reading is refused, the old one stands. Returns
    the new import, None where it brought nothing that another did not.
    """
    if not by.is_keeper:
        raise ValidationError("Only a keeper reads a log again.")
    with transaction.atomic(), kept_copy(log_import) as file:
        _hold(log_import.frame)
        log_import.refresh_from_db()
        was_in = log_import.undone_at is None
        if was_in:
            reason = "Read again with other settings."
            freed = take_out_import(log_import=log_import, by=by, reason=reason)
        newest = _newest_pk()
        report = import_log(
            file=file,
            file_name=log_import.file_name,
            frame=log_import.frame,
            by=by,
            mapping=mapping,
            zone=zone,
            date_order=date_order,
            unit=unit,
            repeated_hour=repeated_hour,
        )
        came = LogImport.objects.filter(
            pk__gt=newest, frame=log_import.frame, sha256=log_import.sha256
        ).first()
        if was_in:
            # The new reading came first: where the others differ, it stands.
            fill_freed(freed)
            for other in readers_after(log_import):
                if other != came:
                    _bring_again(other)
    judge_frame(frame=log_import.frame, at=timezone.now())
    return came, report


def readers_after(log_import: LogImport) -> list[LogImport]:
    """Files that are in and held readings that were in already, the oldest first.

    Some of those may have been this import's; then they stand as its own alone. One
    that came earlier counts too: it may have been read again since.
    """
    others = LogImport.objects.filter(
        frame=log_import.frame_id, kind=LogImport.Kind.FILE, undone_at=None
    ).exclude(pk=log_import.pk)
    mine = _sensors_of(log_import)
    return [
        other
        for other in others.order_by("pk")
        if _held_more(other) and _share(mine, _sensors_of(other))
    ]


def senders_after(log_import: LogImport) -> list[LogImport]:
    """Loggers' days that may have sent some of the same readings: these can't be read
    again, for no file was kept."""
    days = LogImport.objects.filter(
        frame=log_import.frame_id, undone_at=None, at__gte=log_import.at
    ).exclude(kind=LogImport.Kind.FILE)
    return list(days.exclude(pk=log_import.pk).order_by("at", "pk"))


def _sensors_of(log_import: LogImport) -> set[int] | None:
    """Keys of the sensors that an import is about; None where that is not known."""
    keys = log_import.habits.get("sensors")
    if keys:
        return set(keys.values())
    # Imported when keys were not kept yet.
    names = set(log_import.report.get("sensors", {}))
    known = dict(
        Sensor.objects.filter(frame=log_import.frame_id).values_list("name", "pk")
    )
    return {known[name] for name in names} if names and names <= set(known) else None


def _share(some: set[int] | None, others: set[int] | None) -> bool:
    """Whether two imports may be about the same sensor: unknown counts as yes."""
    return some is None or others is None or bool(some & others)


def _held_more(other: LogImport) -> bool:
    """Whether not all it held was added: unknown counts as yes."""
    report = other.report
    return bool(
        "added" not in report
        or report.get("unchanged", 0)
        or report.get("conflicts_count", 0)
    )


def settings_of(habits: dict[str, Any]) -> dict[str, Any]:
    """How a file was read, as what `import_log` is given."""
    return {name: habits.get(name) or None for name in SETTINGS}


def mapping_of(habits: dict[str, Any]) -> list[Channel] | None:
    """Which columns were taken; None where each became a sensor of its own name."""
    columns = habits.get("columns") or {}
    return [Channel(column, **told) for column, told in columns.items()] or None


def _bring_again(other: LogImport) -> None:
    """What a file holds, once more under its own import; the row stays as it is."""
    habits = other.habits
    try:
        with kept_copy(other) as file:
            _store_again(other, file, habits)
    except LogRefused as refusal:
        raise ValidationError(
            f"{other.file_name} held some of these readings too and can't be read "
            f"again: {refusal} Take that import back first."
        ) from refusal


def _store_again(other: LogImport, file: BinaryIO, habits: dict[str, Any]) -> None:
    mapping = mapping_of(habits)
    answers = answers_for(None, **settings_of(habits))
    log = open_log(file, other.file_name, answers, mapping)
    taken = [
        (_sensor(other, channel), unit.unit)
        for _, unit, channel in channels_of(log, mapping)
    ]
    gathering = Gathering(taken, other)
    stays_out = [_settled_against(other, sensor) for sensor, _ in taken]
    for part in log.parts():
        left = stays_out[part.which](part)
        if len(left.seconds):
            gathering.add(left)
    gathering.finish()


def _sensor(other: LogImport, channel: Channel) -> Sensor:
    pk = other.habits.get("sensors", {}).get(channel.column)
    asked = {"pk": pk} if pk else {"name": channel.sensor}
    sensor = other.frame.sensors.filter(**asked).first()
    if sensor is None:
        raise LogRefused(f"it went into sensor {channel.sensor}, which is not there.")
    return sensor


def _settled_against(other: LogImport, sensor: Sensor) -> Callable[[Part], Part]:
    """Leaves out what a keeper once chose to set aside of a file."""
    rows = other.conflict_days.filter(sensor=sensor, took_new=False).order_by("day")
    refused = unpack_days(list(rows.values_list("day", "packed"))).seconds

    def left(part: Part) -> Part:
        stays = ~np.isin(part.seconds, refused)
        return Part(
            part.which, part.seconds[stays], part.thousandths[stays], part.row[stays]
        )

    return left if len(refused) else lambda part: part


def _hold(frame: Frame) -> None:
    """One after the other, as imports come in."""
    frame.refresh_from_db(from_queryset=Frame.objects.select_for_update(no_key=True))


def _newest_pk() -> int:
    newest = LogImport.objects.order_by("-pk").values_list("pk", flat=True).first()
    return newest or 0
