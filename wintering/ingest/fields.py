"""The cells of a plain block of lines: where each is, eight bytes at a time.

Only blocks without quotation marks, in which every line has as many cells, are plain.
"""

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

Int64 = NDArray[np.int64]
Words = NDArray[np.uint64]

PAD = 8  # bytes before and behind, so that any cell can be read by whole words
WORD = 8
# Words with their first bytes set, and with their last: by how many.
FIRST = np.array([(1 << (8 * n)) - 1 for n in range(WORD + 1)], np.uint64)
LAST = np.array([~((1 << (8 * (8 - n))) - 1) % (1 << 64) for n in range(9)], np.uint64)


@dataclass(frozen=True, slots=True, eq=False)
class Fields:
    """Where the cells of a block start and end, column by column."""

    data: bytes  # padded
    words: NDArray[Any]  # the eight bytes from each byte on, the first one lowest
    starts: Int64  # a row for each column
    ends: Int64

    @property
    def count(self) -> int:
        return self.starts.shape[1]

    def text(self, column: int, row: int, encoding: str) -> str:
        cell = self.data[self.starts[column, row] : self.ends[column, row]]
        return cell.decode(encoding)

    def first_words(self, column: int, rows: Int64 | slice, count: int) -> Words:
        """The first `count` words of cells, whatever follows a cell blotted out."""
        start, end = self.starts[column, rows], self.ends[column, rows]
        found = np.empty((len(start), count), np.uint64)
        for which in range(count):
            left = np.clip(end - start - which * WORD, 0, WORD)
            at = np.minimum(start + which * WORD, len(self.words) - 1)
            found[:, which] = self.words[at] & FIRST[left]
        return found


def fields_of(data: bytes, delimiter: bytes, width: int) -> Fields | None:
    """The cells of a block; None where it is not plain."""
    if b'"' in data:
        return None
    line_end = b"\r\n" if b"\r" in data else b"\n"
    if not data.endswith(line_end):
        data += line_end
    padded = b"\0" * PAD + data + b"\0" * PAD
    letters = np.frombuffer(padded, np.uint8)
    is_end = letters == 10
    lines = int(np.count_nonzero(is_end))
    if line_end == b"\r\n" and not data.count(b"\r") == data.count(b"\r\n") == lines:
        return None
    marks = np.flatnonzero(is_end | (letters == delimiter[0]))
    across, rest = divmod(len(marks), lines)
    if rest or across < width:
        return None
    ends = np.ascontiguousarray(marks.reshape(lines, across).T)
    if not (letters[ends[-1]] == 10).all():
        return None
    starts = np.empty_like(ends)
    starts[1:] = ends[:-1] + 1
    starts[0, 0] = PAD
    starts[0, 1:] = ends[-1, :-1] + 1
    ends[-1] -= len(line_end) - 1
    if (ends[width:] != starts[width:]).any():
        return None
    words = np.ndarray((len(padded) - WORD + 1,), "<u8", padded, 0, (1,))
    return Fields(padded, words, starts, ends)
