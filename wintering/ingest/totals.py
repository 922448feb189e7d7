"""Chill and forcing of a log, or of a sheet of daily extremes, without a database."""

from datetime import date, timedelta, timezone, tzinfo
from typing import BinaryIO

import numpy as np

from wintering.ingest.clock import DAY_S, midnight
from wintering.ingest.daily import DailySheet
from wintering.ingest.reading import NO_VALUE, Answers, Log, resolve
from wintering.ingest.refusals import LogRefused
from wintering.ingest.surveying import survey_log
from wintering.science import min_max
from wintering.science.chill import ChillTotals, totals
from wintering.science.screening import Quality, judge
from wintering.science.series import HOUR_S, bridge, hourly_means
from wintering.science.units import TemperatureUnit

_NEVER = 10**9  # hours; later than any that can be rebuilt


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
    seen = survey_log(file, name=name, columns=None if column is None else [column])
    if len(seen.chosen) > 1:
        names = ", ".join(series.name for series in seen.chosen)
        raise LogRefused(
            f"{name} has several temperature columns: {names}; choose one with "
            "--column."
        )
    log = resolve(seen, answers)
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


def rebuilt_chill_of(
    sheet: DailySheet,
    *,
    latitude_deg: float,
    longitude_deg: float,
    zone: tzinfo | None = None,
    start: date | None = None,
    end: date | None = None,
) -> min_max.ReconstructedChill:
    """Totals of hours rebuilt from one minimum and one maximum a day.

    Days begin on the clock of the file, else in zone, else at the whole hour nearest to
    mean solar midnight. Without start they begin with the first hour that can be
    rebuilt, without end they stop after the last: the first night and the last evening
    lean on days beyond the sheet.
    """
    rebuilt = min_max.reconstruct(
        sheet.days, latitude_deg=latitude_deg, longitude_deg=longitude_deg
    )
    hours = rebuilt.first_hour + np.flatnonzero(~np.isnan(rebuilt.curve_c))
    clock = sheet.clock or zone or timezone(timedelta(hours=round(longitude_deg / 15)))
    first = _first_hour(start, clock) if start else hours.min(initial=_NEVER)
    after = _first_hour(end, clock) if end else hours.max(initial=-_NEVER) + 1
    if not np.any((hours >= first) & (hours < after)):
        raise LogRefused(
            f"{sheet.name} has no hour to rebuild between {start or 'its first day'} "
            f"and {end or 'its last'}; its days run from {sheet.first} to "
            f"{sheet.last}, and an hour needs both figures of its day, and with "
            "--reset-at a reading on the day before too."
        )
    return min_max.chill_of(rebuilt, int(first), int(after))


def _first_hour(day: date, clock: tzinfo) -> int:
    """Number of the first whole clock hour of a day."""
    return -(-midnight(day.year, day.month, day.day, clock) // HOUR_S)


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
