"""A sensor's readings of one day as bytes, and back; nothing else knows the form.

Version 1: the byte 1, then by zlib: for each reading the step from the one before in
seconds (the first from the day's start), then the steps in thousandths, as
little-endian 32-bit integers that wrap around, then a quality byte each. Steps repeat,
so they pack well; nothing is rounded or lost.
"""

import zlib
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, date, datetime
from typing import Self

import numpy as np
from numpy.typing import NDArray

VERSION = 1
DAY_S = 86_400


@dataclass(frozen=True, eq=False)
class Readings:
    """Instants (UTC seconds since 1970), thousandths of a unit, and quality codes."""

    seconds: NDArray[np.int64]
    thousandths: NDArray[np.int32]
    quality: NDArray[np.uint8]

    @classmethod
    def none(cls) -> Self:
        return cls(np.empty(0, np.int64), np.empty(0, np.int32), np.empty(0, np.uint8))

    @classmethod
    def joined(cls, parts: Iterable["Readings"]) -> Self:
        parts = list(parts) or [cls.none()]
        return cls(
            np.concatenate([part.seconds for part in parts]),
            np.concatenate([part.thousandths for part in parts]),
            np.concatenate([part.quality for part in parts]),
        )

    def __len__(self) -> int:
        return len(self.seconds)

    def at(self, chosen: NDArray[np.bool_] | NDArray[np.int64] | slice) -> "Readings":
        return Readings(
            self.seconds[chosen], self.thousandths[chosen], self.quality[chosen]
        )

    def between(self, start_s: int, end_s: int) -> "Readings":
        """Those from start_s up to and without end_s; the readings are in order."""
        first, end = np.searchsorted(self.seconds, [start_s, end_s])
        return self.at(slice(int(first), int(end)))

    @property
    def counted(self) -> "Readings":
        """Those that no check has set aside."""
        return self.at(self.quality == 0)


def start_of(day: date) -> int:
    """The first second of a UTC day since 1970."""
    return int(datetime(day.year, day.month, day.day, tzinfo=UTC).timestamp())


def day_of(second: int) -> date:
    """The UTC day that a second lies in."""
    return datetime.fromtimestamp(int(second), UTC).date()


def pack(day: date, readings: Readings) -> bytes:
    """One day's readings, in order of time, as bytes."""
    of_day = readings.seconds - start_of(day)
    if np.any((of_day < 0) | (of_day >= DAY_S)):
        raise ValueError(f"Readings of another day than {day} do not belong there.")
    if np.any(np.diff(of_day) <= 0):
        raise ValueError("Readings are packed in order, one at an instant.")
    payload = (
        _steps(of_day).tobytes()
        + _steps(readings.thousandths).tobytes()
        + readings.quality.astype(np.uint8).tobytes()
    )
    return bytes([VERSION]) + zlib.compress(payload, 6)


def unpack(day: date, packed: bytes | memoryview) -> Readings:
    """The readings of one day as they were packed."""
    packed = bytes(packed)
    if not packed or packed[0] != VERSION:
        raise ValueError("These readings were packed by another version.")
    payload = zlib.decompress(packed[1:])
    count, rest = divmod(len(payload), 9)
    if rest:
        raise ValueError("These packed readings are damaged.")
    steps = np.frombuffer(payload, "<u4", count * 2).reshape(2, count)
    of_day, thousandths = np.cumsum(steps, axis=1, dtype=np.uint32).view(np.int32)
    quality = np.frombuffer(payload, np.uint8, count, offset=count * 8)
    return Readings(
        of_day.astype(np.int64) + start_of(day), thousandths.copy(), quality.copy()
    )


def _steps(numbers: NDArray[np.int64] | NDArray[np.int32]) -> NDArray[np.uint32]:
    """Differences modulo 2**32, so that any 32-bit step comes back unharmed."""
    whole = numbers.astype(np.int64)
    return np.diff(whole, prepend=np.int64(0)).astype(np.uint32).astype("<u4")
