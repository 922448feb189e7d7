"""Chill: hours, Utah units, portions, and the totals of a series."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from wintering.science.dynamic import Portions, PortionState, portions
from wintering.science.forcing import gdh_curvilinear, gdh_linear
from wintering.science.series import DECIMALS, Hourly
from wintering.science.units import f_to_c

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

CHILL_LIMIT_C = 7.2
"""45 °F by custom; exactly 45 °F would be 7.2222 °C."""

COLD_DAY_C = 4.4
"""40 °F: six to eight weeks below it are asked for container stock (Rutgers NJAES
FS528)."""

GAP_FILL_C = 6.0
"""A gap filled at this, near the best temperature, gives the most portions that it can
have held: own choice."""


def _hours(c: ArrayLike) -> NDArray[np.float64]:
    """Rounded as hour values are, so that limits decide alike whatever the unit."""
    return np.asarray(c, dtype=np.float64).round(DECIMALS)


def chill_hours_0_7(c: ArrayLike) -> NDArray[np.float64]:
    """1 for each hour from 0.0 to 7.2 °C, both included, else 0; missing adds 0.

    c  hourly temperature [°C], any shape

    Bennett 1949, California Agriculture 3(11):9,12, as in extension use ('between 32
    and 45 °F'); that both ends count is own choice.
    """
    hours = _hours(c)
    return ((hours >= 0.0) & (hours <= CHILL_LIMIT_C)).astype(np.float64)


def chill_hours_below_7(c: ArrayLike) -> NDArray[np.float64]:
    """1 for each hour at or below 7.2 °C, else 0; missing adds 0.

    c  hourly temperature [°C], any shape

    Weinberger 1950, Proc. Am. Soc. Hort. Sci. 56:122-128, as in extension use. It
    counts every frozen hour: never show it alone in a cold climate.
    """
    return (_hours(c) <= CHILL_LIMIT_C).astype(np.float64)


@dataclass(frozen=True)
class UtahTable:
    """Upper ends of the temperature classes [°C], each belonging to its class."""

    limits_c: tuple[float, ...]
    source: str


UTAH_UNITS = np.array([0.0, 0.5, 1.0, 0.5, 0.0, -0.5, -1.0])

UTAH_C = UtahTable(
    (1.4, 2.4, 9.1, 12.4, 15.9, 18.0),
    "Richardson, Seeley & Walker 1974, HortScience 9:331-332, in °C as in "
    "Fresh Quarterly 13 (2021), table 1",
)
UTAH_F = UtahTable(
    tuple(f_to_c(f) for f in (34.0, 36.0, 48.0, 54.0, 60.0, 65.0)),
    "Richardson, Seeley & Walker 1974, HortScience 9:331-332, in °F as on the pages "
    "of UC Davis on chilling hours, units and portions",
)
"""The two published tables disagree by a few per cent of a total. Name the one used."""


def utah(c: ArrayLike, table: UtahTable = UTAH_C) -> NDArray[np.float64]:
    """Utah chill units of each hour, -1 to 1; missing adds 0.

    c  hourly temperature [°C], any shape
    """
    hours = _hours(c)
    units = UTAH_UNITS[np.searchsorted(np.round(table.limits_c, DECIMALS), hours)]
    return np.where(np.isnan(hours), 0.0, units)


def utah_positive(c: ArrayLike, table: UtahTable = UTAH_C) -> NDArray[np.float64]:
    """Utah chill units of each hour with warm hours counted as 0, not as a loss.

    The hourly form: Linsley-Noakes, Louw & Allan 1995 (from memory).
    """
    return np.maximum(utah(c, table), 0.0)


def utah_positive_daily(c: ArrayLike, day: ArrayLike) -> NDArray[np.float64]:
    """Utah units of each day, a day that loses counted as 0 (one series).

    c    hourly temperature [°C]
    day  number of the local day of each hour, 0 for the first

    The daily form: Linsley-Noakes, Allan & Matthee 1994 (from memory).
    """
    sums = np.bincount(np.asarray(day, dtype=np.int64), weights=utah(c))
    return np.maximum(sums, 0.0)


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
    c = hourly.c
    gap_hours = int(np.isnan(c).sum())
    in_band = int(chill_hours_0_7(c).sum())
    low, high = portions_with_gaps(c)
    return ChillTotals(
        hours=c.size - gap_hours,
        bridged_hours=int(hourly.bridged.sum()),
        gap_hours=gap_hours,
        chill_hours_0_7=in_band,
        chill_hours_below_7=int(chill_hours_below_7(c).sum()),
        utah=_total(utah(c)),
        utah_positive=_total(utah_positive(c)),
        portions=_total(low[-1:]),
        gdh_linear=_total(gdh_linear(c)),
        gdh_curvilinear=_total(gdh_curvilinear(c)),
        chill_hours_0_7_high=in_band + gap_hours,
        portions_high=_total(high[-1:]),
    )


def _total(amounts: NDArray[np.float64]) -> float:
    return round(float(amounts.sum()), DECIMALS)
