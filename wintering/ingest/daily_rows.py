"""Which rows of a sheet of daily minimum and maximum count, and why others do not."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, time, timedelta
from typing import BinaryIO

import numpy as np
from numpy.typing import NDArray

from wintering.ingest.clock import DAY_S, runs_backwards
from wintering.ingest.columns import Column
from wintering.ingest.dates import NO_DAY
from wintering.ingest.scanning import Block, Int32, Int64, Rejected
from wintering.ingest.sniffing import Dialect
from wintering.ingest.surveying import Surveyed, survey_log
from wintering.science.min_max import EPOCH
from wintering.science.screening import Quality, judge

Celsius = NDArray[np.float64]
Reasons = NDArray[np.object_]  # why a row is left out; '' where it counts

_NOON_S = 12 * 3600
NO_DATE = "its date is not in the calendar"
NOTHING = (
    "neither minimum nor maximum is recorded (an empty cell, or a code such as -9999)"
)
_WRONG_WAY = "its maximum is below its minimum"
_NEARLY_ALL = 0.9  # own choice: a few rows with both figures alike stay as they are
_TWICE = "its day is written more than once, with different figures: keep the right one"
OTHER_HALF = "it was read on the other side of noon from the reset"


@dataclass(frozen=True, slots=True, eq=False)
class Scan:
    """A sheet's rows as numbers, in file order, its dates still as written."""

    seen: Surveyed
    columns: tuple[Column, ...]
    row: Int32
    date_key: Int64
    second: Int64  # of the day
    offset_min: Int64
    values: tuple[Int32, ...]  # thousandths of the stated unit, or NO_VALUE
    rejected: tuple[Rejected, ...]

    @property
    def name(self) -> str:
        return self.seen.name

    @property
    def dialect(self) -> Dialect:
        return self.seen.dialect


def scan(file: BinaryIO, name: str, columns: Sequence[str]) -> Scan:
    """A sheet whole: one row a day is never long."""
    seen = survey_log(file, name=name, columns=columns)
    block = Block.joined(list(seen.blocks()))
    return Scan(
        seen=seen,
        columns=tuple(series.column for series in seen.chosen),
        row=block.row,
        date_key=block.date_key,
        second=block.second,
        offset_min=block.offset_min,
        values=tuple(block.values[series.which] for series in seen.chosen),
        rejected=tuple(sorted(block.rejected, key=lambda told: told.row)),
    )


def reasons_of(
    scanned: Scan, day: Int64, min_c: Celsius, max_c: Celsius, reset_at: time | None
) -> Reasons:
    """Why each row is left out, the first reason that holds; '' where it counts."""
    unreadable = {r.row: r.reason for r in scanned.rejected}
    reasons = np.array([unreadable.get(int(r), "") for r in scanned.row], object)
    judged = [
        (f"its {word} is {kind.reason}", _judged(day, c) == kind)
        for word, c in (("minimum", min_c), ("maximum", max_c))
        for kind in (Quality.CODE_VALUE, Quality.OUT_OF_RANGE)
    ]
    for reason, holds in (
        (NO_DATE, day == NO_DAY),
        (NOTHING, np.isnan(min_c) & np.isnan(max_c)),
        (OTHER_HALF, _in_other_half(scanned.second, reset_at)),
        *judged,
        (_WRONG_WAY, max_c < min_c),
    ):
        reasons[holds & (reasons == "")] = reason
    return _without_contradictions(day, min_c, max_c, reasons)


def _judged(day: Int64, c: Celsius) -> NDArray[np.uint8]:
    """The quality of each figure; what was not recorded is no fault."""
    return np.where(np.isnan(c), np.uint8(Quality.GOOD), judge(day * DAY_S, c))


def _in_other_half(second: Int64, reset_at: time | None) -> NDArray[np.bool_]:
    """Rows with a time of day that puts their maximum on another day."""
    if reset_at is None:
        return np.zeros(len(second), bool)
    is_morning = second < _NOON_S
    return (second > 0) & (is_morning != (reset_at.hour < 12))


def _without_contradictions(
    day: Int64, min_c: Celsius, max_c: Celsius, reasons: Reasons
) -> Reasons:
    used = np.flatnonzero(reasons == "")
    # not-a-number differs from itself, but an unknown repeats an unknown
    figures = np.nan_to_num(np.stack([min_c, max_c], axis=1)[used], nan=-9999.0)
    said = np.unique(np.column_stack([day[used], figures]), axis=0)[:, 0]
    days, times = np.unique(said, return_counts=True)
    reasons[used[np.isin(day[used], days[times > 1])]] = _TWICE
    return reasons


def swapped(reasons: Reasons, min_c: Celsius, max_c: Celsius) -> tuple[int, int] | None:
    """How many of the rows with both figures have them the wrong way round.

    None where they are too few to speak for more than slips of the pen.
    """
    wrong = int(np.sum(reasons == _WRONG_WAY))
    both = wrong + int(np.sum((reasons == "") & ~np.isnan(min_c + max_c)))
    return (wrong, both) if wrong and wrong >= _NEARLY_ALL * both else None


def listed(scanned: Scan, reasons: Reasons) -> tuple[Rejected, ...]:
    """Each row left out once, also those that hold no readable date."""
    left_out = {r.row: r.reason for r in reversed(scanned.rejected)}
    for row, reason in zip(scanned.row, reasons, strict=True):
        if reason:
            left_out[int(row)] = str(reason)
    return tuple(Rejected(row, left_out[row]) for row in sorted(left_out))


def first_of_each_day(day: Int64, rows: Int64) -> Int64:
    """Of rows that count, one for each day, in the order of the days."""
    return rows[np.unique(day[rows], return_index=True)[1]]


def noted(scanned: Scan, day: Int64, used: Int64, sum_c: Celsius) -> list[str]:
    """What is odd about the rows that count."""
    notes = []
    halves = used[np.isnan(sum_c[used])]
    if len(halves):
        notes.append(
            f"{len(halves)} row(s) have only one of minimum and maximum, the first row "
            f"{scanned.row[halves[0]]}: hours that lean on the other are missing."
        )
    again = len(used) - len(first_of_each_day(day, used))
    if again:
        notes.append(f"{again} row(s) repeat a day with the same figures.")
    used = used[::-1] if runs_backwards(day[used]) else used
    back = np.flatnonzero(np.diff(day[used]) < 0)
    if len(back):
        at = used[back[0] + 1]
        before, after = date_of(day[used[back[0]]]), date_of(day[at])
        notes.append(
            f"Dates run back at row {scanned.row[at]}, from {before} to {after}, and "
            f"in {len(back)} place(s) in all: check the year."
        )
    return notes


def date_of(day: int | np.int64) -> date:
    return EPOCH + timedelta(days=int(day))
