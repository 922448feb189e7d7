"""From a chart to positions and words, ready for the template."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime

import numpy as np
from django.utils.formats import date_format

from wintering.web.charts.axes import time_ticks, value_ticks
from wintering.web.charts.contents import Chart, Event, Fan, Series, Span
from wintering.web.charts.lines import Floats, path, runs, thinned
from wintering.web.charts.table import Table, table

COLUMNS, PLOT_PX, TOP_PX = 900, 240, 20
NARROW_COLUMNS = 320
LETTER_PX, LINE_PX, EVENT_ROW_PX, TICK_PX = 7.5, 15, 16, 5
MINUS = "\N{MINUS SIGN}"


@dataclass(frozen=True, slots=True)
class Box:
    """x and width in per cent, y and height in pixels."""

    x: float
    width: float
    y: float
    height: float
    name: str = ""


@dataclass(frozen=True, slots=True)
class Mark:
    """A word at a place. Where there is no room: wide screens only, or nowhere."""

    x: float
    y: float
    text: str
    level: str = ""
    text_y: float = 0
    fits_narrow: bool = True
    fits: bool = True

    @property
    def anchor(self) -> str:
        if self.x < 6:
            return "start"
        return "end" if self.x > 90 else "middle"


@dataclass(frozen=True, slots=True)
class Line:
    """All runs of a series as path data; `number` picks its pattern of dashes."""

    name: str
    d: str
    number: int
    is_expected: bool


@dataclass(frozen=True, slots=True)
class Area:
    """A fan as path data, closed; `number` picks its fill."""

    name: str
    d: str
    number: int


@dataclass(frozen=True, slots=True)
class Drawing:
    title: str
    summary: str
    unit: str
    decimals: int
    columns: int
    height: float
    plot_top: float
    plot_bottom: float
    bands: tuple[Box, ...]
    nights: tuple[Box, ...]
    spans: tuple[Box, ...]
    value_marks: tuple[Mark, ...]
    time_marks: tuple[Mark, ...]
    thresholds: tuple[Mark, ...]
    events: tuple[Mark, ...]
    lines: tuple[Line, ...]
    areas: tuple[Area, ...]
    table: Table
    notes: tuple[str, ...]

    @property
    def tick_bottom(self) -> float:
        return self.plot_bottom + TICK_PX

    @property
    def is_empty(self) -> bool:
        return not any(line.d for line in self.lines)


class Scale:
    """Where an instant and a value lie on the drawing."""

    def __init__(self, chart: Chart) -> None:
        self.since_s = chart.since.timestamp()
        self.span_s = chart.until.timestamp() - self.since_s
        self.low, self.high = _value_range(chart)

    def x(self, at: datetime) -> float:
        share = (at.timestamp() - self.since_s) / self.span_s
        return round(100 * min(1.0, max(0.0, share)), 2)

    def y(self, value: float) -> float:
        share = (self.high - value) / (self.high - self.low)
        return round(TOP_PX + PLOT_PX * min(1.0, max(0.0, share)), 1)


def draw(chart: Chart) -> Drawing:
    scale = Scale(chart)
    foot = TOP_PX + PLOT_PX
    events = _event_marks(chart.events, scale, foot + 36)
    rows = len({mark.y for mark in events})
    return Drawing(
        title=chart.title,
        summary=chart.summary or _summary(chart),
        unit=chart.unit,
        decimals=chart.decimals,
        columns=COLUMNS,
        height=foot + 26 + EVENT_ROW_PX * rows,
        plot_top=TOP_PX,
        plot_bottom=foot,
        bands=tuple(_band_box(b.low, b.high, b.name, scale) for b in chart.bands),
        nights=_span_boxes(chart.nights, scale),
        spans=_span_boxes(chart.spans, scale),
        value_marks=_value_marks(scale),
        time_marks=_time_marks(chart, scale, foot + 19),
        thresholds=_threshold_marks(chart, scale),
        events=events,
        lines=tuple(_line(s, n, scale) for n, s in enumerate(chart.series, 1)),
        areas=tuple(_area(f, n, scale) for n, f in enumerate(chart.fans, 1)),
        table=table(chart),
        notes=tuple(_notes(chart)),
    )


def _value_range(chart: Chart) -> tuple[float, float]:
    wanted = [*chart.include, *(t.value for t in chart.thresholds)]
    for band in chart.bands:
        wanted += [end for end in (band.low, band.high) if end is not None]
    edges = (edge for fan in chart.fans for edge in fan.ends)
    for series in (*chart.series, *edges):
        values = _inside(series, chart)
        if values.size:
            wanted += [float(values.min()), float(values.max())]
    low, high = (min(wanted), max(wanted)) if wanted else (0.0, 1.0)
    room = (high - low) * 0.06 or 1.0
    # An axis that must show 0 and nothing below it starts there.
    floor = low if chart.include and low == min(chart.include) else low - room
    return floor, high + room


def _inside(series: Series, chart: Chart) -> Floats:
    """The known values within the chart's time."""
    first, end = chart.since.timestamp(), chart.until.timestamp()
    within = (series.at_s >= first) & (series.at_s <= end)
    within &= ~np.isnan(series.values)
    if series.upper is None:
        return series.values[within]
    return np.concatenate([series.values[within], series.upper[within]])


