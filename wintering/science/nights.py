"""When the sun is down: from sunset to sunrise, as runs of seconds."""

import numpy as np
from numpy.typing import NDArray

from wintering.science.sun import HORIZON_DEG, sun_position

STEP_S = 600
"""The sun's altitude is taken this often and is straight between: own choice. Against a
finer step, sunrise and sunset move by under 15 s up to 65 degrees north."""


def nights(
    start_s: int, end_s: int, latitude_deg: float, longitude_deg: float
) -> NDArray[np.int64]:
    """Sunset and sunrise of each night between two instants, a row each.

    start_s, end_s  seconds since 1970 in UTC; a night that reaches beyond is cut there
    Returns whole seconds, (nights, 2). Where the sun stays up there is none, and where
    it stays down one that lasts. Refraction wanders: good to a minute or two.
    """
    if end_s <= start_s:
        return np.empty((0, 2), dtype=np.int64)
    at = np.append(np.arange(start_s, end_s, STEP_S), end_s).astype(np.float64)
    # The horizon's altitude holds the usual refraction already: add no air.
    sun = sun_position(at, latitude_deg, longitude_deg, pressure_hpa=0.0)
    height = sun.elevation_deg - HORIZON_DEG
    is_down = height < 0
    turns = np.flatnonzero(is_down[1:] != is_down[:-1])
    share = height[turns] / (height[turns] - height[turns + 1])
    crossings = (at[turns] + share * (at[turns + 1] - at[turns])).tolist()
    edges = [start_s] * bool(is_down[0]) + crossings + [end_s] * bool(is_down[-1])
    return np.array(edges).round().astype(np.int64).reshape(-1, 2)
