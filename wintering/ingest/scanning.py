"""Lines of a log into numbers, one block at a time; no text is kept.

What a cell means is said here and nowhere else: `quick.py` reads plain blocks faster,
and is held to give the same.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from wintering.ingest.cells import BAD, EMPTY, OTHER_UNIT, UNIT_CODES, NumberCells
from wintering.ingest.columns import Column
from wintering.ingest.headings import UNIT_NAMES, last_letter_unit, unit_of, units_in
from wintering.ingest.labels import Labels
from wintering.ingest.lines import Lines, byte_encoding
from wintering.ingest.refusals import LogRefused
from wintering.ingest.sniffing import SPACES, Dialect, names_time, split_lines
from wintering.ingest.stamps import UNREADABLE, read_stamps
from wintering.ingest.times import epoch_seconds

Int32 = NDArray[np.int32]
Int64 = NDArray[np.int64]
Codes = NDArray[np.uint8]
Rows = list[tuple[int, list[str]]]  # the line of the file, and its cells

NO_VALUE = -(2**31)  # an empty cell in a column of thousandths
_MOST_UNITS = 1000  # texts of a column of units that are remembered


@dataclass(frozen=True, slots=True)
class Rejected:
    row: int  # the line of the file, the first being 1
    reason: str


@dataclass(frozen=True, slots=True, eq=False)
class Block:
    """Some of a file's rows as numbers, in file order, their times still as written."""

    row: Int32
    date_key: Int64
    second: Int64  # of the day; since 1970 where the file counts so
    offset_min: Int64
    label: Int32 | None  # whose the row is; None where rows do not say it
    values: tuple[Int32, ...]  # thousandths of the stated unit, or NO_VALUE
    units: tuple[Codes | None, ...]  # which unit each row itself states, if any does
    rejected: tuple[Rejected, ...] = ()

    def __len__(self) -> int:
        return len(self.row)

    def at(self, chosen: NDArray[np.bool_] | Int64 | slice) -> "Block":
        return Block(
            self.row[chosen],
            self.date_key[chosen],
            self.second[chosen],
            self.offset_min[chosen],
            None if self.label is None else self.label[chosen],
            tuple(column[chosen] for column in self.values),
            tuple(None if codes is None else codes[chosen] for codes in self.units),
        )

    @classmethod
    def joined(cls, parts: Sequence["Block"]) -> "Block":
        if len(parts) == 1:
            return parts[0]
        return cls(
            np.concatenate([part.row for part in parts]),
            np.concatenate([part.date_key for part in parts]),
            np.concatenate([part.second for part in parts]),
            np.concatenate([part.offset_min for part in parts]),
            _joined([part.label for part in parts], parts, np.int32),
            tuple(map(np.concatenate, zip(*(p.values for p in parts), strict=True))),
            tuple(
                _joined(codes, parts, np.uint8)
                for codes in zip(*(part.units for part in parts), strict=True)
            ),
            tuple(told for part in parts for told in part.rejected),
        )


def _joined(
    arrays: Sequence[NDArray[Any] | None], parts: Sequence[Block], kind: type
) -> NDArray[Any] | None:
    """Optional arrays one after the other; missing ones are zeros beside others."""
    if all(array is None for array in arrays):
        return None
    return np.concatenate(
        [
            np.zeros(len(part), kind) if array is None else array
            for array, part in zip(arrays, parts, strict=True)
        ]
    )