def _line(series: Series, number: int, scale: Scale) -> Line:
    edges = [series.values]
    # A column of one reading has one edge.
    if not np.array_equal(series.values, series.highest, equal_nan=True):
        edges.append(series.highest)
    d = "".join(_edge(series, edge, scale) for edge in edges)
    return Line(series.name, d, number, series.is_expected)


def _edge(series: Series, values: Floats, scale: Scale) -> str:
    share = (series.at_s - scale.since_s) / scale.span_s
    within = (share >= 0) & (share <= 1)
    x, values = share[within] * COLUMNS, values[within]
    y = _heights(values, scale)
    pieces = []
    for run in runs(series.at_s[within], values, series.gap_after_s):
        kept = thinned(x[run].astype(np.int64), values[run])
        pieces.append(path(x[run][kept], y[run][kept]))
    return "".join(pieces)


def _area(fan: Fan, number: int, scale: Scale) -> Area:
    """Out along the upper edge and back along the lower."""
    share = (fan.at_s - scale.since_s) / scale.span_s
    within = (share >= 0) & (share <= 1)
    x = share[within] * COLUMNS
    if not x.size:
        return Area(fan.name, "", number)
    high, low = (_heights(edge[within], scale) for edge in (fan.high, fan.low))
    outline = path(np.append(x, x[::-1]), np.append(high, low[::-1]))
    return Area(fan.name, outline + "Z", number)


def _heights(values: Floats, scale: Scale) -> Floats:
    return TOP_PX + PLOT_PX * (scale.high - values) / (scale.high - scale.low)


def _band_box(low: float | None, high: float | None, name: str, scale: Scale) -> Box:
    top = scale.y(scale.high if high is None else high)
    bottom = scale.y(scale.low if low is None else low)
    return Box(0, 100, top, round(bottom - top, 1), name)


def _span_boxes(spans: Iterable[Span], scale: Scale) -> tuple[Box, ...]:
    boxes = (
        Box(
            x=scale.x(span.since),
            width=round(scale.x(span.until) - scale.x(span.since), 2),
            y=TOP_PX,
            height=PLOT_PX,
            name=span.name,
        )
        for span in spans
    )
    return tuple(box for box in boxes if box.width > 0)


def _value_marks(scale: Scale) -> tuple[Mark, ...]:
    ticks = value_ticks(scale.low, scale.high)
    return tuple(Mark(0, scale.y(v), f"{v:g}".replace("-", MINUS)) for v in ticks)


def _time_marks(chart: Chart, scale: Scale, y: float) -> tuple[Mark, ...]:
    ticks = time_ticks(chart.since, chart.until, chart.zone)
    marks, narrow_end = [], -100.0
    for at, text in ticks:
        x = scale.x(at)
        left = _left(x, NARROW_COLUMNS, text)
        fits = left > narrow_end
        if fits:
            narrow_end = left + _width(text)
        marks.append(Mark(x, y, text, fits_narrow=fits))
    return tuple(marks)


