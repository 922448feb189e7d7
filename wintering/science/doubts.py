"""What is odd about a series, to be told and counted: nothing is set aside here.

Each function takes the readings that count, as instants in whole seconds since
1970-01-01 00:00 UTC in order of time and temperatures [°C], and returns a `Doubt` for
each span. What the clock of a logger did is in `clock_doubts`.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, tzinfo
from enum import StrEnum

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view
from numpy.typing import ArrayLike, NDArray

from wintering.science.instants import paired
from wintering.science.series import Hourly

HOUR_S = 3600

CALM_H, CALM_K = 12, 0.5
"""Air that varies by less in so many hours: the trade's screening guide, common
practice. A doubt only, for a frame under snow over buried pipes is that calm."""

BLIP_K, BLIP_REACH_S = 3.0, 15 * 60
"""One reading this far off both neighbours, common practice; the reach: own choice."""

STEP_K = 5.0
"""A change by more within an hour is a step: the trade's screening guide."""

NEIGHBOUR_K = 2.0
"""Neighbours that moved by less meanwhile stayed calm: own choice."""

SUN_FROM_H, SUN_UNTIL_H = 10, 15
"""Local hours in which sun on a bare sensor is the usual reason: common practice."""

DRIFT_K, DRIFT_D = 0.5, 30
"""A difference on calm nights that grows by more in so many days: common practice."""

NIGHT_FROM_H, NIGHT_UNTIL_H = 0, 6
NIGHT_K, NIGHT_HOURS = 2.0, 4
"""A calm night: both sensors have at least so many of the hours from the first to the
second local hour, and neither moves by more than 2 K in them. Own choice: no sun, and
too little change for a lag between the two to count."""

LASTS_D = 14
"""Growth that is seen on so many days in a row is drift, not weather: own choice."""

NIGHTS, LEAST_NIGHTS = 7, 3
"""A difference is the median over the calm nights of a week, at least three:
own choice."""

GAP_INTERVALS = 3
"""Nothing for more than so many intervals is a gap: common practice."""

AROUND = 9
"""The interval is the median of so many steps around the gap, because loggers are set
to another one during events: own choice."""

Seconds = NDArray[np.int64]
Celsius = NDArray[np.float64]
Series = tuple[ArrayLike, ArrayLike]


class Kind(StrEnum):
    """What the doubt is about."""

    CALM = "calm"
    BLIP = "blip"
    STEP = "step"
    DRIFT = "drift"
    GAP = "gap"
    CLOCK = "clock"


@dataclass(frozen=True, slots=True)
class Doubt:
    """Something odd from one instant to another, with its figure and in words."""

    kind: Kind
    since_s: int
    until_s: int
    figure: float
    unit: str
    sentence: str


def calm_spells(seconds: ArrayLike, value_c: ArrayLike) -> list[Doubt]:
    """Spells of at least 12 clock hours in which air varied by less than 0.5 K.

    For air only. An hour without a reading ends a spell. The spell is what its windows
    of 12 h cover together, so over all of it the air may vary by more than 0.5 K; the
    figure is how much it did [K].
    """
    at, c = paired(seconds, value_c)
    first, low, high = _hourly_extremes(at, c)
    if low.size < CALM_H:
        return []
    lowest = sliding_window_view(low, CALM_H).min(axis=1)
    highest = sliding_window_view(high, CALM_H).max(axis=1)
    found = []
    for start, end in _runs(highest - lowest < CALM_K):
        hours = slice(start, end + CALM_H - 1)
        varied_k = float(high[hours].max() - low[hours].min())
        length_h = hours.stop - hours.start
        found.append(
            Doubt(
                Kind.CALM,
                (first + hours.start) * HOUR_S,
                (first + hours.stop) * HOUR_S,
                round(varied_k, 3),
                "K",
                f"In {length_h} h the air varied by {varied_k:.2f} K. A frame under "
                "snow can be that calm; so is a sensor that hangs. Compare it with "
                "another one.",
            )
        )
    return found


def _hourly_extremes(at: Seconds, c: Celsius) -> tuple[int, Celsius, Celsius]:
    """First hour, and the low and high of each; without a reading -inf and +inf."""
    if not at.size:
        return 0, c, c
    hour = at // HOUR_S
    starts = np.append(0, np.flatnonzero(np.diff(hour)) + 1)
    low = np.full(int(hour[-1] - hour[0]) + 1, -np.inf)
    high = np.full(low.shape, np.inf)
    low[hour[starts] - hour[0]] = np.minimum.reduceat(c, starts)
    high[hour[starts] - hour[0]] = np.maximum.reduceat(c, starts)
    return int(hour[0]), low, high


