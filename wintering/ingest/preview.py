"""What would be made of a log, before anything is stored."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import BinaryIO

from wintering.frames.models import Frame
from wintering.ingest.channels import Channel
from wintering.ingest.dates import Order
from wintering.ingest.encoding import decoded
from wintering.ingest.headings import UNIT_NAMES, Unit
from wintering.ingest.intake import answers_for
from wintering.ingest.reading import resolve
from wintering.ingest.refusals import LogQuestion
from wintering.ingest.report import RejectedRow
from wintering.ingest.scanning import NO_VALUE, Scan, scan
from wintering.ingest.sniffing import HEAD_BYTES, Dialect, split_lines

_ROWS_SHOWN = 5
_REJECTED_SHOWN = 20
_DELIMITER_NAMES = {",": "comma", ";": "semicolon", "\t": "tab"}


@dataclass(frozen=True, slots=True)
class PreviewColumn:
    name: str
    quantity: str
    unit: str  # '°C', or '' where the heading does not say it
    values: int | None  # None where the column is not read as it stands
    suggested: Channel | None  # how this frame's last log had it


@dataclass(frozen=True, slots=True)
class Preview:
    """A file as it is understood so far; nothing is written."""

    file_name: str
    encoding: str
    delimiter: str
    heading: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]  # the first readings as written
    row_count: int
    columns: tuple[PreviewColumn, ...]
    is_naive: bool  # the file does not say its zone
    zone: str  # what was said, or is remembered
    date_order: str
    question: str  # what has to be answered first, or ''
    about: str  # 'zone', 'date_order', 'unit' or ''
    first: datetime | None
    last: datetime | None
    rejected: tuple[RejectedRow, ...]  # the first of them
    rejected_count: int
    warnings: tuple[str, ...]


def preview(
    *,
    file: BinaryIO,
    file_name: str,
    frame: Frame | None,
    zone: str | None = None,
    date_order: Order | None = None,
    unit: Unit | None = None,
    columns: Sequence[str] | None = None,
) -> Preview:
    """Read a file through without storing anything; raises LogRefused."""
    answers = answers_for(frame, zone=zone, date_order=date_order, unit=unit)
    scanned = scan(file, file_name, columns)
    log, question = None, None
    try:
        log = resolve(scanned, answers)
    except LogQuestion as asked:
        question = asked
    habits = frame.log_habits if frame else {}
    rejected = log.rejected if log else scanned.rejected
    return Preview(
        file_name=file_name,
        encoding=scanned.dialect.encoding,
        delimiter=_DELIMITER_NAMES[scanned.dialect.delimiter],
        heading=scanned.dialect.heading or (),
        rows=_first_rows(file, scanned.dialect),
        row_count=len(scanned.row),
        columns=_columns(scanned, habits.get("columns", {})),
        is_naive=scanned.is_naive,
        zone=zone or habits.get("zone", ""),
        date_order=(log.date_order if log else None) or date_order or "",
        question=str(question or ""),
        about=question.about if question else "",
        first=_instant(int(log.seconds.min())) if log else None,
        last=_instant(int(log.seconds.max())) if log else None,
        rejected=tuple(
            RejectedRow(r.row, r.reason) for r in rejected[:_REJECTED_SHOWN]
        ),
        rejected_count=len(rejected),
        warnings=log.warnings if log else (),
    )


def _first_rows(file: BinaryIO, dialect: Dialect) -> tuple[tuple[str, ...], ...]:
    file.seek(0)
    text = decoded(file.read(HEAD_BYTES), dialect.encoding)
    lines = text.splitlines()[dialect.first_line - 1 :][:_ROWS_SHOWN]
    return tuple(map(tuple, split_lines(lines, dialect.delimiter)))


def _columns(
    scanned: Scan, remembered: dict[str, dict[str, str]]
) -> tuple[PreviewColumn, ...]:
    counts = {
        column.name: int((values != NO_VALUE).sum())
        for column, values in zip(scanned.columns, scanned.values, strict=True)
    }
    return tuple(
        PreviewColumn(
            name=column.name,
            quantity=column.quantity,
            unit=UNIT_NAMES[column.unit] if column.unit else "",
            values=counts.get(column.name),
            suggested=_suggested(column.name, remembered),
        )
        for column in scanned.dialect.columns
    )


def _suggested(column: str, remembered: dict[str, dict[str, str]]) -> Channel | None:
    return Channel(column, **remembered[column]) if column in remembered else None


def _instant(second: int) -> datetime:
    return datetime.fromtimestamp(second, UTC)
