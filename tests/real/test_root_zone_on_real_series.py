"""The lag of a root zone against a substrate probe in an unheated tunnel.

Loosely comparable only. The record says neither what held the substrate nor how much
there was of it, so no figure is fitted here: containers of ordinary size must do better
than the belief that the substrate is as warm as the air. Of the substrate's hours most
of October and all from February on swing with the air and without any lag, as a probe
does that lies bare; and while it is damped, from mid November to January, it stays 3 to
5 K warmer than the air on average, which ground or sun gives and no lag can.
"""

import csv
from functools import cache
from pathlib import Path
from zoneinfo import ZoneInfo

import numpy as np
import pytest

from tests.real.test_science_on_real_series import _instant
from wintering.science.pots import Pot, PotMaterial, PotShape
from wintering.science.root_ball import ball_of
from wintering.science.root_zone import courses
from wintering.science.screening import judge
from wintering.science.series import Hourly, bridge, hourly_means

TUNNEL = "it_tunnel_inside_2021_22_15min.csv"
ROME = ZoneInfo("Europe/Rome")

CONTAINERS = [
    Pot(PotShape.ROUND, size, size, 0.8 * size, 0.2, PotMaterial.PLASTIC)
    for size in (20.0, 25.0, 30.0, 40.0)
]


@cache
def _series(path: Path, column: str) -> Hourly:
    with path.open(newline="") as lines:
        cells = [
            (_instant(row["local_time_europe_rome"], ROME), float(row[column]))
            for row in csv.DictReader(lines)
            if row[column]
        ]
    seconds, c = (np.array(values) for values in zip(*cells, strict=True))
    good = judge(seconds, c) == 0
    return bridge(hourly_means(seconds[good], c[good]))


def _root_mean_square(difference: np.ndarray) -> float:
    return float(np.sqrt(np.mean(difference**2)))


@pytest.mark.parametrize("pot", CONTAINERS, ids=lambda pot: f"{pot.volume_l:.0f} L")
def test_a_lag_does_better_than_the_air_itself(pot: Pot, real_data: Path):
    air = _series(real_data / TUNNEL, "in_air1_c")
    substrate = _series(real_data / TUNNEL, "in_substrate_c")
    measured = substrate.window(air.first_hour, air.end_hour).c
    found = courses(air, [ball_of(pot, water=0.3)]).c[:, 0]
    both = ~np.isnan(found) & ~np.isnan(measured)
    assert both.sum() > 600
    lagged = _root_mean_square(found[both] - measured[both])
    same = _root_mean_square(air.c[both] - measured[both])
    # 3.5 to 4.0 K against 4.8 K
    assert lagged < 0.85 * same


@pytest.mark.parametrize("pot", CONTAINERS, ids=lambda pot: f"{pot.volume_l:.0f} L")
def test_a_lag_takes_in_part_of_the_damping(pot: Pot, real_data: Path):
    air = _series(real_data / TUNNEL, "in_ref_air_c")
    substrate = _series(real_data / TUNNEL, "in_substrate_c")
    since, until = (_instant(day, ROME) // 3600 for day in ("2021-11-12", "2022-01-10"))
    measured = substrate.window(since, until).c
    known = courses(air, [ball_of(pot, water=0.3)]).hourly(0).window(since, until).c
    both = ~np.isnan(known) & ~np.isnan(measured)
    assert both.sum() > 500
    # the offset taken away, what is left is the swing that the model does not have
    left = np.std(known[both] - measured[both])
    same = np.std(air.window(since, until).c[both] - measured[both])
    # 1.4 to 2.5 K against 3.8 K
    assert left < 0.7 * same
