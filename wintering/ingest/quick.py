"""Plain blocks of lines into the same numbers as the careful reader, much faster.

A block that is not plain, or in which a time cannot be read, is left to the careful
reader; so is any single cell that is not a plain number.
"""

import numpy as np

from wintering.ingest.cells import BAD, EMPTY, STAND_INS
from wintering.ingest.fields import Fields, fields_of
from wintering.ingest.labels import Labels
from wintering.ingest.lines import Lines
from wintering.ingest.numbers import thousandths_of
from wintering.ingest.quick_times import Times, epoch_times, written_times
from wintering.ingest.scanning import (
    NO_VALUE,
    Block,
    Codes,
    Int32,
    Int64,
    Rejected,
    Scanner,
)
from wintering.ingest.texts import Texts

_STAND_INS = np.array([int(number * 1000) for number in STAND_INS], np.int64)


class _TooManyTexts(Exception):
    """A column of names or units takes the careful reader."""


class QuickReader:
    """Reads plain blocks; shares what it meets with the careful reader."""

    def __init__(self, scanner: Scanner) -> None:
        self.scanner = scanner
        self.dialect = scanner.dialect
        self.labels: Labels = scanner.labels
        self._labels = [Texts(column.index) for column in self.labels.columns]
        unit_column = self.dialect.unit_column
        self._units = None if unit_column is None else Texts(unit_column)

    def read(self, lines: Lines) -> Block | None:
        """A block's rows, or None where it takes the careful reader."""
        delimiter = self.dialect.delimiter.encode()
        if delimiter == b" ":
            return None
        if not lines.data.isascii():
            lines.data.decode(self.scanner.encoding)  # raises where it cannot be
        fields = fields_of(lines.data, delimiter, self.dialect.width)
        times = self._times(fields) if fields else None
        if fields is None or times is None:
            return None
        try:
            label, beside = self._label(fields), self._units_beside(fields)
        except _TooManyTexts:
            return None
        row = np.arange(lines.first, lines.first + fields.count, dtype=np.int32)
        rejected: list[Rejected] = []
        read = [
            self._values(which, fields, row, rejected)
            for which in range(len(self.scanner.columns))
        ]
        return Block(
            row,
            times.date_key,
            times.second,
            times.offset_min,
            label,
            tuple(values for values, _ in read),
            tuple(_first_stated(own, beside) for _, own in read),
            tuple(rejected),
        )

    def _times(self, fields: Fields) -> Times | None:
        times = self.dialect.times
        if times.form == "written":
            return written_times(fields, times.date, times.time)
        return epoch_times(fields, times.date, times.form)

    def _values(
        self, which: int, fields: Fields, row: Int32, rejected: list[Rejected]
    ) -> tuple[Int32, Codes | None]:
        """A column's thousandths, and the units stated in its cells, if any is."""
        column = self.scanner.columns[which].index
        known, encoding = self.scanner.cells[which], self.scanner.encoding
        number, is_plain = thousandths_of(fields, column)
        number[np.isin(number, _STAND_INS)] = NO_VALUE
        odd = np.flatnonzero(~is_plain).tolist()
        if "" not in known.units:  # the first number without a unit is to be known
            odd = sorted([*odd, *np.flatnonzero(is_plain & (number != NO_VALUE))[:1]])
        own = np.zeros(len(row), np.uint8)
        for at in odd:
            text = fields.text(column, at, encoding)
            value = known[text]
            number[at] = NO_VALUE if value >= EMPTY else value
            if value == BAD:
                rejected.append(self.scanner.bad_cell(which, int(row[at]), text))
            if known.has_units:
                own[at] = known.unit_code(text)
        return number.astype(np.int32), own if known.has_units else None

    def _label(self, fields: Fields) -> Int32 | None:
        """Whose each row is."""
        if not self._labels:
            return None
        numbers = [self._numbers(texts, fields) for texts in self._labels]
        together = np.zeros(fields.count, np.int64)
        for texts, each in zip(self._labels, numbers, strict=True):
            together = together * len(texts.texts) + each
        seen, first, place = np.unique(together, return_index=True, return_inverse=True)
        label = np.empty(len(seen), np.int32)
        for which in np.argsort(first):  # numbered as they are met
            told = (
                texts.texts[each[first[which]]]
                for texts, each in zip(self._labels, numbers, strict=True)
            )
            label[which] = self.labels.number_of(tuple(told))
        return label[place]

    def _units_beside(self, fields: Fields) -> Codes | None:
        """The unit that each row states in a column of its own."""
        if self._units is None:
            return None
        numbers = self._numbers(self._units, fields)
        codes = [self.scanner.unit_code(text) for text in self._units.texts]
        return np.array(codes, np.uint8)[numbers]

    def _numbers(self, texts: Texts, fields: Fields) -> Int64:
        numbers = texts.numbers(fields, self.scanner.encoding)
        if numbers is None:
            raise _TooManyTexts
        return numbers


def _first_stated(own: Codes | None, beside: Codes | None) -> Codes | None:
    if own is None or beside is None:
        return beside if own is None else own
    return np.where(own > 0, own, beside)
