import math
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.special import ellipe

from wintering.science.pots import CONDUCTIVITY_WMK, Pot, PotMaterial, PotShape

TRAY = Pot(PotShape.RECTANGULAR, 42.0, 32.0, 11.0, 1.0, PotMaterial.FIRED_CLAY)
sizes = st.floats(4.0, 120.0)


def test_a_rectangular_pot_by_hand():
    assert TRAY.volume_l == pytest.approx(40 * 30 * 10 / 1000)
    assert TRAY.top_m2 == pytest.approx(0.12)
    assert TRAY.bottom_m2 == pytest.approx(0.42 * 0.32)
    assert TRAY.wall_m2 == pytest.approx(2 * (0.42 + 0.32) * 0.11)
    assert TRAY.wall_conductance_wm2k == pytest.approx(100.0)


def test_a_round_pot_by_hand():
    pot = Pot(PotShape.ROUND, 22.0, 22.0, 16.0, 1.0, PotMaterial.WOOD)
    assert pot.volume_l == pytest.approx(math.pi * 10**2 * 15 / 1000)
    assert pot.wall_m2 == pytest.approx(math.pi * 0.22 * 0.16)
    assert pot.bottom_m2 == pytest.approx(math.pi * 0.11**2)
    assert pot.wall_conductance_wm2k == pytest.approx(13.0)


@given(sizes, st.floats(0.125, 1.0))
def test_the_way_around_an_oval_against_the_elliptic_integral(length, narrower):
    width = length * narrower
    pot = Pot(PotShape.OVAL, length, width, 10.0, 0.1, PotMaterial.PLASTIC)
    around = 4 * length / 2 * ellipe(1 - narrower**2)
    assert pot.wall_m2 == pytest.approx(around * 10.0 / 100**2, rel=0.005)


@given(sizes, sizes, sizes, st.floats(0.1, 1.9), st.sampled_from(PotMaterial))
def test_an_oval_pot_holds_pi_quarters_of_its_rectangle(a, b, height, wall, material):
    rectangular = Pot(PotShape.RECTANGULAR, a, b, height, wall, material)
    oval = replace(rectangular, shape=PotShape.OVAL)
    assert oval.volume_l == pytest.approx(math.pi / 4 * rectangular.volume_l)
    assert 0 < oval.wall_m2 < rectangular.wall_m2
    assert 0 < oval.top_m2 < oval.bottom_m2


@given(sizes, st.floats(0.1, 1.0), st.floats(0.1, 0.9))
def test_a_thicker_wall_leaves_less_room_and_lets_less_heat_through(size, wall, more):
    thin = Pot(PotShape.ROUND, size, size, size, wall, PotMaterial.WOOD)
    thick = replace(thin, wall_cm=wall + more)
    assert thick.volume_l < thin.volume_l
    assert thick.wall_conductance_wm2k < thin.wall_conductance_wm2k


@pytest.mark.parametrize("material", PotMaterial)
def test_every_material_has_a_conductivity_of_its_class(material):
    # all of them insulate better than stone and worse than foam
    assert 0.05 < CONDUCTIVITY_WMK[material] < 2.0


@pytest.mark.parametrize(
    "wrong",
    [
        {"length_cm": 0.0},
        {"width_cm": -3.0},
        {"height_cm": math.nan},
        {"wall_cm": math.inf},
    ],
)
def test_impossible_sizes_are_refused(wrong):
    with pytest.raises(ValueError, match="above 0 cm"):
        replace(TRAY, **wrong)


@pytest.mark.parametrize("wrong", [{"wall_cm": 16.0}, {"height_cm": 1.0}])
def test_a_wall_that_fills_the_pot_is_refused(wrong):
    with pytest.raises(ValueError, match="leaves no room"):
        replace(TRAY, **wrong)


def test_a_round_pot_with_two_diameters_is_refused():
    with pytest.raises(ValueError, match="diameter twice"):
        replace(TRAY, shape=PotShape.ROUND)
