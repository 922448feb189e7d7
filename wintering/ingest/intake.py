"""A log file into a frame's sensors: all of it or nothing, and safe to repeat."""

import logging
from collections.abc import Sequence
from datetime import UTC, datetime
from typing import BinaryIO

import numpy as np
from django.conf import settings
from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils import timezone

from wintering.climate.models import LogImport, Sensor
from wintering.climate.queries import as_shown
from wintering.climate.services import Stored, begin_import, store_readings
from wintering.frames.models import Frame
from wintering.ingest.channels import Channel, channels_of, check_mapping, sensor_for
from wintering.ingest.dates import Order
from wintering.ingest.headings import Unit
from wintering.ingest.keeping import discard, keep, sha256_of
from wintering.ingest.reading import Answers, Log, LogColumn, read_log
from wintering.ingest.refusals import LogRefused
from wintering.ingest.report import (
    ConflictRow,
    ImportReport,
    RejectedRow,
    SensorReport,
)
from wintering.ingest.scanning import NO_VALUE, Int32, Int64
from wintering.people.models import User
from wintering.people.services import record
from wintering.science.series import Quality
from wintering.science.units import TemperatureUnit

logger = logging.getLogger(__name__)


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
    dry_run: bool = False,
) -> ImportReport:
    """Bring a log into a frame.

    mapping  which columns are wanted, and whose they are; None takes every temperature
             column as a sensor of its own name
    zone, date_order, unit  what the file does not say itself; zone and date order are
             remembered by the frame
    by       None for the command line

    Raises LogRefused, or LogQuestion where the file leaves something open; then nothing
    is stored. With dry_run everything is worked out and nothing is stored.
    """
    if by is not None and not by.is_staffing:
        raise ValidationError("Only those who work here bring in logs.")
    answers = answers_for(frame, zone=zone, date_order=date_order, unit=unit)
    log = open_log(file, file_name, answers, mapping)
    habits = {
        "zone": zone or frame.log_habits.get("zone", "") if log.is_naive else "",
        "date_order": log.date_order or "",
        "columns": _columns_told(mapping),
    }
    kept_name, is_new_file = "", False
    try:
        with transaction.atomic():
            # Held, so that two logs for one frame come in one after the other.
            frame.refresh_from_db(from_queryset=Frame.objects.select_for_update())
            sha256 = sha256_of(file)
            came = begin_import(
                frame=frame,
                by=by,
                file_name=file_name,
                sha256=sha256,
                kept=f"logs/{sha256}.gz",
                habits=habits,
            )
            report = _store(log, frame, mapping, by, came, remembered=zone is None)
            if dry_run:
                transaction.set_rollback(True)
                return report
            kept_name, is_new_file = keep(file, sha256)
            _note(came, by, report)
    except BaseException:
        # Another import may have come to rely on the same copy meanwhile.
        if is_new_file and not LogImport.objects.filter(kept=kept_name).exists():
            discard(kept_name)
        raise
    logger.info("Log read into %s: %d values added.", frame.slug, report.added)
    return report


def answers_for(
    frame: Frame | None,
    *,
    zone: str | None,
    date_order: Order | None,
    unit: Unit | None,
) -> Answers:
    """What was said, and behind it what the frame remembers from its last log."""
    habits = frame.log_habits if frame else {}
    return Answers.of(
        zone=zone or habits.get("zone"),
        date_order=date_order,
        remembered_order=habits.get("date_order"),
        unit=unit,
    )


def open_log(
    file: BinaryIO,
    file_name: str,
    answers: Answers,
    mapping: Sequence[Channel] | None,
) -> Log:
    """Read the wanted columns, within the limit of size."""
    limit_mb = settings.LOG_LIMIT_MB
    if file.seek(0, 2) > limit_mb * 1_000_000:
        raise LogRefused(
            f"{file_name} is larger than {limit_mb} MB, the most that is read at once; "
            "cut it into parts."
        )
    if mapping is not None:
        check_mapping(mapping, file_name)
    columns = None if mapping is None else [channel.column for channel in mapping]
    return read_log(file, name=file_name, answers=answers, columns=columns)


