"""What a chart shows: lines over time against a band, with marks."""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import datetime, tzinfo

import numpy as np
from numpy.typing import NDArray

from wintering.science.units import c_to_f

HOUR_S = 3600


@dataclass(frozen=True, slots=True, eq=False)
class Series:
    """Values over time, in the unit of the chart; not a number where unknown.

    at_s         seconds since 1970 UTC, rising
    is_expected  what may come instead of what was
    gap_after_s  two values further apart than this are not joined by a line
    upper        the highest where each value is the lowest of a column of many; the
                 line is drawn along both
    """

    name: str
    at_s: NDArray[np.float64]
    values: NDArray[np.float64]
    is_expected: bool = False
    gap_after_s: float = 3 * HOUR_S
    upper: NDArray[np.float64] | None = None

    @property
    def highest(self) -> NDArray[np.float64]:
        return self.values if self.upper is None else self.upper

    @classmethod
    def of(
        cls, name: str, points: Iterable[tuple[datetime, float | None]], **more: object
    ) -> "Series":
        """A series from instants and values, None where unknown."""
        pairs = [(at.timestamp(), np.nan if v is None else v) for at, v in points]
        at_s, values = np.array(pairs, dtype=float).reshape(-1, 2).T
        return cls(name, at_s, values, **more)  # type: ignore[arg-type]


@dataclass(frozen=True, slots=True, eq=False)
class Fan:
    """A range that changes over time: what may come, from the least to the most.

    at_s  seconds since 1970 UTC, rising; low and high are known at each
    """

    name: str
    at_s: NDArray[np.float64]
    low: NDArray[np.float64]
    high: NDArray[np.float64]

    @property
    def ends(self) -> tuple[Series, Series]:
        """Its lower and upper edge as lines."""
        return (
            Series(self.name, self.at_s, self.low, gap_after_s=np.inf),
            Series(self.name, self.at_s, self.high, gap_after_s=np.inf),
        )


@dataclass(frozen=True, slots=True)
class Band:
    """The range that is wanted; open at an end that is None."""

    low: float | None
    high: float | None
    name: str


@dataclass(frozen=True, slots=True)
class Threshold:
    """A line to stay above or below. Level: tonight, week, watch or nothing."""

    value: float
    name: str
    level: str = ""


@dataclass(frozen=True, slots=True)
class Span:
    """A marked stretch of time: hatched and named, or a night, shaded."""

    since: datetime
    until: datetime
    name: str = ""


@dataclass(frozen=True, slots=True)
class Event:
    at: datetime
    name: str


@dataclass(frozen=True, slots=True, eq=False)
class Chart:
    """Everything that one drawing shows.

    include  values that the axis must reach whatever the series do, such as 0
    summary  what the drawing says; empty: the extremes of each series in sentences
    """

    title: str
    unit: str
    since: datetime
    until: datetime
    zone: tzinfo
    series: tuple[Series, ...]
    fans: tuple[Fan, ...] = ()
    bands: tuple[Band, ...] = ()
    thresholds: tuple[Threshold, ...] = ()
    spans: tuple[Span, ...] = ()
    nights: tuple[Span, ...] = ()
    events: tuple[Event, ...] = ()
    include: tuple[float, ...] = ()
    decimals: int = 1
    summary: str = ""

    def __post_init__(self) -> None:
        assert self.since < self.until, "a chart covers some time"


def in_fahrenheit(chart: Chart) -> Chart:
    """The same chart for a reader of °F; charts of anything but °C stay as they are."""
    if chart.unit != "°C":
        return chart
    return replace(
        chart,
        unit="°F",
        series=tuple(_series_f(s) for s in chart.series),
        fans=tuple(
            replace(f, low=c_to_f(f.low), high=c_to_f(f.high)) for f in chart.fans
        ),
        bands=tuple(replace(b, low=_f(b.low), high=_f(b.high)) for b in chart.bands),
        thresholds=tuple(replace(t, value=c_to_f(t.value)) for t in chart.thresholds),
        include=tuple(c_to_f(value) for value in chart.include),
    )


def _series_f(series: Series) -> Series:
    upper = None if series.upper is None else c_to_f(series.upper)
    return replace(series, values=c_to_f(series.values), upper=upper)


def _f(value_c: float | None) -> float | None:
    return None if value_c is None else c_to_f(value_c)
