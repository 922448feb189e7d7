"""Water vapour: how much air can hold, holds, and still takes up.

Two sets of formulas on purpose. FAO-56 is what reference evapotranspiration is defined
with, and knows liquid water alone; the ASHRAE pair tells water from ice, which decides
below 0 °C whether frost grows or dries away.
"""

import numpy as np
from numpy.typing import ArrayLike, NDArray

from wintering.science.units import c_to_k, k_to_c

PA_PER_KPA = 1000.0
SEA_LEVEL_KPA = 101.3

PSYCHROMETER_PER_K = 0.000662
"""Of a ventilated wet bulb (about 5 m/s), FAO-56 eq 16; text from memory."""

ICE = (
    -5674.5359,
    6.3925247,
    -9.677843e-3,
    6.2215701e-7,
    2.0747825e-9,
    -9.484024e-13,
    4.1635019,
)
WATER = (
    -5800.2206,
    1.3914993,
    -4.8640239e-2,
    4.1764768e-5,
    -1.4452093e-8,
    0,
    6.5459673,
)
"""Coefficients of ln p = c0/T + c1 + c2 T + c3 T² + c4 T³ + c5 T⁴ + c6 ln T with T in K
and p in Pa: ASHRAE Handbook Fundamentals 2017 ch. 1 eq 5 and 6; from memory, equal to
a reference library in the tests. Ice from -100 to 0 °C, water from 0 to 200 °C; used
below 0 °C for supercooled water, where it agrees within 0.1 % with Sonntag's formula
down to -40 °C."""

NEWTON_STEPS = 4
"""The start is at most 4 K off between -90 and 60 °C, and three steps bring that below
1e-11 K."""


def saturation_kpa(air_c: ArrayLike) -> NDArray[np.float64]:
    """Vapour pressure over liquid water [kPa] by FAO-56 eq 11.

    air_c  temperature [°C], any shape; not a number stays so

    Allen, Pereira, Raes & Smith 1998, FAO Irrigation and Drainage Paper 56. Too high
    for ice by 5 % at -5 °C: use surface_kpa for anything frozen.
    """
    c = np.asarray(air_c, dtype=np.float64)
    return np.asarray(0.6108 * np.exp(17.27 * c / (c + 237.3)))


def mean_saturation_kpa(low_c: ArrayLike, high_c: ArrayLike) -> NDArray[np.float64]:
    """Mean of the saturation at a day's lowest and highest [kPa], FAO-56 eq 12.

    Never the saturation at the mean temperature, which is too low: the curve bends.
    """
    return (saturation_kpa(low_c) + saturation_kpa(high_c)) / 2


def slope_kpa_k(air_c: ArrayLike) -> NDArray[np.float64]:
    """How steeply saturation rises with temperature [kPa/K], FAO-56 eq 13."""
    c = np.asarray(air_c, dtype=np.float64)
    return 4098 * saturation_kpa(c) / (c + 237.3) ** 2


def pressure_kpa(altitude_m: ArrayLike) -> NDArray[np.float64]:
    """Pressure of the air at a height above the sea [kPa], FAO-56 eq 7."""
    metres = np.asarray(altitude_m, dtype=np.float64)
    return np.asarray(SEA_LEVEL_KPA * ((293 - 0.0065 * metres) / 293) ** 5.26)


def psychrometric_kpa_k(air_kpa: ArrayLike = SEA_LEVEL_KPA) -> NDArray[np.float64]:
    """Psychrometric constant at a pressure of the air [kPa/K], FAO-56 eq 8."""
    return np.asarray(0.665e-3 * np.asarray(air_kpa, dtype=np.float64))


def wet_bulb_vapour_kpa(
    dry_c: ArrayLike, wet_c: ArrayLike, air_kpa: ArrayLike = SEA_LEVEL_KPA
) -> NDArray[np.float64]:
    """Vapour pressure from a ventilated wet and a dry thermometer [kPa], eq 15.

    For a wick that is wet, not frozen.
    """
    dry, wet = np.asarray(dry_c, dtype=np.float64), np.asarray(wet_c, dtype=np.float64)
    constant = PSYCHROMETER_PER_K * np.asarray(air_kpa, dtype=np.float64)
    return saturation_kpa(wet) - constant * (dry - wet)


