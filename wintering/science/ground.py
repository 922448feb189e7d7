"""Temperature of undisturbed ground through the year, at a depth.

The yearly wave of the surface travels down, smaller and later with depth: Kusuda &
Achenbach 1965, ASHRAE Transactions 71(1):61-75 (from memory; the form agrees with the
soil physics pages of Oklahoma State). Frost that takes heat to freeze, snow, rain and a
floor warmed by a frame are not in it: a probe after one season is better than any of
the figures below.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from wintering.science.evidence import Evidence

YEAR_D = 365.0
DAY_S = 86_400


@dataclass(frozen=True)
class Soil:
    """How fast heat spreads in a soil [m²/d]."""

    name: str
    diffusivity_m2d: float
    source: str
    evidence: Evidence


def _remembered(name: str, diffusivity_m2s: float) -> Soil:
    source = "a textbook table of thermal properties of soils"
    return Soil(name, diffusivity_m2s * DAY_S, source, Evidence.FROM_MEMORY)


SOILS = (
    _remembered("sand, dry", 2.4e-7),
    _remembered("sand, wet", 7.4e-7),
    _remembered("clay, dry", 1.8e-7),
    _remembered("clay, wet", 5.1e-7),
    _remembered("peat, dry", 1.0e-7),
    _remembered("peat, wet", 1.2e-7),
    Soil(
        "clay, default of a pipe model",
        0.01517,
        "idiap.github.io/pydhn, after Arya 2001",
        Evidence.PUBLISHED,
    ),
    Soil(
        "clay soil, 5 to 15 cm, a quarter to a third water",
        0.034,
        "measured: Revista Brasileira de Ciência do Solo, "
        "old.scielo.br/j/rbcs/a/dFCLs7jXncc98VWNjdT64Xd",
        Evidence.PUBLISHED,
    ),
    Soil(
        "clay soil, 15 to 30 cm, a quarter to a third water",
        0.027,
        "measured: Revista Brasileira de Ciência do Solo, "
        "old.scielo.br/j/rbcs/a/dFCLs7jXncc98VWNjdT64Xd",
        Evidence.PUBLISHED,
    ),
)

USUAL_M2D, LEAST_M2D, MOST_M2D = 0.045, 0.02, 0.07
"""For moist soil nobody has measured: own choice, between the figures above."""


@dataclass(frozen=True)
class SurfaceYear:
    """The yearly wave at the surface of the ground (not of the air).

    mean_c       mean of the year [°C]
    swing_k      half of the way from the coldest to the warmest [K]
    coldest_day  day of the year on which the surface is coldest, 1 January = 1;
                 about 30 in the north, half a year later in the south
    """

    mean_c: float
    swing_k: float
    coldest_day: float

    def __post_init__(self) -> None:
        if not self.swing_k >= 0:
            raise ValueError("The yearly swing is a half-range: 0 K or more.")


def damping_depth_m(
    diffusivity_m2d: ArrayLike, *, period_d: float = YEAR_D
) -> NDArray[np.float64]:
    """Depth at which a wave of some period has shrunk to 1/e [m].

    diffusivity_m2d  above 0 [m²/d]
    """
    diffusivity = np.asarray(diffusivity_m2d, dtype=np.float64)
    if np.any(diffusivity <= 0):
        raise ValueError("Diffusivity is above 0 m²/d; 0.02 to 0.07 is usual.")
    depth: NDArray[np.float64] = np.sqrt(period_d * diffusivity / np.pi)
    return depth


def lag_d(
    depth_m: ArrayLike, diffusivity_m2d: ArrayLike, *, period_d: float = YEAR_D
) -> NDArray[np.float64]:
    """Days by which the wave at a depth comes after the surface."""
    depths = _depth(depth_m) / damping_depth_m(diffusivity_m2d, period_d=period_d)
    lag: NDArray[np.float64] = depths * period_d / (2 * np.pi)
    return lag


def ground_c(
    depth_m: ArrayLike,
    day_of_year: ArrayLike,
    surface: SurfaceYear,
    diffusivity_m2d: ArrayLike = USUAL_M2D,
) -> NDArray[np.float64]:
    """Temperature of the ground at a depth on a day of the year [°C].

    depth_m      below the surface, 0 or more [m]
    day_of_year  1 January = 1; any number, the wave repeats after 365 days

    The arrays broadcast. Not for the top 10 cm, where the weather of the day and the
    daily wave (damped in about 0.1 m) rule.
    """
    depths = _depth(depth_m) / damping_depth_m(diffusivity_m2d)
    since_coldest = np.asarray(day_of_year, dtype=np.float64) - surface.coldest_day
    phase = 2 * np.pi * since_coldest / YEAR_D - depths
    c: NDArray[np.float64] = surface.mean_c - surface.swing_k * np.exp(
        -depths
    ) * np.cos(phase)
    return c


def ground_range_c(
    depth_m: ArrayLike, day_of_year: ArrayLike, surface: SurfaceYear
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Lowest and highest temperature for a soil whose diffusivity is not known [°C].

    Over 0.02 to 0.07 m²/d; shapes as for ground_c. It leaves out what the surface
    itself may be wrong by.
    """
    soils = np.linspace(LEAST_M2D, MOST_M2D, 26)
    depth, day = _depth(depth_m), np.asarray(day_of_year, dtype=np.float64)
    c = ground_c(depth[..., np.newaxis], day[..., np.newaxis], surface, soils)
    return c.min(axis=-1), c.max(axis=-1)


def _depth(depth_m: ArrayLike) -> NDArray[np.float64]:
    depth = np.asarray(depth_m, dtype=np.float64)
    if np.any(depth < 0):
        raise ValueError("Depth is counted downwards from the surface: 0 m or more.")
    return depth
