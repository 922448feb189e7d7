"""A log file into a frame's sensors: all of it or nothing, and safe to repeat."""

import logging
from collections.abc import Sequence
from datetime import datetime, timedelta
from typing import BinaryIO

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils import timezone

from wintering.climate.models import LogImport, Sensor
from wintering.climate.services import begin_import
from wintering.frames.models import Frame
from wintering.ingest.channels import Channel, channels_of, check_mapping, sensor_for
from wintering.ingest.dates import Order
from wintering.ingest.gathering import Gathering
from wintering.ingest.headings import OFFERED, Unit
from wintering.ingest.keeping import keeping
from wintering.ingest.opening import Answers, OpenLog
from wintering.ingest.opening import open_log as opened_with
from wintering.ingest.placing import Pass
from wintering.ingest.report import ImportReport, RejectedRow, SensorReport
from wintering.people.models import User
from wintering.people.services import record
from wintering.science.clock_doubts import AHEAD_S

logger = logging.getLogger(__name__)

# Of a file's habits, what the next file of a frame is likely to share.
REMEMBERED = ("zone", "date_order", "columns")
_WAYS_KEPT = 20  # ways of writing whose date order is known; more loggers in one frame
# than anybody has: own choice


def import_log(
    *,
    file: BinaryIO,
    file_name: str,
    frame: Frame,
    by: User | None,
    mapping: Sequence[Channel] | None = None,
    zone: str | None = None,
    date_order: Order | None = None,
    unit: Unit | None = None,
    repeated_hour: Pass | None = None,
    dry_run: bool = False,
) -> ImportReport:
    """Bring a log into a frame.

    mapping  which columns are wanted, and whose they are; None takes every temperature
             column as a sensor of its own name
    zone, date_order, unit, repeated_hour  what the file does not say itself; zone and
             date order are remembered by the frame
    by       None for the command line

    Raises LogRefused, or LogQuestion where the file leaves something open; then nothing
    is stored. With dry_run everything is worked out and nothing is stored.
    """
    if by is not None and not by.is_staffing:
        raise ValidationError("Only those who work here bring in logs.")
    answers = answers_for(
        frame, zone=zone, date_order=date_order, unit=unit, repeated_hour=repeated_hour
    )
    log = open_log(file, file_name, answers, mapping)
    habits = {
        "zone": zone or frame.log_habits.get("zone", "") if log.is_naive else "",
        "date_order": log.date_order or "",
        "unit": unit or "",
        "repeated_hour": repeated_hour or "",
        "columns": _columns_told(mapping),
    }
    with keeping(file, log.seen.size) as kept, transaction.atomic():
        # Held, so that two logs for one frame come in one after the other.
        frame.refresh_from_db(
            from_queryset=Frame.objects.select_for_update(no_key=True)
        )
        came = begin_import(
            frame=frame,
            by=by,
            file_name=file_name,
            sha256=kept.sha256,
            kept=kept.name,
            habits=habits,
        )
        report = _store(log, frame, mapping, by, came, remembered=zone is None)
        if dry_run:
            transaction.set_rollback(True)
            return report
        kept.keep()
        _note(came, by, report, written=log.seen.dialect.way_of_writing)
    logger.info("Log read into %s: %d values added.", frame.slug, report.added)
    return report


def answers_for(
    frame: Frame | None,
    *,
    zone: str | None,
    date_order: Order | None,
    unit: Unit | None,
    repeated_hour: Pass | None = None,
) -> Answers:
    """What was said, and behind it what the frame remembers from its last log."""
    habits = frame.log_habits if frame else {}
    return Answers.of(
        zone=zone or habits.get("zone"),
        date_order=date_order,
        remembered_orders=habits.get("date_orders"),
        unit=unit,
        repeated_hour=repeated_hour,
    )


def open_log(
    file: BinaryIO,
    file_name: str,
    answers: Answers,
    mapping: Sequence[Channel] | None,
) -> OpenLog:
    """The log with its wanted columns, ready to be taken out."""
    if mapping is not None:
        check_mapping(mapping, file_name)
    columns = None if mapping is None else [channel.column for channel in mapping]
    return opened_with(file, name=file_name, answers=answers, columns=columns)