def day_vapour_kpa(
    low_c: ArrayLike, high_c: ArrayLike, rh_at_low: ArrayLike, rh_at_high: ArrayLike
) -> NDArray[np.float64]:
    """Vapour pressure of a day from its extremes [kPa], FAO-56 eq 17.

    rh_at_low   highest relative humidity [%], which goes with the lowest temperature
    rh_at_high  lowest relative humidity [%]
    """
    at_low = saturation_kpa(low_c) * np.asarray(rh_at_low, dtype=np.float64)
    at_high = saturation_kpa(high_c) * np.asarray(rh_at_high, dtype=np.float64)
    return np.asarray((at_low + at_high) / 200)


def over_water_kpa(c: ArrayLike) -> NDArray[np.float64]:
    """Saturation over liquid water, also supercooled [kPa]; ASHRAE eq 6."""
    return _ashrae_kpa(c, WATER)


def over_ice_kpa(c: ArrayLike) -> NDArray[np.float64]:
    """Saturation over ice [kPa], for at most 0 °C; ASHRAE eq 5."""
    return _ashrae_kpa(c, ICE)


def surface_kpa(c: ArrayLike) -> NDArray[np.float64]:
    """Saturation at a wet surface of that temperature [kPa]: ice up to 0 °C."""
    return np.where(np.asarray(c) <= 0, over_ice_kpa(c), over_water_kpa(c))


def vapour_kpa(air_c: ArrayLike, rh_pct: ArrayLike) -> NDArray[np.float64]:
    """Vapour pressure of air from what a humidity sensor reads [kPa].

    rh_pct  relative humidity [%]; see humidity.usable_rh for what sensors get wrong

    Sensors read relative to liquid water below 0 °C too (the convention of the World
    Meteorological Organization; from memory), so frozen air that is saturated over ice
    reads 95 % at -5 °C and 82 % at -20 °C.
    """
    return over_water_kpa(air_c) * np.asarray(rh_pct, dtype=np.float64) / 100


def deficit_kpa(kpa: ArrayLike, surface_c: ArrayLike) -> NDArray[np.float64]:
    """What air lacks to wet a surface of that temperature [kPa], never below 0.

    kpa        vapour pressure of the air [kPa]
    surface_c  temperature of the leaf, substrate or air that evaporates [°C]

    0 means that dew or hoar frost settles there. For a surface at the temperature of
    the air it is the vapour pressure deficit, VPD.
    """
    return np.asarray(np.maximum(surface_kpa(surface_c) - np.asarray(kpa), 0.0))


def dew_point_c(kpa: ArrayLike) -> NDArray[np.float64]:
    """Temperature at which liquid dew settles [°C], from vapour pressure.

    The exact inverse of over_water_kpa, also below 0 °C; air without vapour has none
    (not a number).
    """
    return _inverse_c(kpa, WATER)


def frost_point_c(kpa: ArrayLike) -> NDArray[np.float64]:
    """Temperature at which dew, or below 0 °C hoar frost, settles [°C].

    The exact inverse of surface_kpa. Below 0 °C it lies above the dew point: frost
    comes first.
    """
    over_ice = _inverse_c(kpa, ICE)
    return np.where(over_ice <= 0, over_ice, dew_point_c(kpa))


def _ashrae_kpa(c: ArrayLike, terms: tuple[float, ...]) -> NDArray[np.float64]:
    k = c_to_k(np.asarray(c, dtype=np.float64))
    return np.asarray(np.exp(_log_pa(k, terms)) / PA_PER_KPA)


def _log_pa(k: NDArray[np.float64], terms: tuple[float, ...]) -> NDArray[np.float64]:
    c0, c1, c2, c3, c4, c5, c6 = terms
    powers = c1 + k * (c2 + k * (c3 + k * (c4 + k * c5)))
    return np.asarray(c0 / k + powers + c6 * np.log(k))


def _inverse_c(vapour: ArrayLike, terms: tuple[float, ...]) -> NDArray[np.float64]:
    """Newton's method on ln p, which is nearly a straight line of 1/T."""
    kpa = np.asarray(vapour, dtype=np.float64)
    kpa = np.where(kpa > 0, kpa, np.nan)
    target = np.log(kpa * PA_PER_KPA)
    # FAO-56 eq 11 turned round, close enough to start from
    start = np.log(kpa / 0.6108)
    k = c_to_k(237.3 * start / (17.27 - start))
    _, _, c2, c3, c4, c5, c6 = terms
    for _ in range(NEWTON_STEPS):
        slope = -terms[0] / k**2 + c2 + k * (2 * c3 + k * (3 * c4 + k * 4 * c5))
        k = k - (_log_pa(k, terms) - target) / (slope + c6 / k)
    return np.asarray(k_to_c(k))
