"""The root zone of a tree's own pot, computed where no probe stands in it."""

import numpy as np
import pytest
from django.contrib.auth.models import AnonymousUser
from django.template.loader import render_to_string

from tests import make
from tests.forecast.conftest import AT, HOURS
from wintering.forecast.queries import tree_outlook
from wintering.forecast.queries.own_pot import own_pot, pot_of
from wintering.science.pots import PotMaterial, PotShape
from wintering.trees.models import Pot
from wintering.web.templatetags.units import temperature

pytestmark = pytest.mark.django_db


def night(c, hours=10):
    air = np.full(HOURS, 3.0)
    air[-hours:] = c
    return air


def test_a_small_pot_follows_the_air_sooner_than_a_large_one(logged, stood):
    logged(air=night(-6.0))
    sizes = (
        {"width_cm": 12, "depth_cm": 10, "height_cm": 5},
        {"width_cm": 45, "depth_cm": 35, "height_cm": 14},
    )
    found = []
    for size in sizes:
        tree = stood(pot=size)
        found.append(own_pot(tree_outlook(tree, AT), tree.pots.get()))
    small, large = found
    assert small.coldest_c[0] < large.coldest_c[0]
    assert all(low <= high for low, high in (small.coldest_c, large.coldest_c))
    assert -6.0 <= small.coldest_c[0] < 0


def test_hours_to_the_act_value_are_told_only_where_the_air_leads_there(logged, stood):
    bench = logged(air=night(-12.0, hours=2))
    tree = stood(pot={"width_cm": 30, "depth_cm": 22, "height_cm": 8})
    least, most = own_pot(tree_outlook(tree, AT), tree.pots.get()).hours
    assert 0 < least < most
    bench.air.days.all().delete()
    logged(air=3.0)
    assert own_pot(tree_outlook(tree, AT), tree.pots.get()).hours is None


def test_the_coldest_runs_from_the_rim_to_the_ball_as_a_whole(logged, stood):
    logged(air=night(-6.0))
    tree = stood(pot={"width_cm": 30, "depth_cm": 22, "height_cm": 8})
    pot = own_pot(tree_outlook(tree, AT), tree.pots.get())
    rim_c, ball_c = pot.coldest_c
    assert -6.0 < rim_c < np.nanmin(pot.estimate.low.c[-24:])
    assert ball_c == np.nanmin(pot.estimate.high.c[-24:])


def test_where_the_rim_is_cold_enough_to_act_no_hours_are_left_at_least(logged, stood):
    logged(air=night(-20.0, hours=3))
    tree = stood(pot={"width_cm": 45, "depth_cm": 35, "height_cm": 14})
    outlook = tree_outlook(tree, AT)
    pot = own_pot(outlook, tree.pots.get())
    assert pot.coldest_c[0] <= outlook.root_limits.act_c < pot.coldest_c[1]
    least, most = pot.hours
    assert least == 0.0
    assert most > 10.0


def test_the_page_says_which_figure_is_of_the_rim(logged, stood):
    logged(air=night(-12.0, hours=2))
    tree = stood(pot={"width_cm": 30, "depth_cm": 22, "height_cm": 8})
    pot = own_pot(tree_outlook(tree, AT), tree.pots.get())
    told = render_to_string(
        "web/_tree_own_pot.html", {"pot": pot, "evidence": [], "user": AnonymousUser()}
    )
    rim_c, ball_c = (temperature(c, AnonymousUser()) for c in pot.coldest_c)
    assert f"<strong>{rim_c}</strong> at the rim at worst, {ball_c} in the ball" in told
    assert "the rim, where the young roots are, is colder than the middle" in told
    least, most = pot.hours
    assert f"in {least:.0f} h at the rim at the soonest" in told
    assert f"in {most:.0f} h by the ball as a whole at the latest" in told


@pytest.mark.parametrize(("low_c", "may"), [(-3.0, False), (-25.0, True)])
def test_a_rim_that_may_have_been_killed_is_told(logged, stood, low_c, may):
    logged(air=night(low_c, hours=40))
    tree = stood(pot={"width_cm": 14, "depth_cm": 12, "height_cm": 5})
    assert own_pot(tree_outlook(tree, AT), tree.pots.get()).may_kill is may


def test_what_was_assumed_is_said(logged, stood):
    logged(air=3.0)
    tree = stood()
    pot = own_pot(tree_outlook(tree, AT), tree.pots.get())
    assert "fired clay, not told" in pot.assumed
    assert "15% to 40%" in pot.assumed


@pytest.mark.parametrize(
    ("words", "material"),
    [
        ("", PotMaterial.FIRED_CLAY),
        ("unglazed stoneware", PotMaterial.FIRED_CLAY),
        ("Plastic training pot", PotMaterial.PLASTIC),
        ("cedar box", PotMaterial.WOOD),
        ("Wooden box", PotMaterial.WOOD),
        ("wood", PotMaterial.WOOD),
        ("mica", PotMaterial.PLASTIC),
        ("black polypropylene", PotMaterial.PLASTIC),
        ("wood-fired stoneware", PotMaterial.FIRED_CLAY),
        ("wood-fired, unglazed", PotMaterial.FIRED_CLAY),
        ("ceramic, box shape", PotMaterial.FIRED_CLAY),
        ("terra cotta in a plastic saucer", PotMaterial.FIRED_CLAY),
        ("unglazed clay (boxwood grove)", PotMaterial.FIRED_CLAY),
        ("boxwood's pot", PotMaterial.FIRED_CLAY),
    ],
)
def test_the_material_is_read_from_the_keepers_words(words, material):
    assert pot_of(make.pot(material=words)).material is material


def test_a_word_that_names_no_material_counts_as_none_told(logged, stood):
    logged(air=3.0)
    tree = stood(pot={"material": "box"})
    pot = own_pot(tree_outlook(tree, AT), tree.pots.get())
    assert "fired clay, not told" in pot.assumed


def test_an_outline_of_another_kind_counts_as_the_oval_within_it():
    pot = pot_of(make.pot(shape=Pot.Shape.OTHER, width_cm=20, depth_cm=30))
    assert pot.shape is PotShape.OVAL
    assert (pot.length_cm, pot.width_cm) == (30, 20)


def test_without_measures_or_air_nothing_is_computed(logged, stood):
    tree = stood(pot={"height_cm": None})
    logged(air=3.0)
    assert own_pot(tree_outlook(tree, AT), tree.pots.get()) is None
    assert own_pot(tree_outlook(tree, AT), None) is None
    outside = make.tree()
    assert own_pot(tree_outlook(outside, AT), outside.pots.get()) is None


def test_where_the_sensor_fell_silent_no_hours_are_told(logged, stood):
    logged(air=night(-12.0, hours=4)[:-2], hours=HOURS - 2)
    tree = stood(pot={"width_cm": 30, "depth_cm": 22, "height_cm": 8})
    pot = own_pot(tree_outlook(tree, AT), tree.pots.get())
    assert pot.coldest_c[0] < 0
    assert pot.hours is None
