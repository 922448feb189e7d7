"""Ground temperature against printed figures and the heat equation solved in steps."""

import numpy as np
import pytest
from scipy.linalg import solve_banded

from tests.published import physics
from wintering.science.ground import SurfaceYear, damping_depth_m, ground_c, lag_d

EXAMPLE = SurfaceYear(mean_c=8.0, swing_k=13.0, coldest_day=30)
EXAMPLE_M2D = 0.05

YEARLY_DAMPING = physics.row("G01")
FIVE_PERCENT = physics.row("G02")
AT_DEPTHS = {
    0.0: physics.row("G03"),
    0.3: physics.row("G04"),
    0.6: physics.row("G05"),
    1.2: physics.row("G06"),
    2.0: physics.row("G07"),
    3.0: physics.row("G08"),
}
LAG, BOTH_DAMPINGS = physics.row("G09"), physics.row("G10")


def test_damping_depth_of_a_tropical_year():
    YEARLY_DAMPING.check(float(damping_depth_m(1e-6 * 86_400, period_d=365.2422)))


def test_depth_to_which_five_percent_of_the_year_reach():
    FIVE_PERCENT.check(float(damping_depth_m(2e-7 * 86_400) * np.log(20)))


@pytest.mark.parametrize("depth", AT_DEPTHS)
def test_temperature_at_a_depth(depth: float):
    AT_DEPTHS[depth].check(float(ground_c(depth, 45, EXAMPLE, EXAMPLE_M2D)))


def test_lag_at_a_depth():
    LAG.check(float(lag_d(1.2, EXAMPLE_M2D)))


def test_damping_depth_of_a_year_and_of_a_day():
    BOTH_DAMPINGS.check(
        float(damping_depth_m(EXAMPLE_M2D)),
        float(damping_depth_m(EXAMPLE_M2D, period_d=1.0)),
    )


def _last_year_by_steps(diffusivity_m2d: float) -> tuple[np.ndarray, np.ndarray]:
    """Depths, and temperatures (days, depths) of the tenth year of a periodic surface.

    Crank-Nicolson with steps of 5 cm and a day; no heat crosses the bottom at 20 m.
    The start, all at the mean, is forgotten by then.
    """
    dz, nodes, years = 0.05, 401, 10
    ratio = diffusivity_m2d / dz**2 / 2
    bands = np.zeros((3, nodes))
    bands[0, 2:], bands[1], bands[2, :-2] = -ratio, 1 + 2 * ratio, -ratio
    bands[1, 0], bands[2, -2] = 1.0, -2 * ratio
    c = np.full(nodes, EXAMPLE.mean_c)
    last = np.empty((365, nodes))
    for day in range(365 * years):
        flow = np.empty(nodes)
        flow[1:-1] = c[:-2] - 2 * c[1:-1] + c[2:]
        flow[-1] = 2 * (c[-2] - c[-1])
        right = c + ratio * flow
        angle = 2 * np.pi * (day + 1 - EXAMPLE.coldest_day) / 365
        right[0] = EXAMPLE.mean_c - EXAMPLE.swing_k * np.cos(angle)
        c = solve_banded((1, 1), bands, right)
        last[day % 365] = c
    return np.arange(nodes) * dz, last


@pytest.mark.parametrize("diffusivity", [0.02, 0.045, 0.07])
def test_the_heat_equation_in_steps_gives_the_same_year(diffusivity: float):
    depths, expected = _last_year_by_steps(diffusivity)
    days = np.arange(1, 366)
    found = ground_c(depths, days[:, np.newaxis], EXAMPLE, diffusivity)
    near = depths <= 5.0
    assert np.abs(found - expected)[:, near].max() < 0.02
