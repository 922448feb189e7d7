"""The invented winter's damp: vapour from wet pots, lost to cold panes and the vents.

Pots and soil lag behind the air and keep it moist as they are warm. So a frame that
cools at night, shut, is wet; sun that warms the air before the pots dries it, and so do
panes far below freezing and open vents.
"""

import numpy as np

from wintering.science.vapour import over_water_kpa, surface_kpa
from wintering.web.demo.indoors import VENTS_START_C
from wintering.web.demo.outdoors import SEED
from wintering.web.demo.shaping import STEP, STEPS, Series

STEP_H = STEP.total_seconds() / 3600
POTS_LAG_H = 5.0
POTS_WET = 0.98
OUTSIDE_PCT = 80.0

# How fast the air takes on the vapour of each thing around it [1/h].
POTS_PER_H = 3.0
PANES_PER_H = 0.35
LEAKS_PER_H = 0.2
VENTS_PER_H = 3.0

NOISE_PCT = 0.4
WETTEST_PCT = 99.5


def humidity_pct(air: Series, outside: Series) -> Series:
    """Relative humidity at the reference place, tenths of a per cent."""
    wet_kpa = POTS_WET * surface_kpa(_lagging(air))
    # A pane stands halfway between inside and outside, and takes vapour only.
    pane_kpa = surface_kpa((air + outside) / 2)
    around_kpa = over_water_kpa(outside) * OUTSIDE_PCT / 100
    is_vented = (air > VENTS_START_C) & (air > outside)
    change_per_h = LEAKS_PER_H + VENTS_PER_H * is_vented
    kpa = _mixed(wet_kpa, pane_kpa, around_kpa, change_per_h)
    noise = np.random.default_rng(SEED + 4).normal(0, NOISE_PCT, STEPS)
    percent = 100 * kpa / over_water_kpa(air) + noise
    return np.round(np.minimum(percent, WETTEST_PCT), 1)


def _lagging(air: Series) -> Series:
    share = 1 - np.exp(-STEP_H / POTS_LAG_H)
    at, series = float(air[0]), np.empty(air.size)
    for number, around in enumerate(air.tolist()):
        at += share * (around - at)
        series[number] = at
    return series


def _mixed(
    wet_kpa: Series, pane_kpa: Series, around_kpa: Series, change_per_h: Series
) -> Series:
    """Vapour of the air, step by step drawn towards what surrounds it [kPa]."""
    at, series = float(wet_kpa[0]), np.empty(STEPS)
    columns = (wet_kpa, pane_kpa, around_kpa, change_per_h)
    rows = zip(*(column.tolist() for column in columns), strict=True)
    for number, (wet, pane, around, change) in enumerate(rows):
        panes = PANES_PER_H if at > pane else 0.0
        pull = POTS_PER_H + panes + change
        rest = (POTS_PER_H * wet + panes * pane + change * around) / pull
        at = rest + (at - rest) * np.exp(-pull * STEP_H)
        series[number] = at
    return series
