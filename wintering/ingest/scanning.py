"""A log file's rows into arrays, one block of lines at a time; no text is kept."""

import io
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import BinaryIO

import numpy as np
from numpy.typing import NDArray

from wintering.ingest.cells import BAD, EMPTY, NumberCells
from wintering.ingest.columns import Column
from wintering.ingest.headings import UNIT_NAMES, last_letter_unit, units_in
from wintering.ingest.refusals import LogRefused
from wintering.ingest.sniffing import (
    HEAD_BYTES,
    Dialect,
    names_time,
    sniff,
    split_lines,
)
from wintering.ingest.stamps import NAIVE, UNREADABLE, read_stamps
from wintering.ingest.times import epoch_seconds

Int32 = NDArray[np.int32]
Int64 = NDArray[np.int64]
Rows = list[tuple[int, list[str]]]  # the line of the file, and its cells

NO_VALUE = -(2**31)  # an empty cell in a column of thousandths
_BLOCK_CHARS = 1 << 21


@dataclass(frozen=True, slots=True)
class Rejected:
    row: int  # the line of the file, the first being 1
    reason: str


@dataclass(frozen=True, slots=True)
class Scan:
    """A file's rows as numbers, in file order, its times still as written."""

    name: str
    dialect: Dialect
    columns: tuple[Column, ...]
    cells: tuple[NumberCells, ...]  # what was met in each column
    row: Int32
    date_key: Int64
    second: Int64  # of the day; since 1970 where the file counts so
    offset_min: Int64
    values: tuple[Int32, ...]  # thousandths of the stated unit, or NO_VALUE
    rejected: tuple[Rejected, ...]
    unit_cells: frozenset[str]  # what a column of units holds

    @property
    def is_naive(self) -> bool:
        """Whether some times come without an offset, in their row or the heading."""
        states_none = self.dialect.offset_min is None
        return states_none and bool(np.any(self.offset_min == NAIVE))


def scan(file: BinaryIO, name: str, columns: Sequence[str] | None = None) -> Scan:
    """Read the named columns of a log, or all that hold temperatures."""
    file.seek(0)
    dialect = sniff(file.read(HEAD_BYTES), name)
    chosen = choose(dialect, columns, name)
    try:
        return _scan(file, dialect.encoding, dialect, chosen, name)
    except UnicodeDecodeError:
        # Plain letters at first and an old code page further down.
        return _scan(file, "latin-1", dialect, chosen, name)


def choose(
    dialect: Dialect, wanted: Sequence[str] | None, name: str
) -> tuple[Column, ...]:
    """The columns to read; refuses a name that the file does not have."""
    known = {column.name: column for column in dialect.columns}
    there = ", ".join(known) or "none"
    if wanted is None:
        if dialect.temperatures:
            return dialect.temperatures
        raise LogRefused(
            f"{name} has no temperature column: beside the time it has: {there}; "
            "expected a heading such as 'air_c' or 'Temperature (°C)'."
        )
    loosely = {column.name.lower(): column for column in dialect.columns}
    chosen = []
    for text in wanted:
        column = known.get(text) or loosely.get(text.strip().lower())
        if column is None:
            raise LogRefused(f"{name} has no column '{text}'; it has: {there}.")
        chosen.append(column)
    return tuple(chosen)


def _scan(
    file: BinaryIO,
    encoding: str,
    dialect: Dialect,
    chosen: tuple[Column, ...],
    name: str,
) -> Scan:
    file.seek(0)
    # Half a letter at the end of UTF-16 spoils one cell, not the file.
    errors = "replace" if encoding.startswith("utf-16") else "strict"
    text = io.TextIOWrapper(file, encoding=encoding, errors=errors, newline=None)
    table = _Table(name, dialect, chosen)
    try:
        for first, lines in _blocks(text):
            table.add(first, lines)
    finally:
        text.detach()  # the file stays the caller's to close
    return table.finished()


def _blocks(text: io.TextIOWrapper) -> Iterator[tuple[int, list[str]]]:
    """Blocks of lines, each with the number of its first line."""
    line = 1
    while block := text.readlines(_BLOCK_CHARS):
        yield line, block
        line += len(block)


