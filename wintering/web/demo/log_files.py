"""The invented winter as the files that its loggers would have written."""

from dataclasses import dataclass
from datetime import datetime, timedelta, timezone
from typing import Any

from wintering.science.units import c_to_f
from wintering.web.demo.weather import moments, temperatures_c

UNIT_TEXT = {"c": "°C", "f": "°F"}


@dataclass(frozen=True, slots=True)
class LogFile:
    """One log: its name, its columns as (heading, sensor), its text."""

    name: str
    columns: tuple[tuple[str, str], ...]
    text: str


def log_files(
    described: list[dict[str, Any]], *, shift: timedelta, now: datetime
) -> list[LogFile]:
    """Write every log up to now.

    described  the logs' names, sensors, units, delimiters and decimal signs
    shift      whole weeks between the story's days and today's
    now        with the offset that the loggers keep throughout, so that the latest
               days carry the frame's wall clock whatever season it is
    """
    offset = timezone(now.utcoffset() or timedelta())
    stamps = [(moment + shift).replace(tzinfo=offset) for moment in moments()]
    written = sum(stamp <= now for stamp in stamps)
    times = [stamp.isoformat() for stamp in stamps[:written]]
    return [_log_file(one, times) for one in described]


def _log_file(described: dict[str, Any], times: list[str]) -> LogFile:
    unit, delimiter = described["unit"], described["delimiter"]
    names = described["columns"]
    headings = [f"{name} ({UNIT_TEXT[unit]})" for name in names]
    cells = [_cells(name, len(times), unit, described["decimal"]) for name in names]
    lines = [delimiter.join(["time", *headings])]
    for row in zip(times, *cells, strict=True):
        if any(row[1:]):  # a logger that is silent writes no line
            lines.append(delimiter.join(row))
    columns = tuple(zip(headings, names, strict=True))
    return LogFile(described["name"], columns, "\n".join(lines) + "\n")


def _cells(name: str, count: int, unit: str, decimal: str) -> list[str]:
    series = temperatures_c()[name][:count]
    if unit == "f":
        series = c_to_f(series)
    values = (series + 0.0).tolist()  # -0.0 becomes 0.0
    texts = (f"{value:.1f}".replace(".", decimal) for value in values)
    return ["" if text == "nan" else text for text in texts]
