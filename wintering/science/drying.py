"""How a pot dries: from its surface in two stages, and through leaves and bark."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from wintering.science.vapour import SEA_LEVEL_KPA

WATER_KG_MOL = 18.015e-3

CONIFER_MMOL, BROADLEAF_MMOL, BARE_MMOL = 3.0, 5.0, 5.0
"""Water vapour that shut leaves, or the bark of bare twigs, let through [mmol/(m² s)].
Own choice; likely ranges 1 to 10, 2 to 15 and 2 to 15. It varies many-fold and is not
clearly tied to leaf type (Duursma et al. 2019, New Phytologist 221:693)."""


@dataclass(frozen=True)
class Stages:
    """How much the surface gives up [mm]: at full pace, and in all until it is dry."""

    readily_mm: float
    totally_mm: float


COARSE, FINE = Stages(4.0, 15.0), Stages(8.0, 25.0)
"""Grains; peat and fine bark. Own choice, in the range of FAO-56 for sand to clay."""


def slowing(lost_mm: ArrayLike, stages: Stages) -> NDArray[np.float64]:
    """The part of its first pace at which a drying surface still dries, 1 to 0.

    lost_mm  what the surface has lost since it was wet [mm]

    FAO-56 eq 74: 1 up to readily_mm, then falling in a straight line to 0.
    """
    lost = np.asarray(lost_mm, dtype=np.float64)
    left = stages.totally_mm - lost
    return np.clip(left / (stages.totally_mm - stages.readily_mm), 0.0, 1.0)


def surface_loss_mm(demand_mm: ArrayLike, stages: Stages) -> NDArray[np.float64]:
    """What a surface that was wet at the start loses on each day [mm].

    demand_mm  demand of each day in order [mm/d], without gaps, not below 0

    Each day's pace is that of its start, and no more is lost than is there.
    """
    lost = np.empty(np.size(demand_mm))
    total = 0.0
    for day, demand in enumerate(np.asarray(demand_mm, dtype=np.float64)):
        wanted = float(slowing(total, stages)) * float(demand)
        lost[day] = min(wanted, stages.totally_mm - total)
        total += lost[day]
    return lost


def leaf_loss_kg_d(
    deficit_kpa: ArrayLike,
    area_m2: float,
    conductance_mmol: float,
    air_kpa: float = SEA_LEVEL_KPA,
) -> NDArray[np.float64]:
    """What dormant leaves or bark lose at a steady deficit [kg/d].

    deficit_kpa       mean vapour pressure deficit [kPa], not below 0
    area_m2           leaf area, or bark area of bare twigs
    conductance_mmol  CONIFER_MMOL, BROADLEAF_MMOL, BARE_MMOL or measured

    By the definition of minimum conductance: loss by area and difference in mole
    fraction (prometheusprotocols.net/glossary/gmin).
    """
    fraction = np.asarray(deficit_kpa, dtype=np.float64) / air_kpa
    return conductance_mmol * 1e-3 * fraction * WATER_KG_MOL * area_m2 * 86400
