"""How much water the air asks for: of open ground, and of a pot in a closed frame."""

import numpy as np
from numpy.typing import ArrayLike, NDArray

from wintering.science.days import LocalDays
from wintering.science.units import c_to_k
from wintering.science.vapour import (
    SEA_LEVEL_KPA,
    deficit_kpa,
    psychrometric_kpa_k,
    slope_kpa_k,
    vapour_kpa,
)

LEAST_WIND_MS = 0.5
"""FAO-56 takes no less for reference evapotranspiration; from memory."""

FAN_S_M, USUAL_S_M, STILL_S_M = 100.0, 200.0, 300.0
"""How hard vapour finds its way from a pot into the air of a frame [s/m] with a fan
running, usually, and in still air: own choice. A greenhouse without wind: 295 s/m
(Fernández et al. 2010; from memory)."""

SUN_KEPT = 0.75
"""Part of the sun reaching a pot that it keeps; no long-wave loss under a pane: own
choice."""

AIR_HEAT_J_KG_K = 1013.0
DRY_AIR_J_KG_K = 287.05
"""FAO-56 chapter 2 and the gas constant of dry air."""

DAY_S, DAY_H = 86400.0, 24
LEAST_DAY_H = 20
"""A day with fewer known hours has no demand of its own: own choice, because a few
hours of sun can be most of it."""


def wind_at_2m_ms(wind_ms: ArrayLike, height_m: float) -> NDArray[np.float64]:
    """Wind 2 m above grass from wind at another height [m/s], FAO-56 eq 47."""
    wind = np.asarray(wind_ms, dtype=np.float64)
    return np.asarray(wind * 4.87 / np.log(67.8 * height_m - 5.42))


def reference_daily_mm(
    mean_c: ArrayLike,
    net_mj: ArrayLike,
    *,
    lacking_kpa: ArrayLike,
    wind_ms: ArrayLike,
    soil_mj: ArrayLike = 0.0,
    air_kpa: ArrayLike = SEA_LEVEL_KPA,
) -> NDArray[np.float64]:
    """Reference evapotranspiration of a day in the open [mm/d], FAO-56 eq 6.

    mean_c       half the sum of lowest and highest temperature [°C]
    net_mj       net radiation [MJ/m² per day]; soil_mj heat into the ground
    lacking_kpa  saturation (mean of both extremes) less vapour pressure [kPa]
    wind_ms      wind at 2 m [m/s]; counts as at least 0.5

    Of a short green lawn in wind: not for pots in a frame, see frame_demand_mm_d.
    """
    return _reference(
        mean_c, net_mj, soil_mj, lacking_kpa, wind_ms, air_kpa, numerator=900.0
    )


def reference_hourly_mm(
    air_c: ArrayLike,
    net_mj: ArrayLike,
    *,
    lacking_kpa: ArrayLike,
    wind_ms: ArrayLike,
    soil_mj: ArrayLike = 0.0,
    air_kpa: ArrayLike = SEA_LEVEL_KPA,
) -> NDArray[np.float64]:
    """Reference evapotranspiration of an hour in the open [mm/h], FAO-56 eq 53.

    As reference_daily_mm, with radiation in MJ/m² per hour.
    """
    return _reference(
        air_c, net_mj, soil_mj, lacking_kpa, wind_ms, air_kpa, numerator=37.0
    )


def _reference(
    air_c: ArrayLike,
    net_mj: ArrayLike,
    soil_mj: ArrayLike,
    lacking_kpa: ArrayLike,
    wind_ms: ArrayLike,
    air_kpa: ArrayLike,
    *,
    numerator: float,
) -> NDArray[np.float64]:
    c = np.asarray(air_c, dtype=np.float64)
    wind = np.maximum(np.asarray(wind_ms, dtype=np.float64), LEAST_WIND_MS)
    slope, gamma = slope_kpa_k(c), psychrometric_kpa_k(air_kpa)
    energy = np.asarray(net_mj, dtype=np.float64) - np.asarray(soil_mj)
    drying = (
        gamma * numerator / (c + 273) * wind * np.asarray(lacking_kpa, dtype=np.float64)
    )
    return np.asarray(
        (0.408 * slope * energy + drying) / (slope + gamma * (1 + 0.34 * wind))
    )


