"""The times of a plain block of lines, read by their shapes."""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from wintering.ingest.fields import FIRST, WORD, Fields, Int64, Words
from wintering.ingest.stamps import UNREADABLE, form_of, stamps_of
from wintering.ingest.times import EPOCH_FROM, EPOCH_TO

_LONGEST = 40
_MOST_SHAPES = 40  # twelve months by name, two halves of a day
_MOST_DIGITS = 15  # whole numbers that a binary fraction holds exactly
_SHAPES = np.arange(256, dtype=np.uint8)
_SHAPES[ord("1") : ord("9") + 1] = ord("0")

Letters = NDArray[np.uint8]


@dataclass(frozen=True, slots=True, eq=False)
class Times:
    date_key: Int64
    second: Int64
    offset_min: Int64


def written_times(fields: Fields, date: int, time: int | None) -> Times | None:
    """Times in one column, or a date and a time of day apart; None if any is odd."""
    found = Times(*(np.empty(fields.count, np.int64) for _ in range(3)))
    for rows in _by_length(fields, date, time):
        cells = [
            _cells(fields, column, rows)
            for column in (date, time)
            if column is not None
        ]
        parts = [cell for cell in cells if cell is not None]
        if len(parts) < len(cells):
            return None
        heads = _heads([word for part in parts for word in part.words])
        letters = [part.letters(heads) for part in parts]
        if time is not None:
            if _has_time(letters[0]):
                return None
            letters.insert(1, np.full((len(heads), 1), ord(" "), np.uint8))
        told = _told(np.hstack(letters))
        if told is None:
            return None
        lengths = np.diff(heads, append=len(parts[0].words[0]))
        found.date_key[rows] = np.repeat(told.date_key, lengths)
        found.second[rows] = np.repeat(told.second, lengths)
        found.offset_min[rows] = np.repeat(told.offset_min, lengths)
    return found


def epoch_times(fields: Fields, column: int, form: str) -> Times | None:
    """Whole numbers of seconds or milliseconds since 1970; None if any is not."""
    second = np.empty(fields.count, np.int64)
    for rows in _by_length(fields, column, None):
        cells = _cells(fields, column, rows)
        if cells is None or cells.length > _MOST_DIGITS:
            return None
        letters = cells.letters(slice(None))
        if ((letters < ord("0")) | (letters > ord("9"))).any():
            return None
        number = np.zeros(len(letters), np.int64)
        for place in range(letters.shape[1]):
            number = number * 10 + (letters[:, place] - ord("0"))
        seconds = number / (1000 if form == "epoch_ms" else 1)
        if ((seconds < EPOCH_FROM) | (seconds >= EPOCH_TO)).any():
            return None
        second[rows] = np.rint(seconds).astype(np.int64)
    no_date = np.full(fields.count, UNREADABLE, np.int64)
    return Times(no_date, second, np.zeros(fields.count, np.int64))


def _by_length(fields: Fields, date: int, time: int | None) -> Iterator[Int64 | slice]:
    """Rows whose times have as many letters."""
    length = fields.ends[date] - fields.starts[date]
    if time is not None:
        length = length * 1000 + (fields.ends[time] - fields.starts[time])
    if (length == length[0]).all():
        yield slice(None)
        return
    for one in np.unique(length):
        yield np.flatnonzero(length == one)


@dataclass(frozen=True, slots=True, eq=False)
class _Cells:
    """Cells of one length, as words."""

    words: list[Words]
    length: int

    def letters(self, rows: Int64 | slice) -> Letters:
        together = np.stack([word[rows] for word in self.words], axis=1)
        return together.view(np.uint8).reshape(len(together), -1)[:, : self.length]


def _cells(fields: Fields, column: int, rows: Int64 | slice) -> _Cells | None:
    """Cells that are all as long; None where they are empty or too long."""
    start = fields.starts[column, rows]
    length = int(fields.ends[column, rows][0] - start[0])
    if not 0 < length <= _LONGEST:
        return None
    words = []
    for at in range(0, length, WORD):
        word = fields.words[start + at]
        left = length - at
        words.append(word if left >= WORD else word & FIRST[left])
    return _Cells(words, length)


def _heads(words: list[Words]) -> Int64:
    """Where a row differs from the one before: in long logs many are alike."""
    differs = words[0][1:] != words[0][:-1]
    for word in words[1:]:
        differs |= word[1:] != word[:-1]
    return np.concatenate([[0], np.flatnonzero(differs) + 1])


def _told(letters: Letters) -> Times | None:
    """Times of one length, shape by shape; None where one cannot be read."""
    shapes = _SHAPES[letters]
    found = Times(*(np.empty(len(letters), np.int64) for _ in range(3)))
    left = np.arange(len(letters))
    for _ in range(_MOST_SHAPES):
        if not len(left):
            return found
        shape = shapes[left[0]]
        is_same = (shapes[left] == shape).all(axis=1)
        rows, left = left[is_same], left[~is_same]
        text = bytes(shape)
        form = form_of(text.decode("ascii")) if text.isascii() else None
        if form is None:
            return None
        stamps = stamps_of(form, letters[rows].astype(np.int16) - ord("0"))
        if not stamps.readable.all():
            return None
        found.date_key[rows] = stamps.date_key
        found.second[rows] = stamps.second
        found.offset_min[rows] = stamps.offset_min
    return None if len(left) else found


def _has_time(letters: Letters) -> bool:
    """Whether a date comes with a time of its own, which another column replaces."""
    texts = set(map(bytes, _SHAPES[letters]))
    forms = (form_of(text.decode("ascii")) for text in texts if text.isascii())
    return any(form and form.has_time for form in forms)
