"""Chill and forcing of one column of a log, without a database."""

from datetime import date
from typing import BinaryIO

import numpy as np

from wintering.ingest.clock import DAY_S
from wintering.ingest.reading import NO_VALUE, Answers, Log, resolve
from wintering.ingest.refusals import LogRefused
from wintering.ingest.scanning import scan
from wintering.science.chill import ChillTotals, totals
from wintering.science.series import HOUR_S, Quality, bridge, hourly_means, judge
from wintering.science.units import TemperatureUnit


def chill_of(
    file: BinaryIO,
    *,
    name: str,
    answers: Answers,
    column: str | None = None,
    start: date | None = None,
    end: date | None = None,
) -> tuple[ChillTotals, list[str]]:
    """Totals from the start of one day to the start of another, and what to know.

    Days are those of the logger's clock. Without start they begin with the first
    reading; hours between the given days that have no reading count as missing.
    """
    scanned = scan(file, name, None if column is None else [column])
    if len(scanned.columns) > 1:
        names = ", ".join(c.name for c in scanned.columns)
        raise LogRefused(
            f"{name} has several temperature columns: {names}; choose one with "
            "--column."
        )
    log = resolve(scanned, answers)
    chosen = log.columns[0]
    if chosen.quantity != "temperature":
        raise LogRefused(f"{name}: column {chosen.name} is not a temperature.")
    is_there = chosen.values != NO_VALUE
    seconds = log.seconds[is_there]
    value_c = TemperatureUnit(chosen.unit).to_c(chosen.values[is_there] / 1000)
    quality = judge(seconds, value_c)
    counts = quality == Quality.GOOD
    hours = bridge(hourly_means(seconds[counts], value_c[counts]))
    first = hours.first_hour if start is None else _hour_of(log, start)
    after = hours.end_hour if end is None else _hour_of(log, end)
    window = hours.window(first, after)
    if not len(window.c) or np.isnan(window.c).all():
        raise LogRefused(
            f"{name} has no reading to count between {start or 'its first day'} and "
            f"{end or 'its last'}; its readings run from {_day(seconds.min())} to "
            f"{_day(seconds.max())}."
        )
    return totals(window), _told(log, quality)


def _hour_of(log: Log, day: date) -> int:
    """Number of the first whole clock hour of a day on the logger's clock."""
    midnight = (day - date(1970, 1, 1)).days * DAY_S
    local = log.seconds + log.offset_s
    later = np.flatnonzero(local >= midnight)
    nearest = later[np.argmin(local[later])] if len(later) else np.argmax(local)
    return -(-(midnight - int(log.offset_s[nearest])) // HOUR_S)


def _day(second: int) -> str:
    return str(np.datetime64(int(second), "s").astype("datetime64[D]"))


def _told(log: Log, quality: np.ndarray) -> list[str]:
    told = list(log.warnings)
    if log.rejected:
        first = log.rejected[0]
        told.append(
            f"{len(log.rejected)} rows could not be read, first row {first.row}: "
            f"{first.reason}."
        )
    for kind in Quality:
        count = int(np.sum(quality == kind))
        if count and kind != Quality.GOOD:
            told.append(f"{count} readings set aside: {kind.reason}.")
    return told
