"""What would be made of a log, before anything is stored."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import BinaryIO

from wintering.frames.models import Frame
from wintering.ingest.cells import UNIT_CODES
from wintering.ingest.channels import Channel
from wintering.ingest.columns import Column
from wintering.ingest.dates import Order
from wintering.ingest.encoding import decoded
from wintering.ingest.headings import OFFERED, UNIT_NAMES, Unit
from wintering.ingest.intake import answers_for
from wintering.ingest.opening import OpenLog
from wintering.ingest.placing import Pass
from wintering.ingest.refusals import LogQuestion
from wintering.ingest.report import RejectedRow
from wintering.ingest.series import Series
from wintering.ingest.sniffing import HEAD_BYTES, SPACES, Dialect, split_lines
from wintering.ingest.surveying import Surveyed, survey_log
from wintering.ingest.understood import Told, understood
from wintering.science.units import TemperatureUnit

_ROWS_SHOWN = 5
_NO_SPAN = (None, None)
_REJECTED_SHOWN = 20
_DELIMITER_NAMES = {
    ",": "comma",
    ";": "semicolon",
    "\t": "tab",
    "|": "upright line",
    SPACES: "spaces",
}


@dataclass(frozen=True, slots=True)
class PreviewColumn:
    name: str
    quantity: str
    unit: str  # '°C', or '' where the heading does not say it
    values: int | None  # None where the column is not read as it stands
    suggested: Channel | None  # how this frame's last log had it
    low_c: float | None = None  # of a temperature whose unit is settled alike
    high_c: float | None = None

    @property
    def is_offered(self) -> bool:
        return self.quantity in OFFERED


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
    understood: tuple[Told, ...]  # each thing in words, and what it rests on

    @property
    def left_out(self) -> list[str]:
        """Columns that nothing can be taken from."""
        return [column.name for column in self.columns if not column.is_offered]


def preview(
    *,
    file: BinaryIO,
    file_name: str,
    frame: Frame | None,
    zone: str | None = None,
    date_order: Order | None = None,
    unit: Unit | None = None,
    repeated_hour: Pass | None = None,
    columns: Sequence[str] | None = None,
) -> Preview:
    """Read a file through without storing anything; raises LogRefused."""
    answers = answers_for(
        frame, zone=zone, date_order=date_order, unit=unit, repeated_hour=repeated_hour
    )
    seen = survey_log(file, name=file_name, columns=columns)
    log, span, question = None, None, None
    try:
        log = OpenLog(seen, answers)
        span = _span(log)
    except LogQuestion as asked:
        question = asked
    habits = frame.log_habits if frame else {}
    rejections = log.rejections if span and log else seen.survey.rejections
    dialect = seen.dialect
    delimiter, rows = _DELIMITER_NAMES[dialect.delimiter], _first_rows(file, dialect)
    return Preview(
        file_name=file_name,
        encoding=seen.encoding,
        delimiter=delimiter,
        heading=dialect.heading or (),
        rows=rows,
        row_count=seen.survey.row_count,
        columns=_columns(seen, habits.get("columns", {}), log),
        is_naive=seen.survey.has_naive,
        zone=dialect.zone or zone or habits.get("zone", ""),
        date_order=(log.date_order if log else None) or date_order or "",
        question=str(question or ""),
        about=question.about if question else "",
        first=_instant(span[0]) if span else None,
        last=_instant(span[1]) if span else None,
        rejected=tuple(
            RejectedRow(r.row, r.reason) for r in rejections.first[:_REJECTED_SHOWN]
        ),
        rejected_count=rejections.count,
        warnings=log.warnings if span and log else (),
        understood=understood(
            seen,
            log,
            delimiter=delimiter,
            rows=rows,
            zone=zone or habits.get("zone", ""),
            zone_is_said=zone is not None,
            order_is_said=date_order is not None,
        ),
    )


def _span(log: OpenLog) -> tuple[int, int]:
    """The first and the last second that has a reading."""
    spans = [(int(part.seconds.min()), int(part.seconds.max())) for part in log.parts()]
    return min(first for first, _ in spans), max(last for _, last in spans)


def _first_rows(file: BinaryIO, dialect: Dialect) -> tuple[tuple[str, ...], ...]:
    file.seek(0)
    text = decoded(file.read(HEAD_BYTES), dialect.encoding)
    lines = text.splitlines()[dialect.first_line - 1 :][:_ROWS_SHOWN]
    return tuple(map(tuple, split_lines(lines, dialect.delimiter)))


def _columns(
    seen: Surveyed, remembered: dict[str, dict[str, str]], log: OpenLog | None
) -> tuple[PreviewColumn, ...]:
    counts = {series.name: series.tally.count for series in seen.chosen}
    spans = _spans_c(log) if log else {}
    return tuple(
        PreviewColumn(
            name=one.name,
            quantity=one.quantity,
            unit=_unit(one),
            values=counts.get(one.name),
            suggested=_suggested(one.name, remembered),
            low_c=spans.get(one.name, _NO_SPAN)[0],
            high_c=spans.get(one.name, _NO_SPAN)[1],
        )
        for one in seen.all_columns
    )


def _spans_c(log: OpenLog) -> dict[str, tuple[float, float]]:
    """The lowest and highest value of each temperature, as it was understood."""
    found = {}
    for series, settled in zip(log.series, log.units, strict=True):
        tally = series.tally
        is_alike = settled.quantity == "temperature" and not settled.is_by_row
        if is_alike and tally.count:
            low, high = (
                float(TemperatureUnit(settled.unit).to_c(value / 1000))
                for value in (tally.low, tally.high)
            )
            found[series.name] = low, high
    return found


def _unit(one: Column | Series) -> str:
    """Of its heading, or in long form what its rows say."""
    if isinstance(one, Column):
        return UNIT_NAMES[one.unit] if one.unit else ""
    stated = [unit for code, unit in enumerate(UNIT_CODES) if one.tally.stated[code]]
    units = {unit for unit in stated if unit} or {one.column.unit}
    return " and ".join(sorted(UNIT_NAMES[unit] for unit in units if unit))


def _suggested(column: str, remembered: dict[str, dict[str, str]]) -> Channel | None:
    return Channel(column, **remembered[column]) if column in remembered else None


def _instant(second: int) -> datetime:
    return datetime.fromtimestamp(second, UTC)