def _runs(holds: NDArray[np.bool_]) -> list[tuple[int, int]]:
    """Where a claim holds without a break, as (first, one past the last)."""
    edges = np.diff(np.concatenate(([False], holds, [False])).astype(np.int8))
    starts, ends = np.flatnonzero(edges == 1), np.flatnonzero(edges == -1)
    return list(zip(starts.tolist(), ends.tolist(), strict=True))


def blips(seconds: ArrayLike, value_c: ArrayLike) -> list[Doubt]:
    """Single readings more than 3 K off both neighbours, which lie within 15 min.

    The figure is the distance to the nearer neighbour [K], with its sign.
    """
    at, c = paired(seconds, value_c)
    up, down = c[1:-1] - c[:-2], c[1:-1] - c[2:]
    off = np.where(np.abs(up) < np.abs(down), up, down)
    near = np.diff(at) <= BLIP_REACH_S
    is_blip = (np.sign(up) == np.sign(down)) & (np.abs(off).round(6) > BLIP_K)
    is_blip &= near[:-1] & near[1:]
    return [
        Doubt(
            Kind.BLIP,
            int(at[i + 1]),
            int(at[i + 1]),
            round(float(off[i]), 3),
            "K",
            f"One reading lies {abs(off[i]):.1f} K {'above' if off[i] > 0 else 'below'}"
            " those just before and after it. A door that opens does that too, to "
            "more than one sensor.",
        )
        for i in np.flatnonzero(is_blip)
    ]


def steps(
    seconds: ArrayLike, value_c: ArrayLike, neighbours: Sequence[Series], zone: tzinfo
) -> list[Doubt]:
    """Changes of more than 5 K within an hour while the neighbours stayed calm.

    neighbours  series of sensors that should move alike: the same frame's air
    zone        of the place, to tell the hours of sun

    A step that any neighbour shares, by 2 K or more from an hour before its begin to
    its end, is weather or a door and not told. Where no neighbour has readings the step
    is told, and that nothing could be compared. The figure is the greatest change [K].
    """
    at, c = paired(seconds, value_c)
    before = np.searchsorted(at, at - HOUR_S)
    change = (c - c[before]).round(6)
    others = [paired(*series) for series in neighbours]
    found = []
    for start, end in _runs(np.abs(change) > STEP_K):
        since, until = int(at[before[start]]), int(at[end - 1])
        moved = [m for o in others if (m := _moved_k(*o, since, until)) is not None]
        if all(k < NEIGHBOUR_K for k in moved):
            most = float(change[start:end][np.abs(change[start:end]).argmax()])
            found.append(_step(since, until, most, len(moved), zone))
    return found


def _moved_k(at: Seconds, c: Celsius, since: int, until: int) -> float | None:
    """How far a neighbour ranged; None if it has no two readings there."""
    inside = slice(
        np.searchsorted(at, since - HOUR_S), np.searchsorted(at, until, side="right")
    )
    return float(np.ptp(c[inside])) if c[inside].size > 1 else None


def _step(since: int, until: int, most_k: float, compared: int, zone: tzinfo) -> Doubt:
    hour = datetime.fromtimestamp(until, UTC).astimezone(zone).hour
    beside = (
        f"while {compared} other sensor(s) stayed within {NEIGHBOUR_K:.0f} K"
        if compared
        else "and no other sensor was there to compare"
    )
    reason = (
        "Sun on a bare sensor is the usual reason at that time of day."
        if SUN_FROM_H <= hour < SUN_UNTIL_H
        else "See whether it was moved, or its wire is loose."
    )
    way = "rose" if most_k > 0 else "fell"
    words = f"It {way} by {abs(most_k):.1f} K within an hour, {beside}. {reason}"
    return Doubt(Kind.STEP, since, until, round(most_k, 3), "K", words)


