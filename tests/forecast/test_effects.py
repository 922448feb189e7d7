"""What a fact would change, seen before it is kept."""

from datetime import date

import pytest

from tests import make
from tests.forecast.conftest import AT, cold_taxon
from wintering.forecast.effects import effects_of, trees_spoken_of
from wintering.trees.models import Taxon, TaxonFact, Tree
from wintering.trees.queries import FactChange
from wintering.trees.services import own_fact, state_fact

pytestmark = pytest.mark.django_db


def differences(effect):
    return {d.before.what: (d.before.value, d.after.value) for d in effect.differences}


def own_class(value, **about):
    return own_fact(
        on=make.DAY,
        attribute="root_class",
        value=value,
        reason="Seen.",
        by=make.keeper(),
        **about,
    )


def test_a_milder_root_class_changes_limits_and_raises_a_flag(logged, stood):
    logged(root=-3.0)
    tree = stood()
    change = FactChange(put_in=own_class("RC", taxon=tree.taxon))
    (effect,) = effects_of(change, [tree], AT)
    assert effect.tree == tree
    assert differences(effect) == {
        "Roots killed at": (-9.4, -6.7),
        "Act at": (-7.4, -4.7),
        "Watch from": (-5.4, -2.7),
        "Flagged": ("nothing", "roots too cold"),
    }


def test_what_changes_nothing_has_no_effect(logged, stood):
    logged()
    tree = stood()
    change = FactChange(put_in=own_class("RB", taxon=tree.taxon))
    assert effects_of(change, [tree], AT) == []


def test_taking_a_value_back_shows_what_stands_again(logged, stood):
    logged()
    tree = stood()
    fact = state_fact(
        on=make.DAY,
        tree=tree,
        attribute="root_class",
        value="RA",
        reason="x",
        by=make.keeper(),
    )
    (effect,) = effects_of(FactChange(taken_out=fact), [tree], AT)
    assert differences(effect)["Roots killed at"] == (-25.0, -9.4)


def test_the_trees_of_a_genus_are_those_of_its_species():
    acer = make.taxon("Acer", rank=Taxon.Rank.GENUS)
    wanted = [
        make.tree(taxon=make.taxon("Acer alpha")),
        make.tree(taxon=make.taxon("×Acer beta")),
        make.tree(taxon=acer),
    ]
    make.tree(taxon=make.taxon("Aceriphyllum rossii"))
    fact = own_class("RA", taxon=acer)
    assert list(trees_spoken_of(fact, Tree.objects.all())) == wanted


def test_a_fact_of_one_tree_is_about_that_tree():
    taxon = cold_taxon()
    tree, _other = make.tree(taxon=taxon), make.tree(taxon=taxon)
    assert list(trees_spoken_of(own_class("RA", tree=tree), Tree.objects.all())) == [
        tree
    ]
    of_habit = TaxonFact(habit="deciduous tree", attribute="note", value="x")
    assert trees_spoken_of(of_habit, Tree.objects.all()).count() == 2


def test_statements_do_not_grow_with_the_trees(
    logged, stood, django_assert_max_num_queries
):
    logged()
    taxon = cold_taxon()
    trees = [stood(taxon=taxon) for _ in range(3)]
    change = FactChange(put_in=own_class("RC", taxon=taxon))
    with django_assert_max_num_queries(30):
        assert len(effects_of(change, trees, AT)) == 3


def test_what_root_work_hides_today_is_told_for_the_day_it_lapses(logged, stood):
    logged()
    tree = stood(root_work_on=date(2024, 4, 1))
    own = own_fact(
        attribute="root_kill_temp",
        value="-20",
        low=-20,
        high=-20,
        reason="Seen.",
        on=AT.date(),
        by=make.keeper(),
        tree=tree,
    )
    (effect,) = effects_of(FactChange(put_in=own), [tree], AT)
    assert differences(effect) == {
        "Roots a year after their work: killed at": (-9.4, -20.0),
        "Roots a year after their work: watch from": (-5.4, -16.0),
    }


@pytest.mark.parametrize(
    ("worked_on", "killed", "told"),
    [
        (date(2022, 4, 1), -9.4, {}),
        (
            date(2024, 4, 1),
            -5.0,
            {
                "Roots a year after their work: killed at": (-9.4, "as now"),
                "Roots a year after their work: watch from": (-5.4, "as now"),
            },
        ),
    ],
)
def test_a_tree_found_to_be_tender_is_reckoned_so_whenever_its_roots_were_worked(
    logged, stood, worked_on, killed, told
):
    logged(root=6.0)
    tree = stood(root_work_on=worked_on)
    own = own_fact(
        attribute="dormancy_class",
        value="must stay frost-free",
        reason="Seen.",
        on=AT.date(),
        by=make.keeper(),
        tree=tree,
    )
    (effect,) = effects_of(FactChange(put_in=own), [tree], AT)
    found = differences(effect)
    assert found["Roots killed at"] == (killed, 0.0)
    assert found["May stand in a frame that freezes"] == ("yes", "no")
    later = {what: change for what, change in found.items() if "a year after" in what}
    assert later == told
