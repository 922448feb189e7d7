"""Counts that tell a winter apart: freezing and thawing, cold, bands, nights, warmth.

A missing hour is never counted as anything, so with hours missing every count is the
least it can be; each result says how many were missing.
"""

from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np
from numpy.typing import ArrayLike, NDArray

from wintering.science.days import LocalDays
from wintering.science.series import DECIMALS, Hourly

FREEZE_C, THAW_C = -1.0, 0.5
"""Frozen at or below the first, thawed at or above the second: own choice, a gap wide
enough that a probe that wavers about 0 °C counts no cycle."""

WARM_MEAN_C, WARM_DAYS = 7.0, 3
"""Days with a mean above the first, so many in a row, are a warm spell: own choice,
after the warmth that undoes hardiness once the chill need is met."""

NOON_H = 12


@dataclass(frozen=True)
class FreezeThaw:
    """How often something froze and thawed again.

    cycles         thaws that followed a frost, both within the hours given
    frozen_at_end  by the last hour that was cold or warm enough to tell; None if no
                   hour was
    missing_hours  hours without a temperature, in which there may have been more
    """

    cycles: int
    frozen_at_end: bool | None
    missing_hours: int


def freeze_thaw(
    c: ArrayLike, *, freeze_c: float = FREEZE_C, thaw_c: float = THAW_C
) -> FreezeThaw:
    """Freeze-thaw cycles with hysteresis.

    c  hourly temperature of the root zone [°C], or of the air: never mix the two

    Between the two limits the last state holds, and across missing hours too. A thaw
    without a frost before it in the hours given is no cycle.
    """
    if not freeze_c < thaw_c:
        raise ValueError("It freezes at a lower temperature than it thaws at.")
    hours = _hours(c)
    cold = (hours <= freeze_c)[(hours <= freeze_c) | (hours >= thaw_c)]
    return FreezeThaw(
        cycles=int((cold[:-1] & ~cold[1:]).sum()),
        frozen_at_end=bool(cold[-1]) if cold.size else None,
        missing_hours=_missing(hours),
    )


@dataclass(frozen=True)
class Cold:
    """Time below a limit, and how far.

    degree_hours_kh  sum over those hours of the distance below the limit [K h]
    hours            hours below the limit
    missing_hours    hours without a temperature, which add nothing
    """

    degree_hours_kh: float
    hours: int
    missing_hours: int


def cold_below(c: ArrayLike, limit_c: float) -> Cold:
    """Degree-hours and hours below a limit, an hour right at it not counted.

    c  hourly temperature [°C]
    """
    hours = _hours(c)
    depth = np.nan_to_num(np.maximum(limit_c - hours, 0.0), nan=0.0)
    return Cold(
        degree_hours_kh=round(float(depth.sum()), DECIMALS),
        hours=int((hours < limit_c).sum()),
        missing_hours=_missing(hours),
    )


@dataclass(frozen=True)
class InBand:
    """Hours within a band of temperature, and hours without a temperature."""

    hours: int
    missing_hours: int


def hours_in_band(c: ArrayLike, low_c: float, high_c: float) -> InBand:
    """Hours from low_c to high_c, both included.

    c  hourly temperature [°C]
    """
    if low_c > high_c:
        raise ValueError("The lower end of a band comes first.")
    hours = _hours(c)
    return InBand(int(((hours >= low_c) & (hours <= high_c)).sum()), _missing(hours))


@dataclass(frozen=True)
class Night:
    """One night, from noon to noon.

    evening        the local day on which it began
    lowest_c       coldest known hour [°C]
    at_hour        number of that hour since 1970-01-01 00:00 UTC, the first if several
    missing_hours  hours of the night without a temperature, which may have been colder
    """

    evening: date
    lowest_c: float
    at_hour: int
    missing_hours: int


def coldest_nights(hourly: Hourly, days: LocalDays, *, count: int) -> list[Night]:
    """The coldest nights that begin on some local days, the coldest first.

    Of two equally cold the earlier comes first. A night without any temperature is
    left out. Noon is the twelfth hour after midnight, also on the two days a year on
    which clocks change.
    """
    hours = hourly.window(days.first_hour + NOON_H, days.end_hour + NOON_H)
    nights = []
    for index in range(len(days)):
        starts = days.starts[index : index + 2] - days.first_hour
        c = hours.c[starts[0] : starts[1]]
        if np.isnan(c).all():
            continue
        lowest = int(np.nanargmin(c))
        nights.append(
            Night(
                evening=days.day(index),
                lowest_c=float(c[lowest]),
                at_hour=hours.first_hour + int(starts[0]) + lowest,
                missing_hours=_missing(c),
            )
        )
    return sorted(nights, key=lambda night: night.lowest_c)[:count]


@dataclass(frozen=True)
class WarmSpell:
    """A run of warm days.

    since, until   its first day, and the day after its last
    mean_c         mean of its daily means [°C]
    is_cut_by_gap  a day just before or after it is missing: it may have been longer
    """

    since: date
    until: date
    mean_c: float
    is_cut_by_gap: bool


def warm_spells(
    daily_mean_c: ArrayLike,
    first: date,
    *,
    above_c: float = WARM_MEAN_C,
    least_days: int = WARM_DAYS,
) -> list[WarmSpell]:
    """Runs of at least so many days with a mean above a limit, in order.

    daily_mean_c  mean of each local day [°C]; a missing day ends a run
    first         the first of these days

    With days missing a spell may go unseen: say how many are.
    """
    means = _hours(daily_mean_c)
    warm = np.concatenate([[False], means > above_c, [False]])
    begins = np.flatnonzero(~warm[:-1] & warm[1:])
    ends = np.flatnonzero(warm[:-1] & ~warm[1:])
    return [
        WarmSpell(
            since=first + timedelta(days=int(begin)),
            until=first + timedelta(days=int(end)),
            mean_c=float(means[begin:end].mean()),
            is_cut_by_gap=_missing(means[max(begin - 1, 0) : end + 1]) > 0,
        )
        for begin, end in zip(begins, ends, strict=True)
        if end - begin >= least_days
    ]


def _hours(c: ArrayLike) -> NDArray[np.float64]:
    """Rounded as hour values are, so that limits decide alike whatever the unit."""
    return np.asarray(c, dtype=np.float64).round(DECIMALS)


def _missing(hours: NDArray[np.float64]) -> int:
    return int(np.isnan(hours).sum())
