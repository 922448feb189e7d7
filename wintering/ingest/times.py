"""Which columns of a log hold its times."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

from wintering.ingest.dates import NO_DAY, day_of
from wintering.ingest.stamps import (
    NAIVE,
    UNREADABLE,
    form_of,
    is_time_of_day,
    read_stamps,
    shape_of,
)

# Seconds since 1970 between the years 1990 and 2100; own choice: no older logger
# counts so, and a column of readings never looks like it.
EPOCH_FROM, EPOCH_TO = 631_152_000, 4_102_444_800


@dataclass(frozen=True, slots=True)
class TimeColumns:
    """Where the times are: one column, or a date and a time of day apart."""

    form: Literal["written", "epoch_s", "epoch_ms"]
    date: int
    time: int | None
    rows: tuple[int, ...]  # which sampled rows have a readable time
    others: tuple[int, ...] = ()  # further columns of times, not used

    def cells(self, rows: Sequence[Sequence[str]]) -> list[str]:
        """The text of each row's time; '' where the row is too short."""
        if self.time is None:
            return [r[self.date].strip() if len(r) > self.date else "" for r in rows]
        last = max(self.date, self.time)
        return [
            f"{_date_only(r[self.date])} {r[self.time].strip()}"
            if len(r) > last
            else ""
            for r in rows
        ]


def find_times(rows: list[list[str]]) -> TimeColumns | None:
    """The time columns of sampled rows; None if there are none."""
    width = max((len(row) for row in rows), default=0)
    columns = [[r[i].strip() if len(r) > i else "" for r in rows] for i in range(width)]
    written = {i: found for i, c in enumerate(columns) if (found := _written(c))}
    clocks = [i for i, c in enumerate(columns) if _is_mostly(c, is_time_of_day)]
    if not written:
        return _epoch(columns)
    first = min(written, key=lambda i: (not _has_offset(columns[i]), i))
    with_time = [i for i in written if _has_times(columns[i])]
    others = (*written, *clocks)
    if with_time:
        best = min(with_time, key=lambda i: (not _has_offset(columns[i]), i))
        return TimeColumns("written", best, None, _begun(written[best]), others)
    if not clocks:
        return TimeColumns("written", first, None, _begun(written[first]), others)
    pair = TimeColumns("written", first, clocks[0], (), others)
    good = _readable(pair.cells(rows))
    return replace(pair, rows=_begun(good)) if good else None


def epoch_seconds(text: str, form: str) -> int:
    """Seconds since 1970 from a number of seconds or milliseconds, or UNREADABLE."""
    try:
        number = float(text) if text.isascii() and "_" not in text else np.nan
    except ValueError:
        return UNREADABLE
    seconds = number / 1000 if form == "epoch_ms" else number
    return round(seconds) if EPOCH_FROM <= seconds < EPOCH_TO else UNREADABLE


def _written(cells: list[str]) -> tuple[int, ...]:
    """The rows of a column that hold dates, if it is a column of dates at all."""
    good = _readable(cells)
    return good if _is_enough(good, cells) else ()


def _begun(good: tuple[int, ...]) -> tuple[int, ...]:
    """Without a lone date above the headings, such as the day of the export."""
    if len(good) > 2 and good[1] > good[0] + 1 and good[2] == good[1] + 1:
        return good[1:]
    return good


def _is_enough(good: tuple[int, ...], cells: list[str]) -> bool:
    """Once dates begin they go on: at least half of the rows below hold one."""
    if not good:
        return False
    below = [cell for cell in cells[good[0] :] if cell]
    return len(good) * 2 >= len(below)


def _readable(cells: list[str]) -> tuple[int, ...]:
    stamps = read_stamps(cells)
    orders = ("dmy", "mdy", "ymd")
    return tuple(
        int(i)
        for i in np.flatnonzero(stamps.readable)
        if any(day_of(int(stamps.date_key[i]), order) != NO_DAY for order in orders)
    )


def _has_offset(cells: list[str]) -> bool:
    return bool(np.any(read_stamps(cells).offset_min != NAIVE))


def _has_times(cells: list[str]) -> bool:
    """Whether times of day are written too, and are not all midnight."""
    stamps = read_stamps(cells)
    forms = (form_of(shape_of(cell)) for cell in cells)
    return any(form and form.has_time for form in forms) and bool(
        np.any(stamps.second > 0)
    )


def _is_mostly(cells: list[str], is_one: Callable[[str], bool]) -> bool:
    good = [i for i, cell in enumerate(cells) if cell and is_one(cell)]
    return bool(good) and len(good) * 2 >= sum(1 for c in cells[good[0] :] if c)


def _epoch(columns: list[list[str]]) -> TimeColumns | None:
    for form in ("epoch_s", "epoch_ms"):
        for index, cells in enumerate(columns):
            good = tuple(
                i for i, c in enumerate(cells) if epoch_seconds(c, form) != UNREADABLE
            )
            if _is_enough(good, cells):
                return TimeColumns(form, index, None, good)  # type: ignore[arg-type]
    return None


def _date_only(text: str) -> str:
    """A date, without the midnight that some programs write behind it."""
    text = text.strip()
    form = form_of(shape_of(text))
    if form and form.has_time:
        return text[: form.slices["H"].start].rstrip(" T,")
    return text
