"""Chill: hours, Utah units, portions, and the totals of a series."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from wintering.science.accumulating import as_they_stand
from wintering.science.chill_units import (
    UTAH_C,
    UTAH_F,
    UtahTable,
    chill_hours_0_7,
    chill_hours_below_7,
    utah,
    utah_positive,
    utah_positive_daily,
)
from wintering.science.dynamic import GAP_FILL_C, Portions, PortionState, portions
from wintering.science.series import DECIMALS, Hourly

__all__ = [
    "COLD_DAY_C",
    "UTAH_C",
    "UTAH_F",
    "ChillTotals",
    "PortionState",
    "Portions",
    "UtahTable",
    "chill_hours_0_7",
    "chill_hours_below_7",
    "days_at_or_below",
    "from_lowest",
    "portions",
    "portions_with_gaps",
    "totals",
    "utah",
    "utah_positive",
    "utah_positive_daily",
]

COLD_DAY_C = 4.4
"""40 °F: six to eight weeks below it are asked for container stock (Rutgers NJAES
FS528)."""


def from_lowest(running: NDArray[np.float64]) -> NDArray[np.float64]:
    """A running Utah total counted from its lowest point so far.

    Richardson et al. 1974 begin on the autumn day on which the total is most negative
    (from memory), so that a hot October is not held against the winter.
    """
    lowest = np.minimum.accumulate(np.minimum(running, 0.0), axis=0)
    return running - lowest


def days_at_or_below(
    daily_mean_c: ArrayLike, limit_c: float = COLD_DAY_C
) -> NDArray[np.bool_]:
    """Which days have a mean at or below limit_c [°C]; a missing day has not."""
    return np.round(np.asarray(daily_mean_c, dtype=np.float64), DECIMALS) <= limit_c


def portions_with_gaps(
    c: NDArray[np.float64],
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Running portions with gaps held, and with gaps filled at 6 °C.

    Filling a gap can shift the later hours at which x is fixed and so lose some
    hundredths; the upper figure is never below the lower one.
    """
    filled = np.where(np.isnan(c), GAP_FILL_C, c)
    both = portions(np.stack([c, filled], axis=-1)).total
    return both[..., 0], both.max(axis=-1)


@dataclass(frozen=True)
class ChillTotals:
    """Chill and warmth of a series.

    hours, bridged_hours, gap_hours  clock hours used, of these estimated across short
                                     gaps, and those still missing
    *_high                           what it can have been at most, given the gaps
    gdh_*                            [°C h]
    """

    hours: int
    bridged_hours: int
    gap_hours: int
    chill_hours_0_7: int
    chill_hours_below_7: int
    utah: float
    utah_positive: float
    portions: float
    gdh_linear: float
    gdh_curvilinear: float
    chill_hours_0_7_high: int
    portions_high: float


def totals(hourly: Hourly) -> ChillTotals:
    """Chill and warmth from the first hour of a series to its last.

    Gaps count as they stand: bridge the series first, then cut the window out of it.
    Utah units are summed plainly from the first hour.
    """
    found = as_they_stand(hourly.c)
    return ChillTotals(
        hours=int(found.known_h),
        bridged_hours=int(hourly.bridged.sum()),
        gap_hours=int(found.missing_h),
        chill_hours_0_7=int(found.chill_hours_0_7),
        chill_hours_below_7=int(found.chill_hours_below_7),
        utah=_rounded(found.utah),
        utah_positive=_rounded(found.utah_positive),
        portions=_rounded(found.portions),
        gdh_linear=_rounded(found.gdh_linear),
        gdh_curvilinear=_rounded(found.gdh_curvilinear),
        chill_hours_0_7_high=int(found.chill_hours_0_7_high),
        portions_high=_rounded(found.portions_high),
    )


def _rounded(total: NDArray[np.float64]) -> float:
    return round(float(total), DECIMALS)
