"""The story's clock, and bending a temperature series to what the story tells."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

import numpy as np
from numpy.typing import ArrayLike, NDArray

Series = NDArray[np.float64]

# The story's own wall clock, which knows no zone and no clock change.
START = datetime(2024, 10, 1)  # noqa: DTZ001
END = datetime(2025, 5, 1)  # noqa: DTZ001
STEP = timedelta(minutes=10)
STEPS_A_DAY = 144
STEPS = (END - START) // STEP
DAYS = (END - START).days
MONTHS = (10, 11, 12, 1, 2, 3, 4)
EASE_STEPS = 24


def step_of(month: int, day: int, hour: int, minute: int = 0) -> int:
    """Number of the step that begins at a moment of the story."""
    year = START.year if month >= START.month else END.year
    return (datetime(year, month, day, hour, minute) - START) // STEP  # noqa: DTZ001


def hours_of_day() -> Series:
    return np.arange(STEPS) % STEPS_A_DAY / 6.0


def month_of_steps() -> NDArray[np.int64]:
    """Index into MONTHS of every step."""
    days = [START + timedelta(days=number) for number in range(DAYS)]
    return np.repeat([MONTHS.index(day.month) for day in days], STEPS_A_DAY)


def monthly_means(series: Series) -> Series:
    month = month_of_steps()
    return np.bincount(month, weights=series) / np.bincount(month)


def through_months(values: ArrayLike) -> Series:
    """A line through one value for each month, at the month's middle."""
    month = month_of_steps()
    middles = [np.flatnonzero(month == n).mean() for n in range(len(MONTHS))]
    return np.interp(np.arange(STEPS), middles, values)


def bent(series: Series, means: Sequence[float]) -> Series:
    """The series, lifted smoothly until its monthly means are those given."""
    for _ in range(12):
        series = series + through_months(np.asarray(means) - monthly_means(series))
    return series


@dataclass(frozen=True, slots=True)
class Pull:
    """A value that a series takes at one step, and how far around it that reaches."""

    step: int
    c: float
    reach_h: float


def pulled(series: Series, events: Sequence[Pull]) -> Series:
    """The series, drawn to each event's value around its moment."""
    steps = np.arange(series.size)
    series = series.copy()
    for _ in range(8):
        for event in events:
            away_h = (steps - event.step) / 6
            weight = np.exp(-0.5 * (away_h / event.reach_h) ** 2)
            series += weight * (event.c - series[event.step])
    return series


def softened(series: Series, floor: Series, room_k: float = 4.0) -> Series:
    """The series with what lies near or below a floor bent up to stay above it."""
    over = series - floor
    kept = room_k * np.exp(np.minimum(over / room_k - 1, 0))
    return np.where(over < room_k, floor + kept, series)


def told(series: Series, points: Sequence[tuple[int, float]]) -> Series:
    """The series with a told stretch in place of its own, eased in and out."""
    steps = np.arange(series.size)
    stretch = np.interp(steps, [step for step, _ in points], [c for _, c in points])
    away = np.maximum(points[0][0] - steps, steps - points[-1][0])
    own = away.clip(0, EASE_STEPS) / EASE_STEPS
    return stretch * (1 - own) + series * own
