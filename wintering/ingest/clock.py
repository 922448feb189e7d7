"""Local clock times into UTC, the repeated hour of autumn told apart by row order."""

import re
from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta, timezone, tzinfo
from functools import cache
from typing import Literal
from zoneinfo import ZoneInfo, available_timezones

import numpy as np
from numpy.typing import NDArray

Int64 = NDArray[np.int64]
Bools = NDArray[np.bool_]

DAY_S = 86_400
_OFFSET = re.compile(r"(?:UTC|GMT)?([+-])(\d{1,2})(?::?(\d\d))?", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class Placed:
    """Seconds since 1970 in UTC, and what the local times were like."""

    seconds: Int64
    is_missing: Bools  # times that the clock skips in spring, so never showed
    is_unsure: Bools  # taken as the first pass of a repeated hour, but not settled
    is_shuffled: Bools  # of a repeated hour sorted by the clock: nobody can tell


def zone_of(text: str) -> tzinfo:
    """An IANA name or an offset such as -05:00 as a zone; ValueError says what not."""
    name = text.strip().replace("\u2212", "-")
    if name.upper() in {"Z", "UTC", "GMT"}:
        return UTC
    match = _OFFSET.fullmatch(name)
    if match:
        minutes = int(match[2]) * 60 + int(match[3] or 0)
        # The farthest offsets in use are -12:00 and +14:00.
        if minutes <= 14 * 60 and int(match[3] or 0) < 60:
            return timezone(timedelta(minutes=-minutes if match[1] == "-" else minutes))
    elif name in _zone_names():
        return ZoneInfo(name)
    raise ValueError(
        f"No time zone is called '{text}': write it like Europe/Oslo or -05:00."
    )


def to_utc(
    local: Int64,
    zone: tzinfo,
    *,
    usual_s: int | None = None,
    repeated: Literal["first", "second"] | None = None,
) -> Placed:
    """Local clock times, in the order they were logged, as UTC.

    local     seconds since 1970-01-01 00:00 on the local clock
    usual_s   the step between most of the log's rows; worked out if not given
    repeated  which pass of a repeated hour rows belong to that cannot tell it
    """
    early, late = _offsets(local, zone)
    is_repeated = early > late
    is_second = np.zeros(len(local), bool)
    is_unsure = np.zeros(len(local), bool)
    is_shuffled = np.zeros(len(local), bool)
    usual_s = _usual_step(local) if usual_s is None else usual_s
    for start, stop in _runs(is_repeated, local):
        if _is_sorted_by_clock(local, early - late, start, stop, usual_s):
            is_shuffled[start:stop] = True
            continue
        told = _second_pass(local, early - late, start, stop, usual_s)
        is_unsure[start:stop] = told is None and repeated is None
        is_second[start:stop] = repeated == "second" if told is None else told
    seconds = local - np.where(is_second, late, early)
    return Placed(seconds, early < late, is_unsure, is_shuffled)


def is_shown_twice(local: Int64, zone: tzinfo) -> Bools:
    """Which local times the zone's clocks show twice."""
    early, late = _offsets(local, zone)
    return early > late


def midnight(year: int, month: int, day: int, zone: tzinfo) -> int:
    """Seconds since 1970 at which a local day begins."""
    return int(datetime(year, month, day, tzinfo=zone).timestamp())


def runs_backwards(local: Int64) -> bool:
    """Whether a file has its newest rows first."""
    steps = np.diff(local)
    return int(np.sum(steps < 0)) > int(np.sum(steps > 0))


@cache
def _zone_names() -> frozenset[str]:
    return frozenset(available_timezones())


def _offsets(local: Int64, zone: tzinfo) -> tuple[Int64, Int64]:
    """Seconds east of UTC for the first and second pass of each local time."""
    of_row = local // DAY_S
    # A day's readings mostly stand together.
    heads = np.flatnonzero(np.diff(of_row, prepend=-(2**62)))
    days, of_day = np.unique(of_row[heads], return_inverse=True)
    of_day = np.repeat(of_day, np.diff(heads, append=len(local)))
    at_day = _lookup(zone)
    # Where neither end of a day nor the ends of its neighbours differ, nothing changes.
    edges = np.array(
        [[at_day(int(d) * DAY_S + s, 0) for s in (-7200, 0, DAY_S, DAY_S + 7200)]
         for d in days],
        np.int64,
    ).reshape(len(days), 4)  # fmt: skip
    early = edges[:, 1][of_day]
    late = early.copy()
    is_steady = np.all(edges == edges[:, :1], axis=1)[of_day]
    changing = np.flatnonzero(~is_steady)
    times, of_time = np.unique(local[changing], return_inverse=True)
    for fold, offsets in ((0, early), (1, late)):
        found = np.array([at_day(int(t), fold) for t in times], np.int64)
        if len(changing):
            offsets[changing] = found[of_time]
    return early, late


def _lookup(zone: tzinfo) -> Callable[[int, int], int]:
    epoch = datetime(1970, 1, 1)  # noqa: DTZ001 - a local clock has no zone yet

    def offset_s(local_s: int, fold: int) -> int:
        at = (epoch + timedelta(seconds=local_s)).replace(tzinfo=zone, fold=fold)
        offset = at.utcoffset()
        assert offset is not None, "every zone here is aware"
        return int(offset.total_seconds())

    return offset_s


def _runs(chosen: Bools, local: Int64) -> list[tuple[int, int]]:
    """Unbroken runs of chosen rows that belong to one night."""
    at = np.flatnonzero(chosen)
    if not len(at):
        return []
    is_new = (np.diff(at) > 1) | (np.abs(np.diff(local[at])) > DAY_S)
    starts = np.concatenate([[0], np.flatnonzero(is_new) + 1])
    stops = np.concatenate([starts[1:], [len(at)]])
    return [
        (int(at[a]), int(at[b - 1]) + 1) for a, b in zip(starts, stops, strict=True)
    ]


def _second_pass(
    local: Int64, repeated_s: Int64, start: int, stop: int, usual: int
) -> Bools | None:
    """Which rows of a repeated hour were logged after the clock was put back.

    None where the rows cannot tell.
    """
    times = local[start:stop]
    back = np.flatnonzero(np.diff(times) < 0)
    if len(back) == 1:
        return np.arange(len(times)) > back[0]
    if len(back):
        return None  # put back more often than a clock is
    twice = np.diff(times) == 0
    if twice.any() and not _was_paired_before(local, start):
        if len(times) > 2 or usual < int(repeated_s[start]):
            return None
        return np.arange(len(times)) % 2 == 1
    # Only one pass was logged: the one that stands the usual step from its neighbours.
    repeated = int(repeated_s[start])
    before = local[start] - local[start - 1] if start else None
    after = local[stop] - local[stop - 1] if stop < len(local) else None
    if_first = (before == usual) + (after is not None and after + repeated == usual)
    if_second = (before is not None and before + repeated == usual) + (after == usual)
    if if_first == if_second:
        return None
    return np.full(len(times), if_second > if_first)


def _usual_step(local: Int64) -> int:
    steps = np.diff(local)
    steps, counts = np.unique(steps[steps > 0], return_counts=True)
    return int(steps[np.argmax(counts)]) if len(steps) else 0


def _is_sorted_by_clock(
    local: Int64, repeated_s: Int64, start: int, stop: int, usual: int
) -> bool:
    """Every time twice, one right after the other, though the logger's step is shorter
    than what is repeated: which of two came first is lost.

    With as long a step, each pass has one reading, and they stand so by themselves.
    """
    times = local[start:stop]
    is_longer = len(times) > 2 or usual < int(repeated_s[start])
    return is_longer and _comes_in_pairs(times) and not _was_paired_before(local, start)


def _comes_in_pairs(times: Int64) -> bool:
    """Every time twice, one right after the other."""
    return (
        len(times) > 0
        and len(times) % 2 == 0
        and bool(np.all(times[0::2] == times[1::2]))
        and bool(np.all(np.diff(times[0::2]) > 0))
    )


def _was_paired_before(local: Int64, start: int) -> bool:
    """Whether rows come twice anyway, outside the repeated hour."""
    return start >= 2 and local[start - 1] == local[start - 2]
