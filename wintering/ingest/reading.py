"""A whole log at once, for files that are not long."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import BinaryIO, Literal

import numpy as np

from wintering.ingest.dates import Order
from wintering.ingest.headings import Unit
from wintering.ingest.opening import Answers, OpenLog
from wintering.ingest.placing import Placed
from wintering.ingest.refusals import LogRefused
from wintering.ingest.scanning import NO_VALUE, Int32, Int64, Rejected
from wintering.ingest.sniffing import Dialect
from wintering.ingest.surveying import Surveyed, nothing_readable, survey_log

__all__ = ["NO_VALUE", "Answers", "Log", "LogColumn", "Rejected", "read_log", "resolve"]


@dataclass(frozen=True, slots=True)
class LogColumn:
    name: str
    quantity: Literal["temperature", "humidity"]
    unit: Unit
    values: Int32  # thousandths of the unit; NO_VALUE where the cell was empty


@dataclass(frozen=True, slots=True)
class Log:
    """A whole file's readings in file order, repeats kept; for logs that are not long.

    In long form a row has a value in the column of its own name alone.
    """

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
    return resolve(survey_log(file, name=name, columns=columns), answers)


def resolve(seen: Surveyed, answers: Answers) -> Log:
    """A surveyed log's readings, with what a person answered."""
    opened = OpenLog(seen, answers)
    found = list(opened.placed())
    rejected = opened.rejections
    if not found:
        raise LogRefused(nothing_readable(seen.name, rejected))
    order = np.argsort(np.concatenate([p.block.row for p in found]), kind="stable")
    columns = tuple(
        LogColumn(
            series.name,
            opened.units[which].quantity,
            opened.units[which].unit,
            np.concatenate([_values(opened, which, p) for p in found])[order],
        )
        for which, series in enumerate(opened.series)
    )
    if not any((column.values != NO_VALUE).any() for column in columns):
        raise LogRefused(nothing_readable(seen.name, rejected))
    return Log(
        name=seen.name,
        dialect=seen.dialect,
        row=np.concatenate([p.block.row for p in found])[order],
        seconds=np.concatenate([p.seconds for p in found])[order],
        columns=columns,
        rejected=tuple(rejected.first),
        warnings=opened.warnings,
        is_naive=opened.is_naive,
        date_order=opened.date_order,
        offset_s=np.concatenate([p.offset_s for p in found])[order],
    )


def _values(opened: OpenLog, which: int, placed: Placed) -> Int32:
    values = opened.values_of(which, placed.block, slice(None))
    labels = opened.series[which].labels
    if labels is None or placed.block.label is None:
        return values
    return np.where(np.isin(placed.block.label, labels), values, np.int32(NO_VALUE))