def _store(
    log: OpenLog,
    frame: Frame,
    mapping: Sequence[Channel] | None,
    by: User | None,
    came: LogImport,
    *,
    remembered: bool,
) -> ImportReport:
    taken = [
        (sensor_for(frame, unit, channel, by), unit, channel)
        for _, unit, channel in channels_of(log, mapping)
    ]
    # Held in one order, as folding holds them, whatever the order of the columns.
    pks = [sensor.pk for sensor, _, _ in taken]
    list(
        Sensor.objects.filter(pk__in=pks).order_by("pk").select_for_update(no_key=True)
    )
    # By their keys: a sensor may be given another name before this is read again.
    came.habits["sensors"] = {told.column: sensor.pk for sensor, _, told in taken}
    gathering = Gathering([(sensor, unit.unit) for sensor, unit, _ in taken], came)
    for part in log.parts():
        gathering.add(part)
    told = gathering.finish()
    names = [sensor.name for sensor, _, _ in taken]
    sensors = dict(zip(names, told, strict=True))
    warnings = list(log.warnings)
    if log.is_naive and remembered:
        warnings.append(
            f"Times are read as {frame.log_habits['zone']}, like this frame's last log."
        )
    warnings += [
        f"Column {channel.column} is turned from {unit.unit.upper()} into "
        f"{sensor.unit.upper()}, the unit of sensor {sensor.name}."
        for sensor, unit, channel in taken
        if sensor.unit != unit.unit
    ]
    warnings += _ahead(sensors) + _unplaced(sensors) + _left_out(log)
    rejections = log.rejections
    return ImportReport.of(
        sensors,
        [RejectedRow(told.row, told.reason) for told in rejections.first],
        warnings,
        rejected_count=rejections.count,
    )


def _ahead(sensors: dict[str, SensorReport]) -> list[str]:
    """Readings that cannot have been taken yet: a clock, or a zone, is wrong."""
    latest = timezone.now() + timedelta(seconds=AHEAD_S)
    return [
        f"{name} has readings in the future, the last at {told.last}: set the logger's "
        "clock, or say the zone that it kept."
        for name, told in sensors.items()
        if told.last and datetime.fromisoformat(told.last) > latest
    ]


def _unplaced(sensors: dict[str, SensorReport]) -> list[str]:
    names = [n for n, told in sensors.items() if told.place == Sensor.Place.UNKNOWN]
    if not names:
        return []
    return [
        f"Place not known yet: {', '.join(names)}. Such a sensor is kept and charted, "
        "and feeds no flag until you say where it measures."
    ]


def _left_out(log: OpenLog) -> list[str]:
    """Columns that might be wanted and were not taken."""
    taken = {series.name for series in log.series}
    left = [
        one.name
        for one in log.seen.all_columns
        if one.name not in taken and one.quantity in OFFERED
    ]
    if not left:
        return []
    return [f"Left out: {', '.join(left)}; take such a column too, to keep it."]


def _note(
    came: LogImport, by: User | None, report: ImportReport, *, written: str
) -> None:
    """Remember how the file was read, and that it came in."""
    frame = came.frame
    told = {name: came.habits[name] for name in REMEMBERED if came.habits[name]}
    if written and came.habits["date_order"]:
        orders = frame.log_habits.get("date_orders", {})
        orders = {w: order for w, order in orders.items() if w != written}
        orders = dict([*orders.items(), (written, came.habits["date_order"])])
        told["date_orders"] = dict([*orders.items()][-_WAYS_KEPT:])
    remembered = {**frame.log_habits, **told}
    if remembered != frame.log_habits:
        frame.log_habits = remembered
        frame.save(update_fields=["log_habits"])
    others = LogImport.objects.filter(frame=frame, sha256=came.sha256, undone_at=None)
    is_news = report.added or came.conflict_days.exists()
    if not is_news and others.exclude(pk=came.pk).exists():
        came.delete()
        return
    came.report = report.shortened()
    came.save(update_fields=["habits", "report"])
    record(by, "imported", frame, file=came.file_name, added=report.added)


def _columns_told(mapping: Sequence[Channel] | None) -> dict[str, dict[str, str]]:
    return {
        channel.column: {
            "sensor": channel.sensor,
            "place": str(channel.place),
            "microclimate": channel.microclimate,
        }
        for channel in mapping or ()
    }
