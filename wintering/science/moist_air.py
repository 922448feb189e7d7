"""Moist air by mass: the vapour in a kilogram of dry air, its heat and its volume.

ASHRAE Handbook Fundamentals 2017 ch. 1, equations as its worked Example 1 uses them.
"""

import numpy as np
from numpy.typing import ArrayLike, NDArray

from wintering.science.units import c_to_k
from wintering.science.vapour import surface_kpa

STANDARD_KPA = 101.325
MASS_RATIO = 0.621945
"""Mass of a mole of water over that of a mole of dry air."""

DRY_AIR_KPA_M3_KG_K = 0.287042
"""Gas constant of dry air."""


def standard_pressure_kpa(altitude_m: ArrayLike) -> NDArray[np.float64]:
    """Pressure of the standard atmosphere [kPa], ASHRAE eq 3; -5 to 11 km."""
    metres = np.asarray(altitude_m, dtype=np.float64)
    return np.asarray(STANDARD_KPA * (1 - 2.25577e-5 * metres) ** 5.2559)


def humidity_ratio(
    vapour_kpa: ArrayLike, air_kpa: ArrayLike = STANDARD_KPA
) -> NDArray[np.float64]:
    """Vapour by dry air [kg/kg] from its pressure, which lies below the air's [kPa]."""
    vapour = np.asarray(vapour_kpa, dtype=np.float64)
    return np.asarray(MASS_RATIO * vapour / (np.asarray(air_kpa) - vapour))


def ratio_vapour_kpa(
    ratio: ArrayLike, air_kpa: ArrayLike = STANDARD_KPA
) -> NDArray[np.float64]:
    """Vapour pressure [kPa] from the humidity ratio [kg/kg]: the way back."""
    kg_kg = np.asarray(ratio, dtype=np.float64)
    return np.asarray(kg_kg * np.asarray(air_kpa) / (MASS_RATIO + kg_kg))


def wet_bulb_ratio(
    dry_c: ArrayLike, wet_c: ArrayLike, air_kpa: ArrayLike = STANDARD_KPA
) -> NDArray[np.float64]:
    """Humidity ratio [kg/kg] from dry and wet bulb [°C]; eq 33, frozen wick eq 35."""
    dry, wet = np.asarray(dry_c, dtype=np.float64), np.asarray(wet_c, dtype=np.float64)
    saturated = humidity_ratio(surface_kpa(wet), air_kpa)
    lost = 1.006 * (dry - wet)
    liquid = (2501 - 2.326 * wet) * saturated - lost
    frozen = (2830 - 0.24 * wet) * saturated - lost
    liquid = liquid / (2501 + 1.86 * dry - 4.186 * wet)
    frozen = frozen / (2830 + 1.86 * dry - 2.1 * wet)
    return np.where(wet >= 0, liquid, frozen)


def enthalpy_kj_kg(air_c: ArrayLike, ratio: ArrayLike) -> NDArray[np.float64]:
    """Heat of moist air above dry air at 0 °C, per kg of dry air [kJ/kg]; eq 30."""
    c = np.asarray(air_c, dtype=np.float64)
    return 1.006 * c + np.asarray(ratio, dtype=np.float64) * (2501 + 1.86 * c)


def volume_m3_kg(
    air_c: ArrayLike, ratio: ArrayLike, air_kpa: ArrayLike = STANDARD_KPA
) -> NDArray[np.float64]:
    """Room that moist air takes, per kg of dry air [m³/kg]; eq 26."""
    k = c_to_k(np.asarray(air_c, dtype=np.float64))
    moist = 1 + 1.607858 * np.asarray(ratio, dtype=np.float64)
    return np.asarray(DRY_AIR_KPA_M3_KG_K * k * moist / np.asarray(air_kpa))
