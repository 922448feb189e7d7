"""Warmth: growing degree hours, thermal time and chill days."""

import numpy as np
from numpy.typing import ArrayLike, NDArray

from wintering.science.days import LocalDays
from wintering.science.series import DECIMALS, Hourly

LINEAR_BASE_C, LINEAR_FULL_C = 4.5, 25.0
"""Richardson et al. 1975, HortScience 10:236-237, as UC Davis states it: an hour at
9.5 °C counts 5, every hour above 25 °C counts 20.5."""

CURVE_BASE_C, CURVE_BEST_C, CURVE_END_C = 4.0, 25.0, 36.0
"""Anderson, Richardson & Kesner 1986, Acta Hort. 184:71-78; figures from memory."""

THERMAL_BASE_C = 5.0
CHILL_DAY_C = 5.0
"""Cannell & Smith 1983, J. Appl. Ecol. 20:951-963; Murray, Cannell & Smith 1989,
J. Appl. Ecol. 26:693-700: day-degrees above 5 °C, chill days at or below 5 °C."""


def gdh_linear(c: ArrayLike) -> NDArray[np.float64]:
    """Growing degree hours of each hour by the straight-line form [°C h].

    c  hourly temperature [°C]; a missing hour adds 0

    0 up to 4.5 °C, then T - 4.5, at most 20.5. The measure for early warnings: close
    to its base it counts more than the curve below does.
    """
    warmth = np.asarray(np.fmax(c, LINEAR_BASE_C))  # the base where it is missing
    np.minimum(warmth, LINEAR_FULL_C, out=warmth)
    warmth -= LINEAR_BASE_C
    return warmth


def gdh_curvilinear(c: ArrayLike) -> NDArray[np.float64]:
    """Growing degree hours of each hour by the asymmetric curve [°C h].

    c  hourly temperature [°C]; a missing hour adds 0

    0 up to 4 °C, 21 at 25 °C, 0 from 36 °C on, for a tree without stress. The measure
    for comparing places, not for warnings.
    """
    t = np.asarray(np.fmax(c, CURVE_BASE_C))  # the base where it is missing
    span = CURVE_BEST_C - CURVE_BASE_C
    # (1 - cos 2a) / 2 = tan² a / (1 + tan² a), and NumPy is quicker at tangents
    warmth = np.asarray(np.tan(np.pi / 2 / span * (t - CURVE_BASE_C)))
    warmth *= warmth
    warmth /= 1.0 + warmth
    warmth *= span
    hot = t > CURVE_BEST_C
    if hot.any():
        falling = np.minimum(t[hot], CURVE_END_C) - CURVE_BEST_C
        falling *= np.pi / 2 / (CURVE_END_C - CURVE_BEST_C)
        warmth[hot] = span * (1.0 - np.sin(falling))
    return warmth


def daily_means(hourly: Hourly, days: LocalDays) -> NDArray[np.float64]:
    """Mean temperature of each local day [°C], from all its hours, bridged included.

    A day that lacks an hour is missing (not a number). A day of 23 or 25 hours is
    whole with what it has. This is not the half-sum of minimum and maximum, which
    runs warmer in a sunny frame: never mix the two.
    """
    hours = hourly.window(days.first_hour, days.end_hour).c
    return np.round(days.sums(hours) / np.diff(days.starts), DECIMALS)


def thermal_time(daily_mean_c: ArrayLike) -> NDArray[np.float64]:
    """Running sum of day-degrees above 5 °C [°C d]; a missing day adds 0."""
    warmth = np.asarray(daily_mean_c, dtype=np.float64) - THERMAL_BASE_C
    return np.cumsum(np.nan_to_num(np.maximum(warmth, 0.0), nan=0.0))


def chill_days(daily_mean_c: ArrayLike) -> NDArray[np.int64]:
    """Running count of days with a mean at or below 5 °C; a missing day adds 0.

    The journal abstract prints 'below', the society's abstract 'at or below'; the
    latter is used.
    """
    means = np.round(np.asarray(daily_mean_c, dtype=np.float64), DECIMALS)
    return np.cumsum(means <= CHILL_DAY_C, dtype=np.int64)
