"""Which import each reading of a day came from, and from which row, as bytes.

Rows of a file mostly follow each other at one step, so runs are kept: how many
readings, the import, the first row, and the step; four little-endian 64-bit integers
each, packed by zlib.
"""

import zlib
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Self

import numpy as np
from numpy.typing import NDArray

UNKNOWN = 0  # no import: stored before origins were kept


@dataclass(frozen=True, eq=False)
class Origins:
    """The primary key of a LogImport, and the row in it, of each reading."""

    source: NDArray[np.int64]
    row: NDArray[np.int64]

    @classmethod
    def of(cls, source: int, rows: NDArray[np.int32] | NDArray[np.int64]) -> Self:
        return cls(np.full(len(rows), source, np.int64), rows.astype(np.int64))

    @classmethod
    def unknown(cls, count: int) -> Self:
        return cls(np.full(count, UNKNOWN, np.int64), np.zeros(count, np.int64))

    @classmethod
    def joined(cls, parts: Iterable["Origins"]) -> Self:
        parts = list(parts) or [cls.unknown(0)]
        return cls(
            np.concatenate([part.source for part in parts]),
            np.concatenate([part.row for part in parts]),
        )

    def __len__(self) -> int:
        return len(self.source)

    def at(self, chosen: NDArray[np.bool_] | NDArray[np.int64] | slice) -> "Origins":
        return Origins(self.source[chosen], self.row[chosen])


def pack_origins(origins: Origins) -> bytes:
    count = len(origins)
    if not count:
        return b""
    step = np.diff(origins.row, prepend=origins.row[0])
    is_new = np.ones(count, bool)
    is_new[1:] = np.diff(origins.source) != 0
    # The second of a run sets its step, so it never breaks it.
    is_new[2:] |= (np.diff(step[1:]) != 0) & ~is_new[1:-1]
    first = np.flatnonzero(is_new)
    length = np.diff(first, append=count)
    second = np.minimum(first + 1, count - 1)
    runs = np.stack(
        [
            length,
            origins.source[first],
            origins.row[first],
            np.where(length > 1, step[second], 0),
        ],
        axis=1,
    )
    return zlib.compress(runs.astype("<i8").tobytes(), 1)


def unpack_origins(packed: bytes | memoryview, count: int) -> Origins:
    """What `pack_origins` was given; unknown where a day has none."""
    if not packed:
        return Origins.unknown(count)
    length, source, first, step = _runs(packed)
    begin = np.repeat(np.cumsum(length) - length, length)
    row = np.repeat(first, length) + np.repeat(step, length) * (
        np.arange(len(begin)) - begin
    )
    return Origins(np.repeat(source, length), row)


def sources_in(packed: bytes | memoryview) -> set[int]:
    """The imports that a day's readings came from."""
    return set(_runs(packed)[1].tolist()) if packed else set()


def _runs(packed: bytes | memoryview) -> NDArray[np.int64]:
    runs = np.frombuffer(zlib.decompress(bytes(packed)), "<i8").reshape(-1, 4)
    return runs.T.astype(np.int64)
