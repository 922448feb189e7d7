"""The invented winter's readings, ten minutes apart and the same every time.

Outside air comes from a seeded walk bent to monthly means, lowest values and the
story's events. The frame follows it through its heat balance, and the pots follow
the frame through the heat that freezing water gives up. Nothing here was measured.
"""

from datetime import datetime
from functools import cache

import numpy as np

from wintering.web.demo.damp import humidity_pct
from wintering.web.demo.indoors import (
    LARGE_POT,
    elsewhere_c,
    ground_c,
    reference_air_c,
    root_ball_c,
    sacrificial_root_c,
)
from wintering.web.demo.outdoors import SEED, outside_c, sun_share
from wintering.web.demo.shaping import START, STEP, STEPS, Series, step_of

RIDGE_STUCK = slice(step_of(12, 14, 18), step_of(12, 16, 10))
RIDGE_STUCK_C = 3.1
OUTSIDE_SILENT = slice(step_of(1, 6, 9), step_of(1, 7, 11))
# The coldest instant of the freeze, written down exactly as told.
COLDEST = slice(step_of(1, 21, 8), step_of(1, 21, 8) + 1)
COLDEST_C = {"A1": -8.0, "R1": -2.9, "O1": -31.4}
NOISE_K = 0.03


def moments() -> list[datetime]:
    """The story's wall clock at every step."""
    return [START + STEP * number for number in range(STEPS)]


@cache
def readings() -> dict[str, Series]:
    """Every sensor's °C or % at every step of `moments()`; NaN where it was silent."""
    logged = temperatures_c()
    return {**logged, "H1": humidity_pct(logged["A1"], outside_c())}


@cache
def temperatures_c() -> dict[str, Series]:
    """Every thermometer's °C at every step of `moments()`; NaN where it was silent."""
    outside, sun = outside_c(), sun_share()
    air = reference_air_c(outside, sun)
    ground = ground_c()
    small = elsewhere_c(air, sun, night_k=-0.4, day_k=-2.5)
    large = elsewhere_c(air, sun, night_k=0.6, day_k=-1.0)
    return _as_logged(
        {
            "A1": air,
            "A2": elsewhere_c(air, sun, night_k=0.2, day_k=4.0),
            "R1": sacrificial_root_c(small),
            "R2": root_ball_c(large, LARGE_POT),
            "G1": ground,
            "P1": 0.75 * ground + 0.25 * air,
            "O1": outside,
        }
    )


def _as_logged(true_c: dict[str, Series]) -> dict[str, Series]:
    """What the loggers wrote: a little noise, tenths, and their two faults."""
    noise = np.random.default_rng(SEED + 1)
    logged = {
        name: np.round(series + noise.normal(0, NOISE_K, STEPS), 1)
        for name, series in true_c.items()
    }
    for name, c in COLDEST_C.items():
        logged[name] = np.maximum(logged[name], c)
        logged[name][COLDEST] = c
    logged["A2"][RIDGE_STUCK] = RIDGE_STUCK_C
    logged["O1"][OUTSIDE_SILENT] = np.nan
    return logged
