"""Drying, learning and substrates against the table of physical check values."""

import math

import numpy as np
import pytest
from scipy.special import ndtr

from tests.published.physics import row
from wintering.science import drying, drying_factor
from wintering.science.drying_factor import CHECK, DRY, MOIST, Belief
from wintering.science.substrate import COMPONENTS

W = {n: row(f"W{n:02}") for n in range(1, 9)}
A = {n: row(f"A{n}") for n in (28, 29)}
HELD = {
    "S01": "pine bark",
    "S02": "sphagnum peat",
    "S03": "perlite",
    "S04": "pumice",
    "S05": "lava",
    "S06": "granite grit",
}
SAND = row("S07")

PRIOR = Belief(0.0, 0.5)
AVAILABLE_L, DEMAND_KG_D = 0.75, 0.30 * 0.043


def weighing() -> Belief:
    return drying_factor.weighed(PRIOR, 0.129, 0.18, 0.03)


def test_a_weighing_moves_and_narrows_the_belief():
    W[1].check(weighing().mean)
    W[2].check(weighing().sd)


@pytest.mark.parametrize(("taken", "belief"), [(W[3], lambda: PRIOR), (W[4], weighing)])
def test_days_until_half_of_the_water_is_gone(taken, belief):
    factors = (belief().factor(quantile) for quantile in (0.9, 0.5, 0.1))
    taken.check(*(0.5 * AVAILABLE_L / factor / DEMAND_KG_D for factor in factors))


@pytest.mark.parametrize(("taken", "what"), [(W[5], MOIST), (W[6], CHECK), (W[7], DRY)])
def test_a_word_moves_the_factor(taken, what):
    taken.check(drying_factor.found(PRIOR, 20 * DEMAND_KG_D / AVAILABLE_L, what).likely)


@pytest.mark.parametrize("what", [MOIST, CHECK, DRY])
def test_a_word_moves_the_factor_as_much_as_with_an_exact_normal_distribution(what):
    # the same posterior by SciPy's distribution on a grid forty times finer
    ln = np.linspace(-4.0, 4.0, 16001) * PRIOR.sd
    gone = np.exp(ln) * 0.344
    low, high = ((bound - gone) / 0.12 for bound in what)
    weight = np.exp(-0.5 * (ln / PRIOR.sd) ** 2) * (
        0.97 * (ndtr(high) - ndtr(low)) + 0.01
    )
    mean = np.average(ln, weights=weight)
    sd = math.sqrt(np.average((ln - mean) ** 2, weights=weight))
    found = drying_factor.found(PRIOR, 0.344, what)
    assert found.mean == pytest.approx(mean, abs=1e-4)
    assert found.sd == pytest.approx(sd, abs=1e-4)


def test_a_plain_running_average():
    W[8].check(math.exp(drying_factor.running_average(0.0, 0.129, 0.18)))


def test_dormant_leaves_lose_little():
    kg = drying.leaf_loss_kg_d(0.3, area_m2=1.0, conductance_mmol=3.0, air_kpa=101.3)
    A[28].check(1000 * kg)


def test_a_drying_surface_slows():
    A[29].check(drying.slowing(12.0, drying.Stages(8.0, 22.0)))


@pytest.mark.parametrize(
    ("taken", "name"), [(row(check_id), name) for check_id, name in HELD.items()]
)
def test_water_held_by_a_component(taken, name):
    (component,) = (c for c in COMPONENTS if c.name == name)
    taken.check(100 * component.capacity)


def test_water_held_by_sand():
    (sand,) = (c for c in COMPONENTS if c.name == "coarse sand")
    SAND.check(sand.capacity)