def frame_demand_mm_d(
    air_c: ArrayLike,
    lacking_kpa: ArrayLike,
    net_wm2: ArrayLike,
    *,
    resistance_s_m: ArrayLike = USUAL_S_M,
    surface_s_m: ArrayLike = 0.0,
    air_kpa: ArrayLike = SEA_LEVEL_KPA,
) -> NDArray[np.float64]:
    """What a wet surface loses to the air of a closed frame, as a rate [mm/d].

    air_c           air in the frame [°C]
    lacking_kpa     vapour pressure deficit [kPa], not below 0
    net_wm2         radiation that the pot keeps [W/m²], see net_sun_wm2
    resistance_s_m  of the air: FAN_S_M, USUAL_S_M or STILL_S_M; above 0
    surface_s_m     of the surface: 0 for bare wet substrate

    Monteith's form (FAO-56 eq 3) with a fixed resistance of the air in place of wind,
    which a closed frame lacks. Never below 0. With resistances that nobody measured in
    this frame the figure is good for a share of demand, which a factor for each tree
    corrects.
    """
    c = np.asarray(air_c, dtype=np.float64)
    air, net = np.asarray(air_kpa, float), np.asarray(net_wm2, float)
    slope, gamma = slope_kpa_k(c), psychrometric_kpa_k(air)
    latent_j_kg = (2.501 - 0.002361 * c) * 1e6
    density_kg_m3 = 1000 * air / (DRY_AIR_J_KG_K * c_to_k(c))
    through_air = np.asarray(resistance_s_m, dtype=np.float64)
    drying = density_kg_m3 * AIR_HEAT_J_KG_K * np.asarray(lacking_kpa) / through_air
    closing = slope + gamma * (1 + np.asarray(surface_s_m) / through_air)
    rate = DAY_S / latent_j_kg * (slope * net + drying) / closing
    return np.asarray(np.maximum(rate, 0.0))


def net_sun_wm2(
    bench_sun_wm2: ArrayLike, shaded_part: float = 0.0
) -> NDArray[np.float64]:
    """What a pot keeps of the sun at bench height under the pane [W/m²].

    shaded_part  of the soil under the tree's canopy, 0 to 1
    """
    if not 0 <= shaded_part <= 1:
        raise ValueError("The shaded part of the soil is a share between 0 and 1.")
    return SUN_KEPT * (1 - shaded_part) * np.asarray(bench_sun_wm2, dtype=np.float64)


def frame_hours_mm(
    air_c: ArrayLike,
    rh_pct: ArrayLike,
    net_wm2: ArrayLike,
    *,
    resistance_s_m: ArrayLike = USUAL_S_M,
    air_kpa: ArrayLike = SEA_LEVEL_KPA,
) -> NDArray[np.float64]:
    """Demand of each hour in a frame [mm/h], from temperature and humidity.

    rh_pct  relative humidity [%] as humidity.usable_rh gives it

    A missing temperature, humidity or sun leaves the hour missing. A frozen surface
    gives off vapour into dry air too, so frost does not stop the count.
    """
    lacking = deficit_kpa(vapour_kpa(air_c, rh_pct), air_c)
    rate = frame_demand_mm_d(
        air_c, lacking, net_wm2, resistance_s_m=resistance_s_m, air_kpa=air_kpa
    )
    return rate / DAY_H


def daily_demand_mm(
    hours_mm: NDArray[np.float64], days: LocalDays
) -> NDArray[np.float64]:
    """Demand of each local day [mm/d] from that of its hours [mm/h].

    hours_mm  for the hours from days.first_hour on

    A day with at least 20 known hours stands for the whole of it by their mean; one
    with fewer is missing (not a number).
    """
    if hours_mm.size != days.end_hour - days.first_hour:
        raise ValueError(
            f"{hours_mm.size} hours for days of {days.end_hour - days.first_hour}: "
            "give the demand of each hour of the days."
        )
    known = ~np.isnan(hours_mm)
    count = days.sums(known.astype(np.float64))
    sums = days.sums(np.where(known, hours_mm, 0.0))
    whole = count >= LEAST_DAY_H
    means = np.divide(sums, count, out=np.full(sums.shape, np.nan), where=whole)
    return np.asarray(means * np.diff(days.starts))
