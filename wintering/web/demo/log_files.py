"""The invented winter as the files that its loggers would have written."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta, timezone
from typing import Any

from wintering.science.units import c_to_f
from wintering.web.demo.earlier import earlier_c, earlier_moments
from wintering.web.demo.shaping import Series
from wintering.web.demo.weather import moments, readings

UNIT_TEXT = {"c": "(°C)", "f": "(°F)", "pct": "RH (%)"}


@dataclass(frozen=True, slots=True)
class LogFile:
    """One log: its name, its columns as (heading, sensor), its text."""

    name: str
    columns: tuple[tuple[str, str], ...]
    text: str


def log_files(
    described: list[dict[str, Any]],
    *,
    shift: timedelta,
    now: datetime,
    offsets_k: Mapping[str, float] | None = None,
) -> list[LogFile]:
    """Write every log up to now.

    described  the logs' names, sensors, units, delimiters and decimal signs; `earlier`
               where they tell of the years before
    shift      whole weeks between the story's days and today's
    now        with the offset that the loggers keep throughout, so that the latest
               days carry the frame's wall clock whatever season it is
    offsets_k  how much too high each sensor shows, as its check in ice found before
               the winter; the years before are as they were read then
    """
    zone = timezone(now.utcoffset() or timedelta())
    winter = _times(moments(), shift, zone, now)
    before = _times(earlier_moments(), shift, zone, now)
    return [
        _log_file(one, before, earlier_c())
        if one.get("earlier")
        else _log_file(one, winter, _shown(offsets_k or {}))
        for one in described
    ]


def _shown(offsets_k: Mapping[str, float]) -> dict[str, Series]:
    return {
        name: series + offsets_k.get(name, 0.0) for name, series in readings().items()
    }


def _times(
    clock: list[datetime], shift: timedelta, zone: timezone, now: datetime
) -> list[str]:
    stamps = [(moment + shift).replace(tzinfo=zone) for moment in clock]
    return [stamp.isoformat() for stamp in stamps if stamp <= now]


def _log_file(
    described: dict[str, Any], times: list[str], series: dict[str, Series]
) -> LogFile:
    unit, delimiter = described["unit"], described["delimiter"]
    names = described["columns"]
    headings = [f"{name} {UNIT_TEXT[unit]}" for name in names]
    cells = [
        _cells(series[name][: len(times)], unit, described["decimal"]) for name in names
    ]
    lines = [delimiter.join(["time", *headings])]
    for row in zip(times, *cells, strict=True):
        if any(row[1:]):  # a logger that is silent writes no line
            lines.append(delimiter.join(row))
    columns = tuple(zip(headings, names, strict=True))
    return LogFile(described["name"], columns, "\n".join(lines) + "\n")


def _cells(series: Series, unit: str, decimal: str) -> list[str]:
    if unit == "f":
        series = c_to_f(series)
    values = (series + 0.0).tolist()  # -0.0 becomes 0.0
    texts = (f"{value:.1f}".replace(".", decimal) for value in values)
    return ["" if text == "nan" else text for text in texts]
