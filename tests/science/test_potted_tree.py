import math
from dataclasses import replace

import numpy as np
import pytest

from wintering.science.evidence import Evidence
from wintering.science.pots import Pot, PotMaterial, PotShape
from wintering.science.potted_tree import Habit, PottedTree, held_l, lost_kg, prior

# 30 × 20 × 5 cm inside: 3 L, 0.06 m²
POT = Pot(PotShape.RECTANGULAR, 32.0, 22.0, 6.0, 1.0, PotMaterial.FIRED_CLAY)
TREE = PottedTree(POT, "akadama", Habit.LEAFLESS)
STEADY = np.full(60, 0.5)


def loss(tree, demand=STEADY):
    return lost_kg(tree, tree.pot, held_l(tree), demand)


def test_water_held_is_a_share_of_the_pots_volume():
    found = held_l(TREE)
    # 5 cm deep: 5.2 % more than in a column of 7.6 cm
    assert found.litres.likely == pytest.approx(3.0 * 1.052 * 0.20)
    assert found.litres.low == pytest.approx(3.0 * 1.052 * 0.10)
    assert found.evidence is Evidence.FROM_MEMORY


def test_two_weighings_beat_any_table():
    found = held_l(replace(TREE, weighed_l=0.5))
    assert found.litres.likely == 0.5
    assert 0.4 < found.litres.low < 0.5 < found.litres.high < 0.6
    assert (found.because, found.evidence) == ("As weighed.", Evidence.KEEPERS_OWN)


def test_a_pot_of_unknown_size_holds_an_unknown_amount():
    assert held_l(replace(TREE, pot=None)) is None


@pytest.mark.parametrize("weighed_l", [0.0, -0.2, 1.9, math.nan])
def test_more_water_than_a_pot_can_give_is_refused(weighed_l):
    with pytest.raises(ValueError, match="Weigh again"):
        replace(TREE, weighed_l=weighed_l)


def test_doubt_about_the_pot_is_doubt_about_the_factor():
    tabled, weighed = (
        prior(Habit.CONIFER, held_l(tree))
        for tree in (TREE, replace(TREE, weighed_l=0.5))
    )
    assert tabled.likely == weighed.likely == pytest.approx(1.2)
    assert tabled.sd > weighed.sd > 0.5


def test_trees_with_more_leaf_are_taken_to_dry_faster():
    likely = [prior(habit, held_l(TREE)).likely for habit in Habit]
    assert likely == pytest.approx([1.2, 1.5, 1.0, 1.6])


def test_loss_is_demand_on_the_surface_at_first():
    assert loss(TREE)[7] == pytest.approx(8 * 0.5 * 0.06)


def test_only_under_a_leafless_tree_a_drying_surface_slows():
    bare, conifer = loss(TREE), loss(replace(TREE, habit=Habit.CONIFER))
    assert (bare[:8] == conifer[:8]).all()
    assert bare[-1] < 15 * 0.06 < conifer[-1]


def test_peat_goes_on_drying_for_longer_than_grains():
    assert loss(replace(TREE, substrate="peat"))[-1] > loss(TREE)[-1]


def test_moss_halves_and_an_unglazed_wall_adds():
    plain, mossy, unglazed = (
        loss(tree)[0]
        for tree in (
            TREE,
            replace(TREE, is_covered=True),
            replace(TREE, is_unglazed=True),
        )
    )
    assert mossy == plain / 2
    # 1.08 m around and 6 cm high
    assert unglazed / plain == pytest.approx(1 + 0.3 * 1.08 * 0.06 / 0.06)