def _store(
    log: Log,
    frame: Frame,
    mapping: Sequence[Channel] | None,
    by: User | None,
    came: LogImport,
    *,
    remembered: bool,
) -> ImportReport:
    sensors: dict[str, SensorReport] = {}
    warnings = list(log.warnings)
    if log.is_naive and remembered:
        warnings.append(
            f"Times are read as {frame.log_habits['zone']}, like this frame's last log."
        )
    for column, channel in channels_of(log, mapping):
        sensor = sensor_for(frame, column, channel, by)
        sensors[sensor.name], warning = _store_column(log, column, sensor, came)
        warnings += warning
    warnings += _unplaced(sensors) + _left_out(log, mapping)
    rejected = [RejectedRow(r.row, r.reason) for r in log.rejected]
    return ImportReport.of(sensors, rejected, warnings)


def _store_column(
    log: Log, column: LogColumn, sensor: Sensor, came: LogImport
) -> tuple[SensorReport, list[str]]:
    is_there = column.values != NO_VALUE
    seconds, row = log.seconds[is_there], log.row[is_there]
    values = _in_unit_of(sensor, column, column.values[is_there])
    stored = store_readings(
        sensor=sensor, seconds=seconds, thousandths=values, origin=came, rows=row
    )
    warnings = []
    if sensor.unit != column.unit:
        warnings.append(
            f"Column {column.name} is turned from {column.unit.upper()} into "
            f"{sensor.unit.upper()}, the unit of sensor {sensor.name}."
        )
    return _sensor_report(sensor, seconds, values, row, stored), warnings


def _in_unit_of(sensor: Sensor, column: LogColumn, thousandths: Int32) -> Int32:
    if sensor.unit == column.unit:
        return thousandths
    c = TemperatureUnit(column.unit).to_c(thousandths / 1000)
    turned = TemperatureUnit(sensor.unit).from_c(c)
    return np.rint(np.clip(turned * 1000, -(2**31) + 1, 2**31 - 1)).astype(np.int32)


def _sensor_report(
    sensor: Sensor, seconds: Int64, values: Int32, row: Int32, stored: Stored
) -> SensorReport:
    counts = stored.stands & (stored.quality == Quality.GOOD)
    at, value = seconds[counts], as_shown(sensor, values[counts])
    is_temperature = sensor.quantity == Sensor.Quantity.TEMPERATURE
    has_extremes = is_temperature and len(value) > 0
    conflicts = [
        ConflictRow(
            row=int(row[c.index]),
            sensor=sensor.name,
            at=_iso(seconds[c.index]),
            stored=c.stored / 1000,
            new=c.new / 1000,
        )
        for c in stored.conflicts
    ]
    return SensorReport(
        place=sensor.place,
        unit=sensor.unit,
        read=len(seconds),
        added=stored.added,
        marked=stored.marked,
        unchanged=stored.unchanged,
        replaced=0,
        conflicts=conflicts,
        first=_iso(at.min()) if len(at) else None,
        last=_iso(at.max()) if len(at) else None,
        min_c=round(float(value.min()), 3) if has_extremes else None,
        max_c=round(float(value.max()), 3) if has_extremes else None,
    )


def _unplaced(sensors: dict[str, SensorReport]) -> list[str]:
    names = [n for n, told in sensors.items() if told.place == Sensor.Place.UNKNOWN]
    if not names:
        return []
    return [
        f"Place not known yet: {', '.join(names)}. Such a sensor is kept and charted, "
        "and feeds no flag until you say where it measures."
    ]


def _left_out(log: Log, mapping: Sequence[Channel] | None) -> list[str]:
    """Columns that might be wanted and were not taken."""
    taken = {column.name for column in log.columns}
    wanted = {"temperature", "humidity"} if mapping else {"humidity", "unknown"}
    left = [
        column.name
        for column in log.dialect.columns
        if column.name not in taken and column.quantity in wanted
    ]
    return [f"Left out: {', '.join(left)}; map them to keep them."] if left else []


def _note(came: LogImport, by: User | None, report: ImportReport) -> None:
    """Remember how the file was read, and that it came in."""
    frame = came.frame
    remembered = {**frame.log_habits, **{k: v for k, v in came.habits.items() if v}}
    if remembered != frame.log_habits:
        frame.log_habits = remembered
        frame.save(update_fields=["log_habits"])
    others = LogImport.objects.filter(frame=frame, sha256=came.sha256, undone_at=None)
    if not report.added and others.exclude(pk=came.pk).exists():
        came.delete()
        return
    came.report = report.shortened()
    came.save(update_fields=["report"])
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


def _iso(second: np.int64) -> str:
    return datetime.fromtimestamp(int(second), UTC).isoformat()
