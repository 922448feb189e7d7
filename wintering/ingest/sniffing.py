"""How a log file is written, found out from its first part.

Only general ways of writing are known here, never one maker's: text in columns set
apart by one sign, perhaps lines before the columns' headings, and times in one
column or in two.
"""

import csv
import re
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

from wintering.ingest.cells import looks_numeric
from wintering.ingest.clock import zone_of
from wintering.ingest.columns import Column, describe_columns
from wintering.ingest.encoding import decoded, encoding_of
from wintering.ingest.labels import LabelColumn
from wintering.ingest.refusals import LogRefused
from wintering.ingest.stamps import shape_of
from wintering.ingest.times import TimeColumns, find_times

HEAD_BYTES = 128 * 1024
_SAMPLE_LINES = 400
SPACES = " "  # runs of them, tried where no other sign parts the columns
_DELIMITERS = ("\t", ";", ",", "|")
# What belongs to a time though a space stands before it.
_AFTER_TIME = re.compile(
    r"(?<=\d) +(?=(?:[ap]\.?m\.?|z|utc|gmt|(?:utc|gmt)[-+]\d\d?(?::?\d\d)?"
    r"|[-+](?:\d\d:|0\d|1[0-4])(?:00|15|30|45))(?:\s|$))",
    re.IGNORECASE,
)
_TIME_WORDS = re.compile(r"time|date|stamp|zeit|datum|heure|hora", re.IGNORECASE)
_UTC_OFFSET = re.compile(
    r"(?<![a-z])(?:utc|gmt)(?![a-z])\s*(?:([+-])\s*(\d{1,2})(?::?(\d\d))?)?",
    re.IGNORECASE,
)


@dataclass(frozen=True, slots=True)
class Dialect:
    """Everything about how a file is written that its first part shows."""

    encoding: str
    delimiter: str
    width: int
    heading: tuple[str, ...] | None
    first_line: int  # of the readings, the file's first line being 1
    times: TimeColumns
    offset_min: int | None  # stated in the time column's heading
    columns: tuple[Column, ...]
    unit_column: int | None  # a column that holds nothing but units
    labels: tuple[LabelColumn, ...] = ()  # columns that say whose a row is
    zone: str = ""  # stated above the readings
    first_time: str = ""  # the first readable time as it is written

    @property
    def way_of_writing(self) -> str:
        """The same for every log that one logger writes, and hardly for another's.

        Empty where no heading says whose the columns are.
        """
        if self.heading is None:
            return ""
        marks = re.sub(r"\d{3,}", "Y", self.first_time.upper())
        marks = re.sub(r"\d+", "0", marks)
        marks = re.sub(r"(?<![A-Z])[AP](?=\.? ?M)", "A", marks)
        at = f"{self.times.date},{self.times.time}"
        return "\n".join([self.delimiter, at, marks, *self.heading])

    @property
    def temperatures(self) -> tuple[Column, ...]:
        return tuple(c for c in self.columns if c.quantity == "temperature")


def sniff(head: bytes, name: str) -> Dialect:
    """Find out how a log is written from its first bytes (HEAD_BYTES will do)."""
    if not head.strip(b"\xef\xbb\xbf\xff\xfe \t\r\n\0\x1a"):
        raise LogRefused(
            f"{name} is empty; expected lines of text with a time and temperatures."
        )
    encoding = encoding_of(head, name)
    text = decoded(head, encoding).replace("\r\n", "\n").replace("\r", "\n")
    lines = text.split("\n")
    if len(head) >= HEAD_BYTES and len(lines) > 1:
        lines.pop()  # cut off in the middle
    lines = lines[:_SAMPLE_LINES]
    found = _best_split(lines, _DELIMITERS) or _best_split(lines, (SPACES,))
    if found is None:
        raise LogRefused(_no_times(name, lines))
    return _dialect(encoding, *found, name)


def _best_split(
    lines: list[str], delimiters: Sequence[str]
) -> tuple[str, TimeColumns, list[list[str]]] | None:
    """Columns set apart by the sign that leaves most rows with a time."""
    best: tuple[str, TimeColumns, list[list[str]]] | None = None
    for delimiter in delimiters:
        rows = split_lines(lines, delimiter)
        times = find_times(rows)
        if delimiter == SPACES and times and _has_other_times(rows, times):
            times = None
        if times and (best is None or len(times.rows) > len(best[1].rows)):
            best = (delimiter, times, rows)
    return best


def _has_other_times(rows: list[list[str]], times: TimeColumns) -> bool:
    """Times of day such as 14.30.00, by themselves not told from numbers or dates.

    Between spaces they would stand in a column of their own, and be lost.
    """
    if times.time is not None:
        return False
    others = (
        cell for i in times.rows for j, cell in enumerate(rows[i]) if j != times.date
    )
    return any(shape_of(cell) in {"00.00.00", "0.00.00"} for cell in others)


def split_lines(lines: Sequence[str], delimiter: str) -> list[list[str]]:
    """Lines into cells; a quotation mark without its fellow does not swallow lines."""
    if delimiter == SPACES:
        return [_split_spaces(line) for line in lines]
    if not any('"' in line for line in lines):
        return [line.rstrip("\r\n").split(delimiter) for line in lines]
    return [_split(line.rstrip("\r\n"), delimiter) for line in lines]


