"""Radiation of a day in the open, as FAO-56 reckons it from what stations note.

Allen, Pereira, Raes & Smith 1998, FAO Irrigation and Drainage Paper 56, chapter 3; the
text of the equations from memory, its worked examples reproduced in the tests. For
reference evapotranspiration only: the sun on a pane or a bench needs its position hour
by hour. Radiation here is in MJ/m² per day.
"""

import numpy as np
from numpy.typing import ArrayLike, NDArray

from wintering.science.units import c_to_k

SOLAR_MJ_M2_MIN = 0.0820
STEFAN_BOLTZMANN_MJ = 4.903e-9
"""[MJ/(m² K⁴ d)]"""

OVERCAST_PART, CLEAR_PART = 0.25, 0.50
"""Angstrom's a and b where nobody fitted them, eq 35."""

GRASS_ALBEDO = 0.23
INLAND = 0.16
"""Hargreaves' factor for the range of temperature, eq 50; 0.19 by the sea."""


def _declination(day_of_year: NDArray[np.float64]) -> NDArray[np.float64]:
    return np.asarray(0.409 * np.sin(2 * np.pi / 365 * day_of_year - 1.39))


def _sunset_angle(
    latitude: NDArray[np.float64], declination: NDArray[np.float64]
) -> NDArray[np.float64]:
    # clipped where the sun does not set, or does not rise
    cosine = np.clip(-np.tan(latitude) * np.tan(declination), -1.0, 1.0)
    return np.asarray(np.arccos(cosine))


def extraterrestrial_mj(
    latitude_deg: ArrayLike, day_of_year: ArrayLike
) -> NDArray[np.float64]:
    """Sun above the atmosphere, eq 21 to 25.

    latitude_deg  north positive, between -90 and 90
    day_of_year   1 to 366

    0 in the polar night.
    """
    latitude = np.radians(np.asarray(latitude_deg, dtype=np.float64))
    day = np.asarray(day_of_year, dtype=np.float64)
    distance = 1 + 0.033 * np.cos(2 * np.pi / 365 * day)
    declination = _declination(day)
    sunset = _sunset_angle(latitude, declination)
    height = sunset * np.sin(latitude) * np.sin(declination)
    height += np.cos(latitude) * np.cos(declination) * np.sin(sunset)
    return np.asarray(24 * 60 / np.pi * SOLAR_MJ_M2_MIN * distance * height)


def daylight_h(latitude_deg: ArrayLike, day_of_year: ArrayLike) -> NDArray[np.float64]:
    """Hours of possible sunshine, eq 34: without refraction, so 0.1 h short."""
    latitude = np.radians(np.asarray(latitude_deg, dtype=np.float64))
    day = np.asarray(day_of_year, dtype=np.float64)
    return np.asarray(24 / np.pi * _sunset_angle(latitude, _declination(day)))


def sun_from_hours_mj(
    sunshine_h: ArrayLike, possible_h: ArrayLike, aloft_mj: ArrayLike
) -> NDArray[np.float64]:
    """Sun on level ground from the hours of sunshine, eq 35; possible_h above 0."""
    part = np.asarray(sunshine_h, dtype=np.float64) / np.asarray(possible_h)
    sun = (OVERCAST_PART + CLEAR_PART * part) * np.asarray(aloft_mj)
    return np.asarray(sun)


def sun_from_range_mj(
    low_c: ArrayLike,
    high_c: ArrayLike,
    aloft_mj: ArrayLike,
    factor: float = INLAND,
) -> NDArray[np.float64]:
    """Sun on level ground from a day's range of temperature outside, eq 50.

    Clear days have cold nights. Not for temperatures from inside a frame.
    """
    span_k = np.asarray(high_c, dtype=np.float64) - np.asarray(low_c)
    return np.asarray(factor * np.sqrt(span_k) * np.asarray(aloft_mj))


def clear_sky_mj(
    aloft_mj: ArrayLike, altitude_m: ArrayLike = 0.0
) -> NDArray[np.float64]:
    """Sun on level ground under a clear sky, eq 37."""
    clear = 0.75 + 2e-5 * np.asarray(altitude_m, dtype=np.float64)
    return np.asarray(clear * np.asarray(aloft_mj))


def net_shortwave_mj(sun_mj: ArrayLike) -> NDArray[np.float64]:
    """What grass keeps of the sun, eq 38."""
    return (1 - GRASS_ALBEDO) * np.asarray(sun_mj, dtype=np.float64)


def net_longwave_mj(
    low_c: ArrayLike,
    high_c: ArrayLike,
    *,
    vapour_kpa: ArrayLike,
    sun_mj: ArrayLike,
    clear_mj: ArrayLike,
) -> NDArray[np.float64]:
    """What grass loses to the sky in the open, eq 39.

    sun_mj, clear_mj  as measured and if no cloud had been there; their ratio counts as
                      at most 1
    """
    low_k, high_k = c_to_k(np.asarray(low_c, float)), c_to_k(np.asarray(high_c, float))
    emitted = STEFAN_BOLTZMANN_MJ * (high_k**4 + low_k**4) / 2
    humid = 0.34 - 0.14 * np.sqrt(np.asarray(vapour_kpa, dtype=np.float64))
    clear = np.minimum(np.asarray(sun_mj, dtype=np.float64) / np.asarray(clear_mj), 1.0)
    return np.asarray(emitted * humid * (1.35 * clear - 0.35))


def soil_heat_mj(before_c: float, after_c: float, months_between: float = 1.0) -> float:
    """Heat into the ground over a month, from mean temperatures; eq 43 and 44.

    months_between  2 from the month before to the month after, 1 from the month
                    before to this month
    """
    return 0.14 / months_between * (after_c - before_c)
