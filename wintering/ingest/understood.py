"""How a log is understood, in words, each with what that rests on."""

import re
from dataclasses import dataclass

from wintering.ingest.dates import ORDER_NAMES, leaves_open
from wintering.ingest.headings import UNIT_NAMES
from wintering.ingest.opening import OpenLog
from wintering.ingest.sniffing import Dialect
from wintering.ingest.surveying import Surveyed

_ENCODINGS = {
    "utf-8": "UTF-8",
    "utf-8-sig": "UTF-8",
    "utf-16": "UTF-16",
    "utf-16-le": "UTF-16",
    "utf-16-be": "UTF-16",
    "cp1252": "Latin-1 with a few more signs (Windows-1252)",
    "latin-1": "Latin-1",
}
_FORMS = {
    "epoch_s": "as seconds since 1970",
    "epoch_ms": "as milliseconds since 1970",
}
_COMMA = re.compile(r"[+−-]?\d+,\d+")
_POINT = re.compile(r"[+−-]?\d+\.\d+")

SAID, REMEMBERED = "as you said", "as in this frame's last log"


@dataclass(frozen=True, slots=True)
class Told:
    """One thing that was understood, and whence; empty where it is plain."""

    label: str
    words: str
    whence: str = ""


def understood(
    seen: Surveyed,
    log: OpenLog | None,
    *,
    delimiter: str,
    rows: tuple[tuple[str, ...], ...],
    zone: str,
    zone_is_said: bool,
    order_is_said: bool,
) -> tuple[Told, ...]:
    """Everything about a file that was found out or said.

    log    None while something has to be answered first
    rows   the first readings as written
    zone   what was said, or is remembered, for times without one
    """
    dialect = seen.dialect
    mark = _decimal_mark(rows, dialect)
    order = log.date_order if log else None
    told = [
        Told("Text", _ENCODINGS.get(seen.encoding, seen.encoding)),
        Told("Between the columns", delimiter),
        Told("Decimal mark", mark),
        Told("Form", *_form(dialect)),
        Told("Times", *_times(dialect)),
        _zone(seen, zone, is_said=zone_is_said),
    ]
    if order:
        whence = _order_from(seen, is_said=order_is_said)
        told.append(Told("Dates", ORDER_NAMES[order], whence))
    elif log:
        told.append(Told("Dates", "each says itself which number is what"))
    return (*told, *_units(log))


def _decimal_mark(rows: tuple[tuple[str, ...], ...], dialect: Dialect) -> str:
    at = [column.index for column in dialect.columns if column.quantity != "other"]
    cells = [row[i].strip() for row in rows for i in at if i < len(row)]
    marks = [
        word
        for word, form in (("comma", _COMMA), ("point", _POINT))
        if any(form.match(cell) for cell in cells)
    ]
    return " and ".join(marks) or "none in the first rows"


def _form(dialect: Dialect) -> tuple[str, str]:
    if not dialect.labels:
        return "a column a sensor", ""
    names = [_column_name(dialect, label.index) for label in dialect.labels]
    return "one reading a row", f"whose it is stands in {' and '.join(names)}"


def _times(dialect: Dialect) -> tuple[str, str]:
    times = dialect.times
    where = f"from {_column_name(dialect, times.date)}"
    if times.time is not None:
        where += f" and {_column_name(dialect, times.time)}"
    return where, _FORMS.get(times.form, "")


def _zone(seen: Surveyed, zone: str, *, is_said: bool) -> Told:
    dialect = seen.dialect
    if dialect.zone:
        return Told("Time zone", dialect.zone, "stated above the readings")
    if dialect.offset_min is not None:
        hours, minutes = divmod(abs(dialect.offset_min), 60)
        sign = "-" if dialect.offset_min < 0 else "+"
        offset = f"{sign}{hours:02d}:{minutes:02d}"
        return Told("Time zone", offset, "stated in the heading")
    if not seen.survey.has_naive:
        return Told("Time zone", "each time carries its own")
    if not zone:
        return Told("Time zone", "not known", "the file does not say it")
    return Told("Time zone", zone, SAID if is_said else REMEMBERED)


def _order_from(seen: Surveyed, *, is_said: bool) -> str:
    if leaves_open(seen.survey.date_keys):
        return SAID if is_said else REMEMBERED
    return SAID if is_said else "the dates in the file leave no other way"


def _units(log: OpenLog | None) -> list[Told]:
    """Units that were settled for columns which do not state theirs alike."""
    if log is None:
        return []
    by_unit: dict[str, list[str]] = {}
    for series, settled in zip(log.series, log.units, strict=True):
        unit = UNIT_NAMES[settled.unit]
        if settled.is_by_row:
            unit = "of each row's own unit"
        by_unit.setdefault(unit, []).append(series.name)
    if len(by_unit) == 1:
        return [Told("Unit", next(iter(by_unit)))]
    return [Told(f"In {unit}", ", ".join(names)) for unit, names in by_unit.items()]


def _column_name(dialect: Dialect, index: int) -> str:
    heading = dialect.heading or ()
    name = heading[index] if index < len(heading) else ""
    return f"column {name}" if name else f"column {index + 1}"
