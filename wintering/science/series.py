"""From readings that count to clock hours: one temperature an hour.

Every model of chill and warmth is defined on hourly values, so this conversion is part
of each result. Instants are whole seconds since 1970-01-01 00:00 UTC, hours are
numbered from there too; clock hour H covers H <= t < H + 1 h.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Self

import numpy as np
from numpy.typing import ArrayLike, NDArray

from wintering.science.instants import one_value_an_instant, paired

HOUR_S = 3600

HOLD_S = 90 * 60
"""How long a reading of an irregular logger stands for what follows: own choice."""

LEAST_COVER_S = 30 * 60
"""An hour covered for less than this is missing: own choice."""

SLOW_STEP_S, SLOWEST_STEP_S = HOUR_S + 60, 3 * HOUR_S
"""Loggers slower than the first (an hour, and a minute for clocks that wander) are
interpolated to the hours; slower than the second, hours between stay missing."""

BRIDGED_H = 3
"""Gaps of up to so many hours are bridged by a straight line: own choice."""

DECIMALS = 6
"""Hour values are rounded to 1e-6 °C, so that a mean of exactly 7.2 is 7.2."""


@dataclass(frozen=True, eq=False)
class Hourly:
    """One temperature per clock hour, without holes in the count of hours.

    first_hour  number of the first hour since 1970-01-01 00:00 UTC
    c           temperature of each hour [°C]; not a number where it is missing
    bridged     true where the temperature was estimated across a gap
    """

    first_hour: int
    c: NDArray[np.float64]
    bridged: NDArray[np.bool_]

    @classmethod
    def measured(cls, first_hour: int, c: ArrayLike) -> Self:
        """Hours that all come from readings."""
        values = np.asarray(c, dtype=np.float64)
        return cls(first_hour, values, np.zeros(values.shape, dtype=bool))

    @property
    def end_hour(self) -> int:
        """The hour after the last one."""
        return self.first_hour + self.c.size

    def window(self, start_hour: int, end_hour: int) -> "Hourly":
        """The hours from start_hour up to and without end_hour; missing if beyond."""
        c = np.full(max(0, end_hour - start_hour), np.nan)
        bridged = np.zeros(c.shape, dtype=bool)
        first, end = max(start_hour, self.first_hour), min(end_hour, self.end_hour)
        if first < end:
            there = slice(first - start_hour, end - start_hour)
            here = slice(first - self.first_hour, end - self.first_hour)
            c[there], bridged[there] = self.c[here], self.bridged[here]
        return Hourly(start_hour, c, bridged)

    def shifted(self, offset_k: float) -> "Hourly":
        """The same hours warmer by offset_k: a place measured against a sensor."""
        warmer: NDArray[np.float64] = self.c + offset_k
        return Hourly(self.first_hour, warmer.round(DECIMALS), self.bridged)


def hourly_means(seconds: ArrayLike, value_c: ArrayLike) -> Hourly:
    """One temperature for each clock hour from the first reading to the last.

    seconds  instants of the readings, in any order
    value_c  temperatures [°C] of readings that count; not a number is left out

    A logger whose step divides the hour: the mean of the readings in the hour. An
    irregular one: each reading stands until the next, at most 90 min, and an hour
    covered for less than 30 min is missing. A step of 1 to 3 h: straight lines between
    the readings, taken at the hours, those without a reading marked as bridged; across
    more than three missing hours no line is drawn. A longer step: the hours with a
    reading. The published models ask for hourly means (Fresh Quarterly 13, 2021); the
    rules for irregular and slow loggers are own choice.
    """
    at, c = paired(seconds, value_c)
    number = ~np.isnan(c)
    instants, c = one_value_an_instant(at[number], c[number])
    if instants.size == 0:
        return Hourly.measured(0, np.empty(0))
    steps = np.diff(instants)
    # the lower median: a short series with a gap is not a slow one
    step_s = int(np.sort(steps)[(steps.size - 1) // 2]) if steps.size else 0
    if SLOW_STEP_S < step_s <= SLOWEST_STEP_S:
        return _interpolated(instants, c)
    if step_s > SLOWEST_STEP_S or _divides_the_hour(steps):
        return _plain_means(instants, c)
    return _time_weighted(instants, c, step_s)


def _divides_the_hour(steps: NDArray[np.int64]) -> bool:
    """Whether one step, which divides the hour, makes up all others."""
    if steps.size == 0:
        return True
    values, counts = np.unique(steps, return_counts=True)
    usual, count = values[np.argmax(counts)], counts.max()
    beat = 2 * count >= steps.size and np.all(steps % usual == 0)
    return bool(HOUR_S % usual == 0 and beat)


def _plain_means(instants: NDArray[np.int64], c: NDArray[np.float64]) -> Hourly:
    hours = instants // HOUR_S
    return _from_weights(hours, c, np.ones(c.shape), least=1.0)


def _time_weighted(
    instants: NDArray[np.int64], c: NDArray[np.float64], step_s: int
) -> Hourly:
    last = instants[-1]
    # no hour is made up beyond that of the last reading
    end_of_all = min(last + step_s, (last // HOUR_S + 1) * HOUR_S)
    until = np.minimum(np.append(instants[1:], end_of_all), instants + HOLD_S)
    # 90 minutes touch at most three clock hours
    hours = instants[:, np.newaxis] // HOUR_S + np.arange(3)
    begin = np.maximum(instants[:, np.newaxis], hours * HOUR_S)
    end = np.minimum(until[:, np.newaxis], (hours + 1) * HOUR_S)
    weights = np.maximum(end - begin, 0).astype(np.float64)
    used = weights > 0
    values = np.broadcast_to(c[:, np.newaxis], weights.shape)
    return _from_weights(hours[used], values[used], weights[used], least=LEAST_COVER_S)


def _from_weights(
    hours: NDArray[np.int64],
    c: NDArray[np.float64],
    weights: NDArray[np.float64],
    *,
    least: float,
) -> Hourly:
    first = int(hours.min())
    sums = np.bincount(hours - first, weights=c * weights)
    cover = np.bincount(hours - first, weights=weights)
    means = np.divide(
        sums, cover, out=np.full(sums.shape, np.nan), where=cover >= least
    )
    return Hourly.measured(first, np.round(means, DECIMALS))


def _interpolated(instants: NDArray[np.int64], c: NDArray[np.float64]) -> Hourly:
    first = int(-(-instants[0] // HOUR_S))
    hours = np.arange(first, int(instants[-1] // HOUR_S) + 1)
    at = hours * HOUR_S
    after = np.searchsorted(instants, at)
    apart = instants[after] - instants[np.maximum(after - 1, 0)]
    known = (instants[after] == at) | (apart <= (BRIDGED_H + 1) * HOUR_S)
    values = np.where(known, np.interp(at, instants, c), np.nan)
    bridged = known & ~np.isin(hours, instants // HOUR_S)
    return Hourly(first, values.round(DECIMALS), bridged)


def bridge(hourly: Hourly, max_gap_h: int = BRIDGED_H) -> Hourly:
    """Gaps of up to max_gap_h hours filled by straight lines, and marked as bridged.

    Longer gaps, and what lies before the first or after the last hour, stay missing.
    """
    known = np.flatnonzero(~np.isnan(hourly.c))
    holes = np.flatnonzero(np.isnan(hourly.c))
    after = np.searchsorted(known, holes)
    inside = (after > 0) & (after < known.size)
    holes, after = holes[inside], after[inside]
    holes = holes[known[after] - known[after - 1] - 1 <= max_gap_h]
    c, bridged = hourly.c.copy(), hourly.bridged.copy()
    if holes.size:
        c[holes] = np.round(np.interp(holes, known, hourly.c[known]), DECIMALS)
        bridged[holes] = True
    return Hourly(hourly.first_hour, c, bridged)


def align(several: Sequence[Hourly]) -> tuple[int, NDArray[np.float64]]:
    """The first hour, and one array of (hours, series) that covers them all [°C]."""
    filled = [hourly for hourly in several if hourly.c.size]
    if not filled:
        return 0, np.empty((0, len(several)))
    first = min(hourly.first_hour for hourly in filled)
    end = max(hourly.end_hour for hourly in filled)
    return first, np.stack([h.window(first, end).c for h in several], axis=1)


def joined(pieces: Sequence[tuple[Hourly, int, int]]) -> Hourly:
    """One series from pieces (hourly, since_hour, until_hour), the last hour excluded.

    For a tree that stood in several places: at a move the hour belongs to the place
    that held the tree when the hour began. Hours between the pieces are missing.
    """
    if not pieces:
        return Hourly.measured(0, np.empty(0))
    first = min(since for _, since, _ in pieces)
    whole = Hourly.measured(first, np.empty(0)).window(
        first, max(until for _, _, until in pieces)
    )
    taken = np.zeros(whole.c.shape, dtype=bool)
    for hourly, since, until in pieces:
        place = slice(since - first, until - first)
        if taken[place].any():
            raise ValueError("Two pieces cover the same hour: a tree has one place.")
        taken[place] = True
        part = hourly.window(since, until)
        whole.c[place], whole.bridged[place] = part.c, part.bridged
    return whole