def _split(line: str, delimiter: str) -> list[str]:
    if '"' not in line:
        return line.split(delimiter)
    if line.count('"') % 2:
        return line.replace('"', "").split(delimiter)
    try:
        return next(csv.reader([line], delimiter=delimiter, skipinitialspace=True))
    except csv.Error:  # a cell longer than the module takes
        return line.split(delimiter)


def _split_spaces(line: str) -> list[str]:
    line = _AFTER_TIME.sub("", line.strip())
    return _split(" ".join(line.split()), SPACES) if line else []


def _dialect(
    encoding: str,
    delimiter: str,
    times: TimeColumns,
    rows: list[list[str]],
    name: str,
) -> Dialect:
    readings = [rows[i] for i in times.rows]
    width = Counter(_filled(row) for row in readings).most_common(1)[0][0]
    above = _rows_above(rows, times.rows[0])
    names_at = _names_row(above, times.date)
    heading = None if names_at is None else [cell.strip() for cell in above[names_at]]
    if heading:
        _refuse_other_width(heading, readings, width, name)
    width = max(width, len(heading) if heading else max(map(_filled, readings)))
    below = above if names_at is None else above[names_at + 1 :]
    lost = [i for i, row in enumerate(below) if _is_broken_reading(row, times.date)]
    units = below[: lost[0]] if lost else below
    first = times.rows[0] - len(below) + len(units)
    units_below = [] if names_at is None else units
    columns = describe_columns(heading, units_below, readings, times, width)
    offset = _offset_in(heading[times.date]) if heading else None
    return Dialect(
        encoding=encoding,
        delimiter=delimiter,
        width=width,
        heading=tuple(heading) if heading else None,
        first_line=first + 1,
        times=times,
        offset_min=offset,
        columns=columns.readings,
        unit_column=columns.unit,
        labels=columns.labels,
        zone=_zone_in(rows[: times.rows[0]], heading[times.date] if heading else ""),
        first_time=times.cells(readings[:1])[0],
    )


def _filled(row: Sequence[str]) -> int:
    """How many cells a row has, not counting empty ones at its end."""
    return max((i + 1 for i, cell in enumerate(row) if cell.strip()), default=0)


def names_time(heading: str) -> bool:
    return bool(_TIME_WORDS.search(heading))


def _rows_above(rows: list[list[str]], first: int) -> list[list[str]]:
    """The unbroken rows of several cells right above the readings."""
    start = first
    while start > 0 and _filled(rows[start - 1]) > 1:
        start -= 1
    return rows[start:first]


def _is_broken_reading(row: list[str], time_index: int) -> bool:
    """Below the headings, before the first readable time: no line of units."""
    return _begins_with_digit(row, time_index) or any(map(looks_numeric, row))


def _begins_with_digit(row: list[str], time_index: int) -> bool:
    return len(row) > time_index and row[time_index].strip()[:1].isdigit()


def _names_row(above: list[list[str]], time_index: int) -> int | None:
    """Of several heading rows, the fullest that names the time; else the first."""
    fullest = max(map(_filled, above), default=0)
    fits = [
        i
        for i, row in enumerate(above)
        if _filled(row) == fullest > time_index
        and not _begins_with_digit(row, time_index)
    ]
    return next(
        (i for i in fits if names_time(above[i][time_index])), fits[0] if fits else None
    )


def _refuse_other_width(
    heading: list[str], readings: list[list[str]], width: int, name: str
) -> None:
    """Headings must stand above their own columns, or values get the wrong name."""
    named = _filled(heading)
    extra = [c for row in readings for c in row[named:] if c.strip()]
    is_narrow = named < width and all(looks_numeric(cell) for cell in extra)
    if is_narrow or named > max(map(len, readings)):
        raise LogRefused(
            f"{name} names {named} columns but its rows have {width} cells; expected "
            "as many: commas inside a cell, decimal ones too, need another sign "
            "between the columns, or quotation marks."
        )


def _offset_in(heading: str) -> int | None:
    """Minutes east of UTC that the time column's heading states."""
    match = _UTC_OFFSET.search(heading.replace("\u2212", "-"))
    if match is None:
        return None
    minutes = int(match[2] or 0) * 60 + int(match[3] or 0)
    return -minutes if match[1] == "-" else minutes


def _zone_in(above: list[list[str]], time_heading: str) -> str:
    """A zone that the lines above the readings state, or the time's own heading."""
    for row in above:
        words = re.split(r"[\s:=,;|\[\](){}]+", " ".join(row).strip("#'\" "))
        told = " ".join(words[:2]).lower()
        if told.startswith(("time zone", "timezone", "tz ")):
            for word in words[1:]:
                if _is_zone(word):
                    return word
    marked = re.split(r"[\s,;\[\](){}]+", time_heading)
    return next((w for w in marked if "/" in w and _is_zone(w)), "")


def _is_zone(word: str) -> bool:
    try:
        return bool(word) and zone_of(word) is not None
    except ValueError:
        return False


def _no_times(name: str, lines: list[str]) -> str:
    written = [line.strip() for line in lines if line.strip()]
    shown = "".join(c if c.isprintable() else " " for c in "".join(written[:1])[:60])
    if len(written) == 1:
        return (
            f"{name} has one line, '{shown}', and no readings under it; expected rows "
            "with dates and times such as 2024-11-30 14:00."
        )
    return (
        f"{name} has no time column: its first line is '{shown}'; expected a column "
        "of dates and times such as 2024-11-30 14:00."
    )
