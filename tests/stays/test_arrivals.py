"""What speaks against taking a tree in."""

from pathlib import Path

import pytest

from tests import make
from wintering.stays.queries import NOT_FOR_THE_FRAME, cold_doubt, cold_refusal
from wintering.trees.models import Taxon
from wintering.trees.queries import facts_of
from wintering.trees.services import load_catalogue, state_fact

pytestmark = pytest.mark.django_db

FIXTURES = Path(__file__).parents[2] / "fixtures"


def test_a_tropical_genus_speaks_for_a_species_that_nobody_described():
    ficus = make.taxon("Ficus", rank=Taxon.Rank.GENUS)
    make.fact("dormancy_class", "no dormancy", taxon=ficus, source="a garden's page")
    refusal = cold_refusal(make.taxon("Ficus virens"))
    assert "no dormancy, as is stated of the genus Ficus" in refusal
    assert "a garden's page" in refusal


def test_what_is_stated_of_the_tree_itself_counts_first():
    taxon = make.taxon("Olea europaea")
    make.fact("dormancy_class", "needs cool rest", taxon=taxon)
    tree = make.tree(taxon=taxon)
    assert cold_refusal(taxon, tree) == ""
    state_fact(
        on=make.DAY,
        tree=tree,
        attribute="dormancy_class",
        value="must stay frost-free",
        reason="Lost its bark at -2 °C.",
        by=make.keeper(),
    )
    assert "of this tree alone" in cold_refusal(taxon, tree)
    assert cold_refusal(taxon) == ""


def test_a_taxon_of_which_nothing_is_known_is_asked_about():
    taxon = make.taxon("Acer ignotum")
    assert cold_refusal(taxon) == ""
    assert "nothing is stated of its winter rest" in cold_doubt(taxon)


@pytest.mark.parametrize(
    ("name", "habit", "told"),
    [
        ("Delonix regia", "deciduous broadleaf", "needs cold dormancy"),
        ("Rhododendron yakushimanum", "evergreen broadleaf", "must stay frost-free"),
    ],
)
def test_what_is_only_said_of_a_habit_is_neither_taken_nor_refused(name, habit, told):
    load_catalogue(FIXTURES)
    taxon = make.taxon(name, habit=habit)
    assert cold_refusal(taxon) == ""
    doubt = cold_doubt(taxon)
    assert f"“{told}” is only stated of every {habit}" in doubt
    assert "own choice" in doubt


def test_what_is_reckoned_over_a_genus_is_no_knowledge_of_another_species():
    load_catalogue(FIXTURES)
    fir = make.taxon("Abies religiosa", habit="evergreen conifer")
    assert cold_refusal(fir) == ""
    assert "only stated of the genus Abies (computed here" in cold_doubt(fir)
    filed = Taxon.objects.get(scientific_name="Abies")
    assert "computed here" in cold_doubt(filed)


def test_what_the_keeper_states_of_a_genus_is_known():
    acer = make.taxon("Acer", rank=Taxon.Rank.GENUS)
    state_fact(
        on=make.DAY,
        taxon=acer,
        attribute="dormancy_class",
        value="needs cold dormancy",
        reason="x",
        by=make.keeper(),
    )
    assert cold_doubt(make.taxon("Acer ignotum")) == ""


def test_of_the_catalogues_own_taxa_none_is_asked_about_and_the_tender_are_refused():
    load_catalogue(FIXTURES)
    named = Taxon.objects.exclude(rank=Taxon.Rank.GENUS)
    assert named.count() > 200
    assert [taxon for taxon in named if cold_doubt(taxon)] == []
    told = facts_of(named.values_list("pk", flat=True))
    tender = {
        taxon.scientific_name
        for taxon in named
        if told[taxon.pk].best("dormancy_class").value in NOT_FOR_THE_FRAME
    }
    refused = {taxon.scientific_name for taxon in named if cold_refusal(taxon)}
    assert refused == tender
    assert {"Ficus microcarpa", "Acer palmatum"} & refused == {"Ficus microcarpa"}
