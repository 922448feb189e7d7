"""A sensor's readings of one day as bytes, and back; nothing else knows the form.

Version 1: the byte 1, then by zlib: for each reading the step from the one before in
seconds (the first from the day's start), then the steps in thousandths, as
little-endian 32-bit integers that wrap around, then a quality byte each. Steps repeat,
so they pack well; nothing is rounded or lost.

Beside them lie, in forms of their own, the extremes of each hour (24 lows, then 24
highs, little-endian 32-bit thousandths) and, in `origins.py`, where each came from.
"""

import zlib
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Self

import numpy as np
from numpy.typing import NDArray

VERSION = 1
DAY_S = 86_400
HOURS = 24
NO_LOW, NO_HIGH = 2**31 - 1, -(2**31)  # of an hour without a reading that counts
_LEVEL = 3  # of packing: the readings of a minute logger, a tenth larger than at 6
_EPOCH = date(1970, 1, 1).toordinal()


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
    return (day.toordinal() - _EPOCH) * DAY_S


def day_of(second: int) -> date:
    """The UTC day that a second lies in."""
    return date.fromordinal(int(second) // DAY_S + _EPOCH)


def second_from(at: datetime) -> int:
    """The first whole second not before an instant, since 1970."""
    return -int(-at.timestamp() // 1)


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
    return bytes([VERSION]) + zlib.compress(payload, _LEVEL)


def unpack(day: date, packed: bytes | memoryview) -> Readings:
    """The readings of one day as they were packed."""
    return unpack_days([(day, packed)])


def unpack_days(days: Sequence[tuple[date, bytes | memoryview]]) -> Readings:
    """The readings of several days one after the other, in the order given.

    All are worked out together: a winter of many sensors is thousands of days.
    """
    payloads = [_payload(packed) for _, packed in days]
    count = np.array([len(payload) // 9 for payload in payloads], np.int64)
    starts = np.array([start_of(day) for day, _ in days], np.int64)
    of_day = _from_steps([p[: 4 * n] for p, n in _each(payloads, count)], count)
    values = _from_steps([p[4 * n : 8 * n] for p, n in _each(payloads, count)], count)
    quality = b"".join([p[8 * n :] for p, n in _each(payloads, count)])
    return Readings(
        of_day.astype(np.int64) + np.repeat(starts, count),
        values,
        np.frombuffer(quality, np.uint8).copy(),
    )


def pack_hours(day: date, readings: Readings) -> bytes:
    """The extremes of each of a day's hours, of the readings that count."""
    counted = readings.counted
    edges = start_of(day) + np.arange(HOURS + 1) * 3600
    at = np.searchsorted(counted.seconds, edges)
    extremes = np.empty((2, HOURS), "<i4")
    extremes[0], extremes[1] = NO_LOW, NO_HIGH
    is_there = np.flatnonzero(np.diff(at))
    if len(is_there):
        begins = at[is_there]
        extremes[0, is_there] = np.minimum.reduceat(counted.thousandths, begins)
        extremes[1, is_there] = np.maximum.reduceat(counted.thousandths, begins)
    return extremes.tobytes()


def unpack_hours(
    packed: Sequence[bytes | memoryview],
) -> tuple[NDArray[np.int32], NDArray[np.int32]]:
    """Lows and highs, a row of 24 hours a day; NO_LOW and NO_HIGH where none counts."""
    whole = np.frombuffer(b"".join(packed), "<i4").reshape(len(packed), 2, HOURS)
    return whole[:, 0].astype(np.int32), whole[:, 1].astype(np.int32)


def _payload(packed: bytes | memoryview) -> bytes:
    packed = bytes(packed)
    if not packed or packed[0] != VERSION:
        raise ValueError("These readings were packed by another version.")
    try:
        payload = zlib.decompress(packed[1:])
    except zlib.error as error:
        raise ValueError("These packed readings are damaged.") from error
    if len(payload) % 9:
        raise ValueError("These packed readings are damaged.")
    return payload


def _each(
    payloads: list[bytes], count: NDArray[np.int64]
) -> Iterable[tuple[bytes, int]]:
    return zip(payloads, count.tolist(), strict=True)


def _steps(numbers: NDArray[np.int64] | NDArray[np.int32]) -> NDArray[np.uint32]:
    """Differences modulo 2**32, so that any 32-bit step comes back unharmed."""
    whole = numbers.astype(np.int64)
    return np.diff(whole, prepend=np.int64(0)).astype(np.uint32).astype("<u4")


def _from_steps(parts: list[bytes], count: NDArray[np.int64]) -> NDArray[np.int32]:
    """Numbers from their steps, each day's sum begun anew; modulo 2**32."""
    steps = np.frombuffer(b"".join(parts), "<u4")
    sums = np.cumsum(steps, dtype=np.uint32)
    before = np.concatenate([[0], sums])[np.cumsum(count) - count].astype(np.uint32)
    return (sums - np.repeat(before, count)).view(np.int32)
