"""Chill by the hour: chill hours and Utah units, and their sums."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from wintering.science.series import DECIMALS
from wintering.science.units import f_to_c

CHILL_LIMIT_C = 7.2
"""45 °F by custom; exactly 45 °F would be 7.2222 °C."""

STEP_K = 10.0**-DECIMALS
"""Hour values count as rounded to 1e-6 °C, so that the last bits of a mean decide
nothing: limits are compared half a step further up, which comes to the same."""

BELOW_ZERO_C = -STEP_K


def _above(c: ArrayLike, limit_c: float) -> NDArray[np.bool_]:
    """Whether an hour is above a limit; a missing hour is not."""
    return np.asarray(c, dtype=np.float64) > _compared(limit_c)


def _compared(limit_c: float) -> float:
    return round(limit_c, DECIMALS) + STEP_K / 2


def chill_hours_0_7(c: ArrayLike) -> NDArray[np.float64]:
    """1 for each hour from 0.0 to 7.2 °C, both included, else 0; missing adds 0.

    c  hourly temperature [°C], any shape

    Bennett 1949, California Agriculture 3(11):9,12, as in extension use ('between 32
    and 45 °F'); that both ends count is own choice.
    """
    up_to_limit = np.asarray(c, dtype=np.float64) <= _compared(CHILL_LIMIT_C)
    return (up_to_limit & _above(c, BELOW_ZERO_C)).astype(np.float64)


def chill_hours_below_7(c: ArrayLike) -> NDArray[np.float64]:
    """1 for each hour at or below 7.2 °C, else 0; missing adds 0.

    c  hourly temperature [°C], any shape

    Weinberger 1950, Proc. Am. Soc. Hort. Sci. 56:122-128, as in extension use. It
    counts every frozen hour: never show it alone in a cold climate.
    """
    up_to_limit = np.asarray(c, dtype=np.float64) <= _compared(CHILL_LIMIT_C)
    return up_to_limit.astype(np.float64)


@dataclass(frozen=True)
class UtahTable:
    """Upper ends of the temperature classes [°C], each belonging to its class."""

    limits_c: tuple[float, ...]
    source: str


UTAH_UNITS = np.array([0.0, 0.5, 1.0, 0.5, 0.0, -0.5, -1.0])
UTAH_GAINS = np.maximum(UTAH_UNITS, 0.0)
"""Of each class, and the same where warmth is no loss."""

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
    units: NDArray[np.float64] = UTAH_UNITS.take(_classes(c, table))
    return units


def utah_positive(c: ArrayLike, table: UtahTable = UTAH_C) -> NDArray[np.float64]:
    """Utah chill units of each hour with warm hours counted as 0, not as a loss.

    c  hourly temperature [°C], any shape; missing adds 0

    The hourly form: Linsley-Noakes, Louw & Allan 1995 (from memory).
    """
    units: NDArray[np.float64] = UTAH_GAINS.take(_classes(c, table))
    return units


def _classes(c: ArrayLike, table: UtahTable) -> NDArray[np.uint8]:
    """Number of the class of each hour; a missing hour is above no limit."""
    classes = np.zeros(np.shape(c), dtype=np.uint8)
    for limit_c in table.limits_c:
        classes += _above(c, limit_c)
    return classes


def utah_positive_daily(c: ArrayLike, day: ArrayLike) -> NDArray[np.float64]:
    """Utah units of each day, a day that loses counted as 0 (one series).

    c    hourly temperature [°C]
    day  number of the local day of each hour, 0 for the first

    The daily form: Linsley-Noakes, Allan & Matthee 1994 (from memory).
    """
    sums = np.bincount(np.asarray(day, dtype=np.int64), weights=utah(c))
    return np.maximum(sums, 0.0)


_LIMITS_C = (-np.inf, BELOW_ZERO_C, CHILL_LIMIT_C, *UTAH_C.limits_c)
_STAIRS = np.array(
    [
        [1, 0, 0, *np.zeros(6)],  # known hours
        [0, 1, -1, *np.zeros(6)],  # chill hours from 0 to 7.2 °C
        [1, 0, -1, *np.zeros(6)],  # chill hours up to 7.2 °C
        [0, 0, 0, *np.diff(UTAH_UNITS)],
        [0, 0, 0, *np.diff(UTAH_GAINS)],
    ]
)
"""Each is a staircase over temperature: how far it goes up or down at every limit."""

MOST_SUMMED_H = 255
"""What a count of one byte holds; bytes are summed eight times as fast as numbers."""


@dataclass(frozen=True, eq=False)
class ChillSums:
    """Sums over the hours of what the functions above give for each, (sensors,)."""

    known_h: NDArray[np.float64]
    chill_hours_0_7: NDArray[np.float64]
    chill_hours_below_7: NDArray[np.float64]
    utah: NDArray[np.float64]
    utah_positive: NDArray[np.float64]


def sums(c: NDArray[np.float64]) -> ChillSums:
    """All sums of a block of hours at once, Utah by the Celsius table; exact.

    c  hourly temperature [°C], (hours, sensors), at most 255 hours

    A staircase summed over hours is the hours above each limit times its step there.
    """
    assert len(c) <= MOST_SUMMED_H, "a count of one byte would overflow"
    limits_c = np.array([_compared(limit_c) for limit_c in _LIMITS_C])
    above = c > limits_c[:, np.newaxis, np.newaxis]
    hours = np.add.reduce(above.view(np.uint8), axis=1, dtype=np.uint8)
    return ChillSums(*(_STAIRS @ hours.astype(np.float64)))