class Scanner:
    """Reads blocks of lines with all care, and keeps what was met in them."""

    def __init__(
        self,
        name: str,
        dialect: Dialect,
        columns: tuple[Column, ...],
        encoding: str,
        labels: Labels,
    ) -> None:
        self.name = name
        self.dialect = dialect
        self.columns = columns
        self.encoding = byte_encoding(encoding)
        self.labels = labels
        self.cells = tuple(NumberCells(len(columns)) for _ in columns)
        self.unit_cells: dict[str, int] = {}  # of the column of units, with its code

    def read(self, lines: Lines) -> Block:
        rejected: list[Rejected] = []
        split = split_lines(lines.text(self.encoding), self.dialect.delimiter)
        rows = [
            (line, cells)
            for line, cells in enumerate(split, lines.first)
            if self._is_row(line, cells, rejected)
        ]
        is_good, times = self._times([cells for _, cells in rows])
        if not is_good.all():
            for (line, cells), good in zip(rows, is_good, strict=True):
                if not good:
                    rejected.append(self._no_time(line, cells))
            rows = [row for row, good in zip(rows, is_good, strict=True) if good]
            times = tuple(part[is_good] for part in times)
        values = tuple(
            self._values(i, rows, rejected) for i in range(len(self.columns))
        )
        beside = self._units_beside(rows)
        return Block(
            np.array([line for line, _ in rows], np.int32),
            *times,
            self._labels(rows),
            values,
            tuple(self._units(i, rows, beside) for i in range(len(self.columns))),
            tuple(rejected),
        )

    def unit_code(self, text: str) -> int:
        """Which unit a cell of the column of units names."""
        text = text.strip()
        code = self.unit_cells.get(text)
        if code is None:
            unit = unit_of(text)
            code = UNIT_CODES.index(unit) if unit else OTHER_UNIT if text else 0
            if len(self.unit_cells) < _MOST_UNITS:
                self.unit_cells[text] = code
        return code

    def _is_row(self, line: int, cells: list[str], rejected: list[Rejected]) -> bool:
        """Whether a line belongs to the table; says why where it does not."""
        width = self.dialect.width
        if len(cells) == width:
            return True
        # Between spaces an empty cell cannot be seen.
        is_short = self.dialect.delimiter == SPACES and any(cells)
        if is_short or any(cell.strip() for cell in cells[width:]):
            told = f"{len(cells)} cells where {width} were expected"
            rejected.append(Rejected(line, told))
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

    def _values(self, which: int, rows: Rows, rejected: list[Rejected]) -> Int32:
        known = self.cells[which]
        texts = _column(rows, self.columns[which].index)
        values = np.array([known[text] for text in texts], np.int64)
        for at in np.flatnonzero(values == BAD):
            rejected.append(self.bad_cell(which, rows[at][0], texts[at]))
        return np.where(values >= EMPTY, NO_VALUE, values).astype(np.int32)

    def bad_cell(self, which: int, line: int, text: str) -> Rejected:
        name = self.columns[which].name
        return Rejected(line, f"'{_shown(text)}' in column {name} is not a number")

    def _units(self, which: int, rows: Rows, beside: Codes | None) -> Codes | None:
        """The unit that each row states: in the cell, else in the column of units."""
        known = self.cells[which]
        if not known.has_units:
            return beside
        texts = _column(rows, self.columns[which].index)
        own = np.array([known.unit_code(text) for text in texts], np.uint8)
        return own if beside is None else np.where(own > 0, own, beside)

    def _units_beside(self, rows: Rows) -> Codes | None:
        if self.dialect.unit_column is None:
            return None
        texts = _column(rows, self.dialect.unit_column)
        return np.array([self.unit_code(text) for text in texts], np.uint8)

    def _labels(self, rows: Rows) -> Int32 | None:
        if not self.labels.columns:
            return None
        told = zip(*(_column(rows, c.index) for c in self.labels.columns), strict=True)
        return np.array([self.labels.number_of(texts) for texts in told], np.int32)

    def _no_time(self, line: int, cells: list[str]) -> Rejected:
        heading = self.dialect.heading
        if heading and tuple(cell.strip() for cell in cells) == heading:
            return Rejected(line, "the column headings again")
        when = cells[self.dialect.times.date : self.dialect.times.date + 1]
        if when and names_time(when[0]):
            self._refuse_new_units(line, cells)
        text = self.dialect.times.cells([cells])[0] or cells[0]
        return Rejected(line, f"no date and time can be read from '{_shown(text)}'")

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


def _column(rows: Rows, index: int) -> list[str]:
    return [cells[index] if len(cells) > index else "" for _, cells in rows]


def _shown(text: str) -> str:
    """A cell short enough, and plain enough, to stand in a sentence."""
    plain = "".join(c if c.isprintable() else " " for c in text).strip()
    return plain if len(plain) <= 40 else f"{plain[:40]}…"
