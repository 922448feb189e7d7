"""A log file into readings: UTC seconds, and whole thousandths of the stated unit.

Scanning takes what can be read without asking; here the times find their place,
which may need a zone or a date order that only a person knows.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, tzinfo
from typing import BinaryIO, Literal, Self

import numpy as np
from numpy.typing import NDArray

from wintering.ingest.clock import DAY_S, runs_backwards, to_utc, zone_of
from wintering.ingest.dates import NO_DAY, Order, days_of, settle_order
from wintering.ingest.headings import Unit
from wintering.ingest.refusals import LogQuestion, LogRefused
from wintering.ingest.scanning import NO_VALUE, Int32, Int64, Rejected, Scan, scan
from wintering.ingest.sniffing import Dialect
from wintering.ingest.stamps import NAIVE
from wintering.ingest.units import settle_unit

__all__ = ["NO_VALUE", "Answers", "Log", "LogColumn", "Rejected", "read_log", "resolve"]


@dataclass(frozen=True, slots=True)
class Answers:
    """What a person said about a file, or a frame remembers from the last one."""

    zone: tzinfo | None = None
    date_order: Order | None = None
    remembered_order: Order | None = None
    unit: Unit | None = None

    @classmethod
    def of(
        cls,
        *,
        zone: str | None = None,
        date_order: Order | None = None,
        remembered_order: Order | None = None,
        unit: Unit | None = None,
    ) -> Self:
        try:
            place = zone_of(zone) if zone else None
        except ValueError as error:
            raise LogRefused(str(error)) from error
        return cls(place, date_order, remembered_order, unit)


@dataclass(frozen=True, slots=True)
class LogColumn:
    name: str
    quantity: Literal["temperature", "humidity"]
    unit: Unit
    values: Int32  # thousandths of the unit; NO_VALUE where the cell was empty


@dataclass(frozen=True, slots=True)
class Log:
    """A file's readings in file order, repeats kept."""

    name: str
    dialect: Dialect
    row: Int32  # lines of the file, the first being 1
    seconds: Int64  # since 1970, UTC
    columns: tuple[LogColumn, ...]
    rejected: tuple[Rejected, ...]
    warnings: tuple[str, ...]
    is_naive: bool  # the file itself does not say its zone
    date_order: Order | None  # None: the dates leave nothing to settle
    offset_s: Int32  # of the logger's clock east of UTC, at each reading


def read_log(
    file: BinaryIO,
    *,
    name: str,
    answers: Answers,
    columns: Sequence[str] | None = None,
) -> Log:
    """Read a log whole; raises LogRefused, or LogQuestion where it has to be asked."""
    return resolve(scan(file, name, columns), answers)


def resolve(scanned: Scan, answers: Answers) -> Log:
    """Scanned rows as readings, with what a person answered."""
    settled = [
        settle_unit(scanned, which, answers.unit)
        for which in range(len(scanned.columns))
    ]
    order = settle_order(
        scanned.date_key,
        name=scanned.name,
        given=answers.date_order,
        remembered=answers.remembered_order,
    )
    times = _placed(scanned, order, answers.zone)
    keep = times.is_good
    columns = tuple(
        LogColumn(column.name, unit.quantity, unit.unit, values[keep])
        for column, unit, values in zip(
            scanned.columns, settled, scanned.values, strict=True
        )
    )
    _refuse_nothing(scanned, columns, times.rejected)
    rejected = sorted([*scanned.rejected, *times.rejected], key=lambda r: r.row)
    warnings = [unit.warning for unit in settled if unit.warning]
    return Log(
        name=scanned.name,
        dialect=scanned.dialect,
        row=scanned.row[keep],
        seconds=times.seconds[keep],
        columns=columns,
        rejected=tuple(rejected),
        warnings=(*warnings, *times.warnings, *_steps_back(scanned, times)),
        is_naive=times.is_naive,
        date_order=order,
        offset_s=(times.local - times.seconds)[keep].astype(np.int32),
    )


@dataclass(slots=True)
class _Times:
    seconds: Int64
    local: Int64
    is_good: NDArray[np.bool_]
    is_naive: bool
    rejected: list[Rejected]
    warnings: list[str]


def _placed(scanned: Scan, order: Order | None, zone: tzinfo | None) -> _Times:
    """Every row's instant in UTC, where it has one."""
    if scanned.dialect.times.form != "written":
        good = np.ones(len(scanned.row), bool)
        return _Times(scanned.second, scanned.second, good, False, [], [])
    days = days_of(scanned.date_key, order)
    is_date = days != NO_DAY
    rejected = [
        Rejected(int(row), "its date is not in the calendar")
        for row in scanned.row[~is_date]
    ]
    local = np.where(is_date, days, 0) * DAY_S + scanned.second
    stated = scanned.dialect.offset_min
    offset = scanned.offset_min
    if stated is not None:
        offset = np.where(offset == NAIVE, stated, offset)
    seconds = local - np.where(offset == NAIVE, 0, offset) * 60
    times = _Times(seconds, local, is_date, False, rejected, [])
    naive = np.flatnonzero(is_date & (offset == NAIVE))
    if len(naive):
        _place_naive(scanned, times, naive, zone)
    return times


def _place_naive(
    scanned: Scan, times: _Times, naive: Int64, zone: tzinfo | None
) -> None:
    if zone is None:
        raise LogQuestion(
            f"{scanned.name} writes times such as {_clock(times.local[naive[0]])} "
            "without saying their zone; say which zone (Europe/Oslo) or offset "
            "(-05:00) the logger kept.",
            about="zone",
        )
    ordered = naive[::-1] if runs_backwards(times.local[naive]) else naive
    placed = to_utc(times.local[ordered], zone)
    times.is_naive = True
    times.seconds[ordered] = placed.seconds
    missing = np.sort(ordered[placed.is_missing])
    if not len(missing):
        return
    times.is_good[missing] = False
    reason = f"the clocks of {zone} skipped this time"
    times.rejected += [
        Rejected(int(scanned.row[i]), f"{_clock(times.local[i])}: {reason}")
        for i in missing
    ]
    times.warnings.append(
        f"Row {scanned.row[missing[0]]} says {_clock(times.local[missing[0]])}, a time "
        f"that the clocks of {zone} skipped: a logger that does not change its clock "
        "needs a fixed offset such as -05:00 as its zone."
    )


def _steps_back(scanned: Scan, times: _Times) -> list[str]:
    """Says where time runs back, which a changed or wrongly placed clock would do."""
    at = np.flatnonzero(times.is_good)
    if runs_backwards(times.seconds[at]):
        at = at[::-1]
    back = np.flatnonzero(np.diff(times.seconds[at]) < 0)
    if not len(back):
        return []
    before, after = at[back[0]], at[back[0] + 1]
    return [
        f"Time runs back at row {scanned.row[after]}, from "
        f"{_clock(times.local[before])} to {_clock(times.local[after])}, and in "
        f"{len(back)} place(s) in all: check the logger's clock and its zone."
    ]


def _refuse_nothing(
    scanned: Scan, columns: tuple[LogColumn, ...], rejected: list[Rejected]
) -> None:
    if any((column.values != NO_VALUE).any() for column in columns):
        return
    why = [*scanned.rejected, *rejected]
    found = f": row {why[0].row}: {why[0].reason}" if why else ": every cell is empty"
    raise LogRefused(
        f"{scanned.name} has no readable row{found}; expected a date and time and a "
        "temperature in each."
    )


def _clock(local_s: int) -> str:
    return f"{datetime.fromtimestamp(int(local_s), UTC):%Y-%m-%d %H:%M}"