class _Table:
    """The arrays of a file while its blocks come in."""

    def __init__(
        self, name: str, dialect: Dialect, columns: tuple[Column, ...]
    ) -> None:
        self.name = name
        self.dialect = dialect
        self.columns = columns
        self.cells = tuple(NumberCells() for _ in columns)
        self.unit_cells: set[str] = set()
        self.rejected: list[Rejected] = []
        self.parts: list[tuple[NDArray[np.int64], ...]] = []

    def add(self, first: int, lines: list[str]) -> None:
        skipped = max(0, self.dialect.first_line - first)
        split = split_lines(lines[skipped:], self.dialect.delimiter)
        rows = [
            (line, cells)
            for line, cells in enumerate(split, first + skipped)
            if self._is_row(line, cells)
        ]
        is_good, times = self._times([cells for _, cells in rows])
        if not is_good.all():
            for (line, cells), good in zip(rows, is_good, strict=True):
                if not good:
                    self._reject_time(line, cells)
            rows = [row for row, good in zip(rows, is_good, strict=True) if good]
            times = tuple(part[is_good] for part in times)
        if rows:
            lines_read = np.array([line for line, _ in rows], np.int64)
            values = (self._values(i, rows) for i in range(len(self.columns)))
            self.parts.append((lines_read, *times, *values))
            self._note_units(rows)

    def finished(self) -> Scan:
        if not self.parts:
            raise LogRefused(self._nothing_readable())
        row, date_key, second, offset_min, *values = (
            np.concatenate(part) for part in zip(*self.parts, strict=True)
        )
        return Scan(
            name=self.name,
            dialect=self.dialect,
            columns=self.columns,
            cells=self.cells,
            row=row.astype(np.int32),
            date_key=date_key,
            second=second,
            offset_min=offset_min,
            values=tuple(column.astype(np.int32) for column in values),
            rejected=tuple(sorted(self.rejected, key=lambda r: r.row)),
            unit_cells=frozenset(self.unit_cells),
        )

    def _is_row(self, line: int, cells: list[str]) -> bool:
        """Whether a line belongs to the table; says why where it does not."""
        width = self.dialect.width
        if len(cells) == width:
            return True
        if any(cell.strip() for cell in cells[width:]):
            self._reject(line, f"{len(cells)} cells where {width} were expected")
            return False
        return any(cell.strip() for cell in cells)

    def _times(
        self, rows: list[list[str]]
    ) -> tuple[NDArray[np.bool_], tuple[Int64, ...]]:
        """Whether each row's time can be read, and its parts."""
        texts = self.dialect.times.cells(rows)
        form = self.dialect.times.form
        if form == "written":
            stamps = read_stamps(texts)
            return stamps.readable, (stamps.date_key, stamps.second, stamps.offset_min)
        second = np.array([epoch_seconds(text, form) for text in texts], np.int64)
        no_date = np.full(len(texts), UNREADABLE, np.int64)
        return second != UNREADABLE, (no_date, second, np.zeros(len(texts), np.int64))

    def _values(self, which: int, rows: Rows) -> Int64:
        index, known = self.columns[which].index, self.cells[which]
        texts = [cells[index] if len(cells) > index else "" for _, cells in rows]
        values = np.array([known[text] for text in texts], np.int64)
        for at in np.flatnonzero(values == BAD):
            name, text = self.columns[which].name, _shown(texts[at])
            self._reject(rows[at][0], f"'{text}' in column {name} is not a number")
        return np.where(values >= EMPTY, NO_VALUE, values)

    def _note_units(self, rows: Rows) -> None:
        index = self.dialect.unit_column
        if index is not None:
            found = {cells[index].strip() for _, cells in rows if len(cells) > index}
            self.unit_cells |= found - {""}

    def _reject(self, line: int, reason: str) -> None:
        self.rejected.append(Rejected(line, reason))

    def _reject_time(self, line: int, cells: list[str]) -> None:
        heading = self.dialect.heading
        if heading and tuple(cell.strip() for cell in cells) == heading:
            self._reject(line, "the column headings again")
            return
        when = cells[self.dialect.times.date : self.dialect.times.date + 1]
        if when and names_time(when[0]):
            self._refuse_new_units(line, cells)
        text = self.dialect.times.cells([cells])[0] or cells[0]
        self._reject(line, f"no date and time can be read from '{_shown(text)}'")

    def _refuse_new_units(self, line: int, cells: list[str]) -> None:
        """A second heading further down may change a column's unit."""
        for column in self.columns:
            text = cells[column.index].strip() if len(cells) > column.index else ""
            letter = last_letter_unit(text)
            stated = units_in(text) or ({letter} if letter else set())
            if (
                text[:1].isalpha()
                and stated & {"c", "f", "k"}
                and column.unit
                not in {
                    None,
                    *stated,
                }
            ):
                was, now = UNIT_NAMES[column.unit or ""], UNIT_NAMES[stated.pop()]
                raise LogRefused(
                    f"{self.name} mixes units in column {column.name}: {was} above, "
                    f"{now} from row {line}; expected one unit in each column."
                )

    def _nothing_readable(self) -> str:
        first = self.rejected[0] if self.rejected else None
        found = f": row {first.row}: {first.reason}" if first else ""
        return (
            f"{self.name} has no readable row{found}; expected a date and time and a "
            "temperature in each."
        )


def _shown(text: str) -> str:
    """A cell short enough, and plain enough, to stand in a sentence."""
    plain = "".join(c if c.isprintable() else " " for c in text).strip()
    return plain if len(plain) <= 40 else f"{plain[:40]}…"
