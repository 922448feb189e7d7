"""Which of several figures a tree's limits and its need of chill rest on."""

from datetime import date

import pytest

from tests import make
from tests.forecast.conftest import AT, cold_taxon
from wintering.forecast.queries import tree_outlook
from wintering.forecast.queries.limits import (
    established_limits_of,
    root_limits_of,
    tender_limits_of,
)
from wintering.science.hardiness import RootClass
from wintering.trees.models import Evidence, Taxon, TaxonFact
from wintering.trees.queries import facts_of_trees
from wintering.trees.services import state_fact

pytestmark = pytest.mark.django_db


def _young_roots(taxon: Taxon, low: float, **fields: object) -> None:
    known = {
        "usable_as_limit": True,
        "address": "https://example.org/young",
        "root_age": "immature",
        "kind": Evidence.PUBLISHED,
    }
    make.fact("root_kill_temp", f"{low}", taxon=taxon, low=low, **{**known, **fields})


def _need(taxon: Taxon, low: float, high: float, unit: str, **fields: object) -> None:
    known = {"usable_as_limit": True, "kind": Evidence.PUBLISHED, "unit": unit}
    make.fact(
        "chilling_requirement",
        f"{low}-{high}",
        taxon=taxon,
        low=low,
        high=high,
        **{**known, **fields},
    )


class TestRoots:
    def test_the_keepers_figure_of_a_genus_holds_for_a_tree_filed_under_it(
        self, logged, stood
    ):
        logged()
        acer = make.taxon("Acer", rank=Taxon.Rank.GENUS)
        own = {"low": -12.0, "kind": Evidence.OWN, "by": make.keeper()}
        make.fact("root_kill_temp", "-12", taxon=acer, **own)
        assert tree_outlook(stood(taxon=acer), AT).root_limits.kill_c == -12.0
        other = make.taxon("Acer rubrum")
        assert tree_outlook(stood(taxon=other), AT).root_limits.root_class == "RC"

    @pytest.mark.parametrize(
        ("worked_on", "kill_c"),
        [(None, -3.9), (date(2024, 5, 1), -3.9), (date(2015, 1, 1), -9.4)],
    )
    def test_young_roots_are_held_to_the_mildest_published_figure_of_them(
        self, logged, stood, worked_on, kill_c
    ):
        logged()
        taxon = cold_taxon()
        _young_roots(taxon, -3.9)
        _young_roots(taxon, -12.2)
        limits = tree_outlook(stood(taxon=taxon, root_work_on=worked_on), AT)
        assert limits.root_limits.kill_c == kill_c

    @pytest.mark.parametrize(
        "unfit",
        [{"usable_as_limit": False}, {"address": ""}, {"root_age": "seedling"}],
    )
    def test_a_figure_of_young_roots_that_may_set_no_limit_changes_nothing(
        self, logged, stood, unfit
    ):
        logged()
        taxon = cold_taxon()
        _young_roots(taxon, -3.9, **unfit)
        limits = tree_outlook(stood(taxon=taxon, root_work_on=None), AT).root_limits
        assert (limits.root_class, limits.kill_c) == (RootClass.RD, -5.0)