def drift(sensor: Hourly, reference: Hourly, zone: tzinfo) -> list[Doubt]:
    """Spans in which the sensor's difference to a reference grew by over 0.5 K in 30 d.

    Only calm nights are compared (see NIGHT_FROM_H): the difference of a night is the
    median over its hours; that of a date the median over the calm nights of the seven
    days up to it. Each date is held against the one 30 days before, and 14 dates in a
    row must show the growth. The figure is the greatest growth [K], positive where the
    sensor reads ever higher. The reference should be of a like place: two places of
    different kind drift apart with the season, and even two alike do at times, so it is
    a reason to check in ice, not a proof.
    """
    days, off_k = _calm_nights(sensor, reference, zone)
    if not days.size:
        return []
    weekly = _weekly(days, off_k)
    grown = np.full(weekly.shape, np.nan)
    grown[DRIFT_D:] = (weekly[DRIFT_D:] - weekly[:-DRIFT_D]).round(6)
    found = []
    for start, end in _runs(grown > DRIFT_K) + _runs(grown < -DRIFT_K):
        if end - start < LASTS_D:
            continue
        most = float(grown[start:end][np.abs(grown[start:end]).argmax()])
        words = (
            f"On calm nights it read {abs(most):.1f} K {'more' if most > 0 else 'less'}"
            f" beside its reference than {DRIFT_D} days before. Check both in ice."
        )
        since = int(days[0] + start - DRIFT_D) * 86_400
        until = int(days[0] + end) * 86_400
        found.append(Doubt(Kind.DRIFT, since, until, round(most, 3), "K", words))
    return sorted(found, key=lambda doubt: doubt.since_s)


def _calm_nights(
    sensor: Hourly, reference: Hourly, zone: tzinfo
) -> tuple[Seconds, Celsius]:
    """Local days with a calm night, and the median difference in it [K]."""
    first = max(sensor.first_hour, reference.first_hour)
    end = max(first, min(sensor.end_hour, reference.end_hour))
    mine, other = sensor.window(first, end).c, reference.window(first, end).c
    day, hour = _local(np.arange(first, end), zone)
    night = (hour >= NIGHT_FROM_H) & (hour < NIGHT_UNTIL_H)
    night &= ~np.isnan(mine + other)
    rows = np.flatnonzero(night)
    days, starts = np.unique(day[rows], return_index=True)
    nights = np.split(rows, starts[1:]) if rows.size else []
    calm = [
        (d, float(np.median(mine[at] - other[at])))
        for d, at in zip(days, nights, strict=True)
        if at.size >= NIGHT_HOURS
        and max(np.ptp(mine[at]), np.ptp(other[at])) <= NIGHT_K
    ]
    return np.array([d for d, _ in calm], np.int64), np.array([k for _, k in calm])


def _local(hours: Seconds, zone: tzinfo) -> tuple[Seconds, Seconds]:
    """Local day number and hour of hours since 1970; the clock of each UTC day."""
    days, where = np.unique(hours // 24, return_inverse=True)
    ahead = [
        datetime.fromtimestamp(d * 86_400, UTC).astimezone(zone).utcoffset()
        for d in days.tolist()
    ]
    ahead_s = np.array([o.total_seconds() if o else 0 for o in ahead], np.int64)
    local = hours + ahead_s[where] // HOUR_S
    return local // 24, local % 24


def _weekly(days: Seconds, off_k: Celsius) -> Celsius:
    """The median over the calm nights of the seven days up to each day [K]."""
    count = int(days[-1] - days[0]) + 1
    nightly = np.full(count + NIGHTS - 1, np.nan)
    nightly[days - days[0] + NIGHTS - 1] = off_k
    windows = sliding_window_view(nightly, NIGHTS)
    enough = (~np.isnan(windows)).sum(axis=1) >= LEAST_NIGHTS
    weekly = np.full(count, np.nan)
    weekly[enough] = np.nanmedian(windows[enough], axis=1)
    return weekly


def gaps(seconds: ArrayLike, until_s: int | None = None) -> list[Doubt]:
    """Stretches without a reading of more than three intervals.

    until_s  an instant up to which readings are due; None to end with the last one

    The interval is the median of the nine steps around. Fewer than three readings show
    no interval. The figure is the time between the readings on both sides [h].
    """
    at = np.unique(np.asarray(seconds, dtype=np.int64))
    if at.size < 3:
        return []
    if until_s is not None and until_s > at[-1]:
        at = np.append(at, until_s)
    step = np.diff(at)
    # no median lies below the shortest step
    for_sure = np.flatnonzero(step > GAP_INTERVALS * step.min())
    first = np.clip(for_sure - AROUND // 2, 0, max(0, step.size - AROUND))
    window = first[:, np.newaxis] + np.arange(min(AROUND, step.size))
    usual = np.sort(step[window], axis=1)[:, (window.shape[1] - 1) // 2]
    found = step[for_sure] > GAP_INTERVALS * usual
    return [
        Doubt(
            Kind.GAP,
            int(at[i]),
            int(at[i + 1]),
            round(float(step[i]) / HOUR_S, 3),
            "h",
            f"No reading for {step[i] / HOUR_S:.1f} h, where one every "
            f"{every / 60:.0f} min is usual. What happened then is not known.",
        )
        for i, every in zip(for_sure[found], usual[found], strict=True)
    ]
