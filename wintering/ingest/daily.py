"""A sheet of one line a day, minimum and maximum, into the extremes of each day.

Cells, dates and units are read as in any log. A row that cannot be right is left out
with its reason, and its day is then unknown: nothing is put right here.
"""

from collections import Counter
from dataclasses import dataclass
from datetime import date, time, timedelta, timezone, tzinfo
from typing import BinaryIO

import numpy as np

from wintering.ingest.daily_rows import (
    NO_DATE,
    NOTHING,
    OTHER_HALF,
    Celsius,
    Reasons,
    Scan,
    date_of,
    first_of_each_day,
    listed,
    noted,
    reasons_of,
    scan,
    swapped,
)
from wintering.ingest.dates import days_of, settle_order
from wintering.ingest.headings import UNIT_NAMES
from wintering.ingest.opening import Answers
from wintering.ingest.refusals import LogQuestion, LogRefused
from wintering.ingest.scanning import NO_VALUE, Int64, Rejected
from wintering.ingest.stamps import NAIVE
from wintering.ingest.units import Settled, settle_units
from wintering.science.min_max import DailyExtremes, MinMaxReading, extremes
from wintering.science.units import TemperatureUnit

_NO_RESET = "No --reset-at: minimum and maximum are taken as of the day beside them."
_TOLD = 8  # reasons told one by one; a hand-kept sheet has fewer


@dataclass(frozen=True, slots=True)
class DailySheet:
    """What a sheet says of each day, and which of its rows were left out."""

    name: str
    first: date
    last: date
    days: DailyExtremes
    clock: tzinfo | None  # stated in the file itself
    rejected: tuple[Rejected, ...]
    warnings: tuple[str, ...]

    def told(self) -> list[str]:
        """Everything a person has to know of it, rejected rows by their reason."""
        counts = Counter(r.reason for r in self.rejected)
        first = {r.reason: r.row for r in reversed(self.rejected)}
        lines = [
            f"{count} row(s) left out, the first row {first[reason]}: {reason}."
            for reason, count in counts.most_common(_TOLD)
        ]
        rest = counts.total() - sum(n for _, n in counts.most_common(_TOLD))
        more = [f"{rest} more row(s) left out for other reasons."] if rest else []
        return [*self.warnings, *lines, *more]


def read_daily(
    file: BinaryIO,
    *,
    name: str,
    min_column: str,
    max_column: str,
    answers: Answers,
    reset_at: time | None = None,
) -> DailySheet:
    """The extremes of each day; raises LogRefused, or LogQuestion where it has to ask.

    Without reset_at both figures are taken as of the day beside them. A day written
    twice with different figures is unknown: which row is right, the file cannot say.
    """
    scanned = scan(file, name, [min_column, max_column])
    _refuse_other_tables(scanned, reset_at)
    units = _settled(scanned, answers)
    min_c, max_c = (_in_c(scanned, i, unit) for i, unit in enumerate(units))
    order = settle_order(
        scanned.date_key.tolist(),
        name=name,
        given=answers.date_order,
        remembered=None,
    )
    day = days_of(scanned.date_key, order)
    reasons = reasons_of(scanned, day, min_c, max_c, reset_at)
    _refuse_swapped(name, swapped(reasons, min_c, max_c))
    rejected = listed(scanned, reasons)
    used = np.flatnonzero(reasons == "")
    if not len(used):
        raise LogRefused(
            f"{name} has no day with a minimum and a maximum: row {rejected[0].row}: "
            f"{rejected[0].reason}."
        )
    known = first_of_each_day(day, used)
    days = (
        _as_written(day[known], min_c[known], max_c[known])
        if reset_at is None
        else _as_read(day, min_c, max_c, reasons, reset_at)
    )
    return DailySheet(
        name=name,
        first=date_of(day[known[0]]),
        last=date_of(day[known[-1]]),
        days=days,
        clock=_stated_clock(scanned, answers),
        rejected=rejected,
        warnings=(
            *([] if reset_at else [_NO_RESET]),
            *(unit.warning for unit in units if unit.warning),
            *noted(scanned, day, used, min_c + max_c),
        ),
    )