class TestChillNeed:
    def test_the_unit_is_chosen_before_the_figure(self, logged, stood):
        logged()
        taxon = cold_taxon()
        _need(taxon, 700, 800, "chill_hours_below_7")
        _need(taxon, 30, 70, "portions", kind=Evidence.PRACTICE)
        _need(taxon, 334, 988, "utah")
        need = tree_outlook(stood(taxon=taxon), AT).chill.requirement
        assert (need.low, need.high, need.unit) == (30, 70, "portions")

    def test_within_its_unit_the_highest_of_the_best_kind_counts(self, logged, stood):
        logged()
        taxon = cold_taxon()
        _need(taxon, 200, 400, "chill_hours_0_7")
        _need(taxon, 300, 500, "chill_hours_0_7")
        _need(taxon, 800, 900, "chill_hours_0_7", kind=Evidence.PRACTICE)
        need = tree_outlook(stood(taxon=taxon), AT).chill.requirement
        assert (need.low, need.high) == (300, 500)

    def test_hours_that_count_frozen_ones_come_last_and_say_so(self, logged, stood):
        logged()
        taxon = cold_taxon()
        _need(taxon, 700, 800, "chill_hours_below_7")
        need = tree_outlook(stood(taxon=taxon), AT).chill.requirement
        assert need.unit == "chill_hours_below_7"
        assert "frozen hours" in need.source
        _need(taxon, 10, 12, "cold_days", kind=Evidence.PRACTICE)
        need = tree_outlook(stood(taxon=taxon), AT).chill.requirement
        assert need.unit == "cold_days"

    def test_the_keepers_own_first_figure_stands_alone(self, logged, stood):
        logged()
        taxon = cold_taxon()
        own = {"kind": Evidence.OWN, "by": make.keeper()}
        _need(taxon, 40, 60, "portions")
        _need(taxon, 1000, 1200, "chill_hours_0_7", **own)
        _need(taxon, 500, 600, "chill_hours_0_7", **own)
        tree = stood(taxon=taxon)
        assert tree_outlook(tree, AT).chill.requirement.low == 500
        state_fact(
            on=make.DAY,
            tree=tree,
            attribute="chilling_requirement",
            value="300",
            low=300,
            high=300,
            unit="chill_hours_below_7",
            reason="x",
            by=make.keeper(),
        )
        need = tree_outlook(tree, AT).chill.requirement
        assert (need.low, need.high, need.unit) == (300, 300, "chill_hours_below_7")
        assert need.evidence == "the keeper's own"


@pytest.mark.parametrize(
    ("rest", "watch_c", "act_c"),
    [("must stay frost-free", 5.0, 2.0), ("no dormancy", 12.0, 10.0)],
)
def test_a_tender_tree_has_no_class_of_hardy_roots(db, rest, watch_c, act_c):
    taxon = make.taxon()
    make.fact("dormancy_class", rest, taxon=taxon)
    make.fact("root_class", "RB", taxon=taxon)
    tree = make.tree(taxon=taxon, root_work_on=None)
    facts = facts_of_trees([tree])[tree.pk]
    limits = root_limits_of(tree, facts, on=make.DAY)
    assert (limits.root_class, limits.kill_c) == (None, 0.0)
    assert (limits.watch_c, limits.act_c) == (watch_c, act_c)
    assert "own choice" in limits.source
    assert "belongs to the trees" in limits.because
    assert established_limits_of(facts) == limits


@pytest.mark.parametrize(
    ("rank", "of_habit", "whose"),
    [
        (Taxon.Rank.SPECIES, False, "the genus Ficus"),
        (Taxon.Rank.GENUS, False, "the genus Ficus"),
        (Taxon.Rank.SPECIES, True, "every evergreen tree"),
    ],
)
def test_what_is_only_inferred_limits_a_tree_and_says_of_whom_it_is_stated(
    db, rank, of_habit, whose
):
    genus = make.taxon("Ficus", rank=Taxon.Rank.GENUS, habit="evergreen tree")
    about = {"habit": "evergreen tree"} if of_habit else {"taxon": genus}
    TaxonFact.objects.create(
        attribute="dormancy_class",
        value="must stay frost-free",
        kind=Evidence.COMPUTED,
        source="so for most of them",
        **about,
    )
    taxon = genus
    if rank == Taxon.Rank.SPECIES:
        taxon = make.taxon("Ficus exempla", habit="evergreen tree")
    tree = make.tree(taxon=taxon)
    limits = root_limits_of(tree, facts_of_trees([tree])[tree.pk], on=make.DAY)
    assert (limits.act_c, limits.watch_c) == (2.0, 5.0)
    assert limits.because == (
        "It is counted as one of the trees that must stay frost-free, as is stated of "
        f"{whose}: no class of hardy roots is for those."
    )


def test_the_keepers_own_figure_stands_before_that(db):
    taxon = make.taxon()
    make.fact("dormancy_class", "must stay frost-free", taxon=taxon)
    tree = make.tree(taxon=taxon, root_work_on=date(2020, 4, 1))
    state_fact(
        tree=tree,
        attribute="root_kill_temp",
        value="-4",
        low=-4,
        high=-4,
        reason="Stood so two winters.",
        on=make.DAY,
        by=make.keeper(),
    )
    facts = facts_of_trees([tree])[tree.pk]
    assert root_limits_of(tree, facts, on=make.DAY).kill_c == -4.0
    assert established_limits_of(facts).kill_c == -4.0
    assert tender_limits_of(facts) is None
