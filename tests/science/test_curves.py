import numpy as np
import pytest

from wintering.science.curves import (
    BEECH,
    BEECH_RAMP,
    BIRCH_RAMP,
    BOTTA,
    CURVES,
    HORNBEAM,
    OAK_RAMP,
    SITKA_SPRUCE,
    RequirementCurve,
    curve_for,
    curves_of,
)
from wintering.science.evidence import Evidence

RAMPS = [BEECH_RAMP, BIRCH_RAMP, OAK_RAMP]


def test_more_chill_never_asks_for_more_warmth_and_never_for_less_than_none():
    asked = BOTTA.required(np.arange(400))
    assert np.all(np.diff(asked) <= 0)
    # -68 + 638 exp(-0.01 C) crosses 0 at 223.9 chill days
    assert asked[223] > 0
    assert asked[224] == 0


@pytest.mark.parametrize(("b", "r"), [(0.0, -0.01), (638.0, 0.0), (638.0, 0.01)])
def test_a_curve_along_which_chill_asks_for_more_warmth_is_refused(b: float, r: float):
    with pytest.raises(ValueError, match="Chill lowers the warmth asked for"):
        RequirementCurve("x", -68.0, b, r, "no source", Evidence.OWN_CHOICE)


@pytest.mark.parametrize("curve", CURVES, ids=lambda curve: curve.name)
def test_every_curve_names_its_source_and_what_it_speaks_of(curve: RequirementCurve):
    assert curve.source
    assert curve.speaks_of
    assert np.all(np.diff(curve.to_wake(np.arange(300))) <= 0)


def test_figures_from_memory_say_so():
    assert SITKA_SPRUCE.evidence is Evidence.FROM_MEMORY


@pytest.mark.parametrize("curve", RAMPS, ids=lambda curve: curve.name)
def test_the_start_of_a_ramp_is_asked_a_tenth_of_it_on_top(curve: RequirementCurve):
    chill = np.array([0, 60, 120])
    np.testing.assert_allclose(curve.to_wake(chill) - curve.required(chill), 20.0)
    # even so a day at 10.5 °C is a quarter of it after 120 chill days
    assert not curve.warns
    assert (10.5 - 5) / curve.to_wake(120) >= 0.25


def test_curves_of_budburst_are_taken_as_they_are():
    assert BOTTA.to_wake(60) == BOTTA.required(60)


def test_a_species_has_its_own_curve_where_one_was_fitted_to_its_budburst():
    assert curve_for("Picea sitchensis") is SITKA_SPRUCE


@pytest.mark.parametrize(
    "name",
    [
        "Acer palmatum",
        "Picea abies",
        "Picea sitchensis 'Papoose'",
        "Fagus sylvatica",
        "Quercus robur",
        "",
    ],
)
def test_all_others_fall_back_on_the_generic_curve(name: str):
    assert curve_for(name) is BOTTA


def test_sitka_spruce_warns_before_the_generic_curve_in_a_common_winter_only():
    days = np.arange(300)
    sooner = days[SITKA_SPRUCE.to_wake(days) < BOTTA.to_wake(days)]
    assert (sooner.min(), sooner.max()) == (81, 148)


def test_all_curves_of_a_species_can_be_compared():
    assert curves_of("Fagus sylvatica") == (BEECH, BEECH_RAMP, BOTTA)
    assert curves_of("Carpinus betulus") == (HORNBEAM, BEECH_RAMP, BOTTA)
    assert curves_of("Acer palmatum") == (BOTTA,)
    assert len(set(CURVES)) == len(CURVES)
