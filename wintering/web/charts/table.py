"""The same as a table: lowest and highest by hours, day, week or month."""

from dataclasses import dataclass
from datetime import date, datetime, time, timedelta

import numpy as np
from django.utils.formats import date_format

from wintering.web.charts.contents import Chart, Fan, Series
from wintering.web.charts.lines import Floats

# Less of a row covered by readings than this is said to have gaps. Own choice.
COVERED = 0.9


@dataclass(frozen=True, slots=True)
class Cell:
    """Lowest and highest of a stretch of time, None where nothing is known."""

    low: float | None
    high: float | None
    has_gaps: bool


@dataclass(frozen=True, slots=True)
class Row:
    name: str
    cells: tuple[Cell, ...]


@dataclass(frozen=True, slots=True)
class Table:
    period: str
    rows: tuple[Row, ...]


def table(chart: Chart) -> Table:
    days = (chart.until - chart.since).total_seconds() / 86400
    if days <= 3:
        period, starts, name = "From", _hours(chart), "D j M, H:i"
    elif days <= 45:
        period, starts, name = "Day", _days(chart, 1), "D j M"
    elif days <= 240:
        period, starts, name = "Week from", _days(chart, 7), "D j M"
    else:
        period, starts, name = "Month", _months(chart), "M Y"
    edges = np.array([at.timestamp() for at in starts])
    columns = [_cells(series, edges) for series in chart.series]
    columns += [_fan_cells(fan, edges) for fan in chart.fans]
    rows = (
        Row(date_format(start, name), tuple(column[n] for column in columns))
        for n, start in enumerate(starts[:-1])
    )
    known = tuple(row for row in rows if any(c.low is not None for c in row.cells))
    return Table(period, known)


def _cells(series: Series, edges: Floats) -> list[Cell]:
    """One cell for each stretch between two edges."""
    inside = np.searchsorted(edges, series.at_s, side="right") - 1
    covered = _covered_s(series, edges)
    cells = []
    for n in range(edges.size - 1):
        of_row = (inside == n) & ~np.isnan(series.values)
        values, highs = series.values[of_row], series.highest[of_row]
        share = covered[n] / (edges[n + 1] - edges[n])
        if values.size:
            low, high = float(values.min()), float(highs.max())
            cells.append(Cell(low, high, has_gaps=bool(share < COVERED)))
        else:
            cells.append(Cell(None, None, has_gaps=True))
    return cells


def _fan_cells(fan: Fan, edges: Floats) -> list[Cell]:
    """From the least of the lower edge to the most of the upper."""
    lower, upper = (_cells(edge, edges) for edge in fan.ends)
    return [
        Cell(low.low, high.high, low.has_gaps)
        for low, high in zip(lower, upper, strict=True)
    ]


def _covered_s(series: Series, edges: Floats) -> Floats:
    """Seconds of each stretch that a line of the series runs through."""
    known = ~np.isnan(series.values)
    at_s = series.at_s
    joined = known[:-1] & known[1:] & (np.diff(at_s) <= series.gap_after_s)
    begin, end = at_s[:-1][joined], at_s[1:][joined]
    # A line through several edges counts in each stretch it crosses.
    running = np.array([_until(edge, begin, end) for edge in edges])
    return np.diff(running)


def _until(edge: float, begin: Floats, end: Floats) -> float:
    return float(np.clip(edge - begin, 0, end - begin).sum())


def _hours(chart: Chart) -> list[datetime]:
    local = chart.since.astimezone(chart.zone)
    start = local.replace(hour=local.hour // 3 * 3, minute=0, second=0, microsecond=0)
    hours = (chart.until - start).total_seconds() / 3600
    # Counted in elapsed time: a changed clock adds or leaves out a row's hour.
    utc = [start.timestamp() + 3 * 3600 * n for n in range(int(hours // 3) + 2)]
    return [datetime.fromtimestamp(at, chart.zone) for at in utc]


def _days(chart: Chart, step: int) -> list[datetime]:
    first = chart.since.astimezone(chart.zone).date()
    if step == 7:
        first -= timedelta(days=first.weekday())
    last = chart.until.astimezone(chart.zone).date()
    count = (last - first).days // step + 2
    return [_midnight(first + timedelta(days=step * n), chart) for n in range(count)]


def _months(chart: Chart) -> list[datetime]:
    first = chart.since.astimezone(chart.zone)
    last = chart.until.astimezone(chart.zone)
    numbers = range(first.year * 12 + first.month - 1, last.year * 12 + last.month + 1)
    return [_midnight(date(n // 12, n % 12 + 1, 1), chart) for n in numbers]


def _midnight(day: date, chart: Chart) -> datetime:
    return datetime.combine(day, time(), chart.zone)
