import csv
from datetime import date

import pytest
from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction

from tests import make
from wintering.people.queries import events_about
from wintering.trees.models import Evidence, Taxon, TaxonFact, Tree
from wintering.trees.queries import facts_of, trees_for
from wintering.trees.services import (
    add_tree,
    change_tree,
    load_catalogue,
    pot_up,
    state_fact,
)

pytestmark = pytest.mark.django_db

TAXON = {
    "scientific_name": "Acer palmatum",
    "habit": "deciduous",
    "is_evergreen": "no",
    "common_names": "Japanese maple",
    "original_names": "イロハモミジ",
    "romanised_names": "iroha momiji",
    "synonyms": "",
}
FACT = {
    "taxon": "Acer palmatum",
    "attribute": "usda_zone_min",
    "value": "6",
    "low": "6",
    "high": "6",
    "unit": "zone",
    "printed_unit": "zone",
    "qualifier": "coldest zone",
    "root_age": "",
    "usable_as_limit": "",
    "limit_reason": "",
    "kind": "published",
    "source": "a plant database",
    "address": "https://example.org/acpa",
}


def catalogue(folder, facts=(FACT,), taxa=(TAXON,)):
    for name, rows in (("taxa.csv", taxa), ("taxon_facts.csv", facts)):
        with (folder / name).open("w", encoding="utf-8", newline="") as file:
            writer = csv.DictWriter(file, fieldnames=list(rows[0]))
            writer.writeheader()
            writer.writerows(rows)
    return folder


def test_numbers_follow_each_other():
    keeper, taxon = make.keeper(), make.taxon()
    numbers = [add_tree(taxon=taxon, height_cm=40, by=keeper).number for _ in range(3)]
    assert numbers == ["T-001", "T-002", "T-003"]


def test_a_number_goes_on_after_the_highest_ever_given():
    make.tree(serial=999)
    tree = add_tree(taxon=make.taxon(), height_cm=40, by=make.keeper())
    assert tree.number == "T-1000"


def test_a_number_is_not_used_again_after_its_tree_is_gone():
    keeper, taxon = make.keeper(), make.taxon()
    tree = add_tree(taxon=taxon, height_cm=40, by=keeper)
    tree.delete()
    assert add_tree(taxon=taxon, height_cm=40, by=keeper).number == "T-002"


def test_a_client_enters_no_tree():
    with pytest.raises(ValidationError, match="work here"):
        add_tree(taxon=make.taxon(), height_cm=40, by=make.user(role="client"))


def test_two_trees_never_share_a_number():
    make.tree(serial=7)
    with transaction.atomic(), pytest.raises(IntegrityError):
        Tree(serial=8, number="T-007", taxon=make.taxon(), height_cm=30).save()


def test_an_impossible_height_is_refused_and_nothing_is_kept():
    with pytest.raises(ValidationError, match="height with pot"):
        add_tree(taxon=make.taxon(), height_cm=-3, by=make.keeper())
    assert not Tree.objects.exists()


def test_a_tree_enters_with_its_pot():
    pot = {"since": date(2024, 10, 5), "width_cm": 30, "depth_cm": 22}
    tree = add_tree(taxon=make.taxon(), height_cm=40, by=make.keeper(), pot=pot)
    assert tree.pots.get().width_cm == 30


def test_a_refused_pot_refuses_the_tree():
    pot = {"width_cm": 0, "depth_cm": 22}
    with pytest.raises(ValidationError, match="above 0 cm"), transaction.atomic():
        add_tree(taxon=make.taxon(), height_cm=40, by=make.keeper(), pot=pot)
    assert not Tree.objects.exists()


def test_a_change_keeps_what_stood_before():
    tree, keeper = make.tree(height_cm=45), make.keeper()
    change_tree(tree=tree, by=keeper, height_cm=48, cultivar="Deshojo")
    event = events_about(tree)[0]
    assert event.detail["was"] == {"height_cm": "45.0", "cultivar": ""}
    assert Tree.objects.named_like("deshōjō").get() == tree