def _threshold_marks(chart: Chart, scale: Scale) -> tuple[Mark, ...]:
    """Lines from the top down; where two lie close, the lower is named below itself."""
    marks: list[Mark] = []
    for threshold in sorted(chart.thresholds, key=lambda t: -t.value):
        y = scale.y(threshold.value)
        is_close = bool(marks) and y - marks[-1].y < LINE_PX
        text_y = y + LINE_PX - 2 if is_close else y - 5
        marks.append(Mark(100, y, threshold.name, threshold.level, text_y=text_y))
    return tuple(marks)


def _event_marks(
    events: Sequence[Event], scale: Scale, first_y: float
) -> tuple[Mark, ...]:
    """Words on two rows below the axis; what finds no room keeps its tick alone."""
    wide, narrow = [-100.0, -100.0], [-100.0, -100.0]
    marks = []
    for event in sorted(events, key=lambda e: e.at):
        x = scale.x(event.at)
        row = next((r for r in (0, 1) if _left(x, COLUMNS, event.name) > wide[r]), None)
        at_row = row or 0
        fits_narrow = row is not None and (
            _left(x, NARROW_COLUMNS, event.name) > narrow[at_row]
        )
        if row is not None:
            wide[row] = _left(x, COLUMNS, event.name) + _width(event.name)
        if fits_narrow:
            narrow[at_row] = _left(x, NARROW_COLUMNS, event.name) + _width(event.name)
        marks.append(
            Mark(
                x,
                first_y + EVENT_ROW_PX * at_row,
                event.name,
                fits_narrow=fits_narrow,
                fits=row is not None,
            )
        )
    return tuple(marks)


def _width(text: str) -> float:
    """What a text takes, with some room to the next."""
    return len(text) * LETTER_PX + 8


def _left(x: float, columns: int, text: str) -> float:
    """Where a text begins, as its anchor will have it."""
    shift = {"start": 0.0, "middle": 0.5, "end": 1.0}[Mark(x, 0, "").anchor]
    return x / 100 * columns - shift * _width(text)


def _summary(chart: Chart) -> str:
    sentences = [_extremes(series, chart) for series in chart.series]
    return " ".join(sentences) or "Nothing to show yet."


def _extremes(series: Series, chart: Chart) -> str:
    values = _inside(series, chart)
    if not values.size:
        return f"{series.name}: nothing known in this time."
    low, high = float(values.min()), float(values.max())
    if low == high:
        return f"{series.name}: {number(low, chart)} throughout."
    return (
        f"{series.name}: lowest {number(low, chart)} on {_when(series, low, chart)}, "
        f"highest {number(high, chart)} on {_when(series, high, chart)}."
    )


def _when(series: Series, value: float, chart: Chart) -> str:
    first, end = chart.since.timestamp(), chart.until.timestamp()
    within = (series.at_s >= first) & (series.at_s <= end)
    is_it = (series.values == value) | (series.highest == value)
    at_s = float(series.at_s[within & is_it][0])
    return date_format(datetime.fromtimestamp(at_s, chart.zone), "D j M, H:i")


def number(value: float, chart: Chart) -> str:
    text = f"{value:.{chart.decimals}f}".replace("-", MINUS)
    return f"{text} {chart.unit}".strip()


def _notes(chart: Chart) -> Iterable[str]:
    """What the drawing shows beside its lines, in words for the table."""
    for band in chart.bands:
        ends = [e for e in (band.low, band.high) if e is not None]
        yield f"{band.name}: {' to '.join(number(end, chart) for end in ends)}."
    for threshold in chart.thresholds:
        yield f"{threshold.name}: {number(threshold.value, chart)}."
    for span in chart.spans:
        yield f"{span.name}: {_day(span.since, chart)} to {_day(span.until, chart)}."
    for event in chart.events:
        yield f"{_day(event.at, chart)}: {event.name}."


def _day(at: datetime, chart: Chart) -> str:
    return date_format(at.astimezone(chart.zone), "D j M")
