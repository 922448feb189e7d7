"""What trees of the same exposure, start and need share: reckoned once."""

from dataclasses import dataclass, field
from datetime import date

import numpy as np

from wintering.forecast.queries.exposure import Exposure
from wintering.science.curves import RequirementCurve
from wintering.science.days import LocalDays
from wintering.science.dormancy import (
    Accumulated,
    Requirement,
    WakeOutlook,
    accumulated,
    wake_outlook,
)

RECENT_H = 14 * 24
"""The recent mean of a place is that of two weeks: own choice."""

LEAST_KNOWN = 0.9


@dataclass(frozen=True, slots=True)
class Need:
    """What a tree asks of its winter, and what was seen of its buds."""

    requirement: Requirement | None
    curve: RequirementCurve
    wake_rank: int | None
    seen_closed_on: date | None
    warmth_from: date


@dataclass(frozen=True, slots=True)
class Sums:
    """None where nothing was measured."""

    by_day: Accumulated | None
    wake: WakeOutlook | None


@dataclass(frozen=True, slots=True)
class Summing:
    """Sums kept by what they depend on, for the length of one query."""

    kept: dict[tuple[object, ...], Sums] = field(default_factory=dict)

    def of(self, exposure: Exposure, days: LocalDays, need: Need) -> Sums:
        key = (id(exposure), days.first, len(days), need)
        if key not in self.kept:
            self.kept[key] = _sums(exposure, days, need)
        return self.kept[key]


def _sums(exposure: Exposure, days: LocalDays, need: Need) -> Sums:
    if not len(days) or not exposure.air.c.size:
        return Sums(None, None)
    by_day = (
        accumulated(exposure.air, days, need.requirement.unit)
        if need.requirement
        else None
    )
    wake = wake_outlook(
        exposure.air,
        days,
        curve=need.curve,
        requirement=need.requirement,
        wake_rank=need.wake_rank,
        seen_closed_on=need.seen_closed_on,
        warmth_from=need.warmth_from,
    )
    return Sums(by_day, wake)


def recent_mean_c(exposure: Exposure, end_hour: int) -> float | None:
    """Mean air of the last two weeks [°C]; None if a tenth of it is not known."""
    c = exposure.air.window(end_hour - RECENT_H, end_hour).c
    known = c[~np.isnan(c)]
    return float(known.mean()) if known.size >= LEAST_KNOWN * RECENT_H else None
