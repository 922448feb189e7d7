"""What speaks against taking a tree in."""

import pytest

from tests import make
from wintering.stays.queries import cold_refusal
from wintering.trees.models import Taxon
from wintering.trees.services import state_fact

pytestmark = pytest.mark.django_db


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
        tree=tree,
        attribute="dormancy_class",
        value="must stay frost-free",
        reason="Lost its bark at -2 °C.",
        by=make.keeper(),
    )
    assert "of this tree alone" in cold_refusal(taxon, tree)
    assert cold_refusal(taxon) == ""


def test_a_taxon_of_which_nothing_is_known_is_not_refused():
    assert cold_refusal(make.taxon("Acer ignotum")) == ""