def _refuse_other_tables(scanned: Scan, reset_at: time | None) -> None:
    if scanned.columns[0].index == scanned.columns[1].index:
        raise LogRefused(
            f"{scanned.name}: --min and --max name the same column, "
            f"{scanned.columns[0].name}; name one for each."
        )
    if scanned.dialect.times.form != "written":
        raise LogRefused(
            f"{scanned.name} counts its days in seconds; a sheet of daily minimum and "
            "maximum needs dates such as 2024-11-30."
        )
    timed = np.flatnonzero(scanned.second > 0)
    if len(timed) and reset_at is None:
        hour, minute = divmod(int(scanned.second[timed[0]]) // 60, 60)
        raise LogRefused(
            f"{scanned.name} writes times of day such as {hour:02}:{minute:02} in row "
            f"{scanned.row[timed[0]]}: say with --reset-at when the thermometer is "
            "read and reset."
        )


def _refuse_swapped(name: str, counts: tuple[int, int] | None) -> None:
    if counts:
        raise LogRefused(
            f"{name}: the minimum lies above the maximum in {counts[0]} of {counts[1]} "
            "rows: are --min and --max the wrong way round?"
        )


def _settled(scanned: Scan, answers: Answers) -> list[Settled]:
    """The unit of each column; one that says nothing beside one that does is asked."""
    seen = scanned.seen
    units = list(settle_units(seen.scanner, seen.chosen, answers.unit))
    for column, unit in zip(scanned.columns, units, strict=True):
        if unit.quantity != "temperature":
            raise LogRefused(
                f"{scanned.name}: column {column.name} is not a temperature."
            )
        if unit.is_by_row:
            raise LogRefused(
                f"{scanned.name} mixes units in column {column.name}; expected one "
                "unit in each column of a sheet of daily extremes."
            )
    if units[0].unit != units[1].unit and any(unit.warning for unit in units):
        silent, other = (0, 1) if units[0].warning else (1, 0)
        raise LogQuestion(
            f"{scanned.name}: column {scanned.columns[silent].name} does not say its "
            f"unit, and column {scanned.columns[other].name} is in "
            f"{UNIT_NAMES[units[other].unit]}; say whether both are.",
            about="unit",
        )
    return units


def _in_c(scanned: Scan, which: int, unit: Settled) -> Celsius:
    values = scanned.values[which]
    number = np.where(values == NO_VALUE, np.nan, values / 1000)
    return TemperatureUnit(unit.unit).to_c(number)


def _as_written(day: Int64, min_c: Celsius, max_c: Celsius) -> DailyExtremes:
    """Both figures of the day beside them."""
    whole = np.full((2, int(day[-1] - day[0]) + 1), np.nan)
    whole[:, day - day[0]] = min_c, max_c
    return DailyExtremes(date_of(day[0]), whole[0], whole[1])


def _as_read(
    day: Int64, min_c: Celsius, max_c: Celsius, reasons: Reasons, reset_at: time
) -> DailyExtremes:
    """Both figures as a thermometer that is reset once a day shows them.

    A row with a wrong figure still tells that it was reset on that day.
    """
    shown = {
        int(day[row]): (np.nan, np.nan)
        for row, reason in enumerate(reasons)
        if reason not in {NO_DATE, NOTHING, OTHER_HALF}
    }
    for row in np.flatnonzero(reasons == ""):
        shown[int(day[row])] = float(min_c[row]), float(max_c[row])
    readings = [MinMaxReading(date_of(day), *shown[day]) for day in sorted(shown)]
    return extremes(readings, reset_at=reset_at)


def _stated_clock(scanned: Scan, answers: Answers) -> tzinfo | None:
    """The clock of the dates, where the file has one offset throughout."""
    heading = scanned.dialect.offset_min
    stated = scanned.offset_min[scanned.offset_min != NAIVE]
    offsets = np.unique(stated) if len(stated) else np.array([heading], object)
    if len(offsets) > 1 and answers.zone is None:
        raise LogQuestion(
            f"{scanned.name} states {len(offsets)} offsets from UTC; say which zone "
            "(Europe/Oslo) the keeper's clock is in.",
            about="zone",
        )
    if len(offsets) > 1 or offsets[0] is None:
        return None
    return timezone(timedelta(minutes=int(offsets[0])))