def test_changing_nothing_leaves_no_event():
    tree = make.tree(height_cm=45)
    change_tree(tree=tree, by=make.keeper(), height_cm=45)
    assert not events_about(tree)


def test_potting_up_ends_the_old_pot():
    tree = make.tree()
    pot_up(tree=tree, on=date(2025, 4, 12), by=make.keeper(), width_cm=40, depth_cm=30)
    assert [pot.until for pot in tree.pots.all()] == [None, date(2025, 4, 12)]


def test_a_cultivar_stands_in_single_quotes():
    tree = make.tree(taxon=make.taxon("Acer palmatum"), cultivar="Kiyohime")
    assert tree.name == "Acer palmatum 'Kiyohime'"


@pytest.mark.parametrize(
    "typed", ["japanese map", "palmatum", "イロハ", "ACER", "momiji"]
)
def test_a_taxon_is_found_by_part_of_any_of_its_names(tmp_path, typed):
    load_catalogue(catalogue(tmp_path))
    assert Taxon.objects.named_like(typed).get().scientific_name == "Acer palmatum"


def test_loading_the_catalogue_again_changes_nothing(tmp_path):
    folder = catalogue(tmp_path)
    assert load_catalogue(folder) == 1
    kept = TaxonFact.objects.get().pk
    assert load_catalogue(folder) == 0
    assert TaxonFact.objects.get().pk == kept


def test_a_corrected_catalogue_replaces_its_values_and_keeps_the_keepers(tmp_path):
    load_catalogue(catalogue(tmp_path))
    taxon = Taxon.objects.get()
    state_fact(
        on=make.DAY,
        taxon=taxon,
        attribute="usda_zone_min",
        value="5",
        reason="Stood here ten winters.",
        by=make.keeper(),
    )
    load_catalogue(
        catalogue(tmp_path, [{**FACT, "value": "5b", "low": "", "high": ""}])
    )
    assert set(taxon.facts.values_list("value", flat=True)) == {"5b", "5"}


def test_the_keepers_own_value_stands_before_a_published_one(tmp_path):
    load_catalogue(catalogue(tmp_path))
    taxon, keeper = Taxon.objects.get(), make.keeper()
    for value in ("5", "4"):
        state_fact(
            on=make.DAY,
            taxon=taxon,
            attribute="usda_zone_min",
            value=value,
            reason="Seen.",
            by=keeper,
        )
    facts = facts_of([taxon.pk])[taxon.pk]
    assert [fact.value for fact in facts.all("usda_zone_min")] == ["4", "5", "6"]


def test_only_a_keeper_states_a_fact():
    with pytest.raises(ValidationError, match="Only a keeper"):
        state_fact(
            on=make.DAY,
            taxon=make.taxon(),
            attribute="note",
            value="x",
            reason="y",
            by=make.helper(),
        )


def test_a_fact_without_a_source_is_refused():
    with pytest.raises(ValidationError):
        make.fact("note", "tender", source="")


def test_a_range_upside_down_is_refused():
    with pytest.raises(ValidationError, match="upper end"):
        make.fact("chilling_requirement", "60-40", low=60, high=40)


def test_facts_of_many_taxa_take_two_statements(django_assert_num_queries):
    taxa = [make.fact("note", "x").taxon_id for _ in range(5)]
    with django_assert_num_queries(2):
        assert len(facts_of(taxa)) == 5


def test_only_values_that_may_set_a_limit_are_limits():
    taxon = make.taxon()
    make.fact("root_kill_temp", "-9", taxon=taxon, low=-9, usable_as_limit=False)
    used = make.fact(
        "root_kill_temp",
        "-6.7",
        taxon=taxon,
        low=-6.7,
        usable_as_limit=True,
        kind=Evidence.PUBLISHED,
    )
    assert facts_of([taxon.pk])[taxon.pk].limits("root_kill_temp") == [used]


def test_a_client_sees_only_their_own_trees():
    person = make.user(role="client")
    own = make.tree(owner=make.client(user=person))
    make.tree(owner=make.client())
    make.tree()
    assert list(trees_for(person)) == [own]
    assert trees_for(make.helper()).count() == 3
