"""What is known of a taxon or a tree: whose word stands, and what stands in for it."""

from datetime import date

import pytest
from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction

from tests import make
from wintering.people.models import Event
from wintering.trees.models import Evidence, Taxon, TaxonFact
from wintering.trees.queries import FactChange, facts_of, facts_of_trees
from wintering.trees.services import (
    add_taxon,
    own_fact,
    state_fact,
    withdraw_fact,
)

pytestmark = pytest.mark.django_db


def genus(name: str) -> Taxon:
    return make.taxon(name, rank=Taxon.Rank.GENUS)


def of_habit(attribute: str, value: str, habit: str) -> TaxonFact:
    return TaxonFact.objects.create(
        habit=habit,
        attribute=attribute,
        value=value,
        kind="common practice",
        source="x",
    )


def best(tree, attribute="winter_light"):
    fact = facts_of_trees([tree])[tree.pk].best(attribute)
    return fact and (fact.value, fact.speaks_of)


def test_the_tree_speaks_before_its_taxon_the_genus_and_the_habit():
    taxon = make.taxon("Acer japonicum", habit="deciduous")
    tree = make.tree(taxon=taxon)
    assert best(tree) is None
    of_habit("winter_light", "none", "deciduous")
    assert best(tree) == ("none", "every deciduous")
    make.fact("winter_light", "moderate", taxon=genus("Acer"))
    assert best(tree) == ("moderate", "the genus Acer")
    make.fact("winter_light", "bright", taxon=taxon)
    assert best(tree) == ("bright", "")
    state_fact(
        on=make.DAY,
        tree=tree,
        attribute="winter_light",
        value="dim",
        reason="x",
        by=make.keeper(),
    )
    assert best(tree) == ("dim", "this tree alone")
    assert best(make.tree(taxon=taxon)) == ("bright", "")


def test_a_fallback_fills_only_what_is_missing():
    taxon = make.taxon("Acer japonicum")
    make.fact("root_class", "RB", taxon=taxon)
    acer = genus("Acer")
    make.fact("root_class", "RC", taxon=acer)
    make.fact("winter_light", "none", taxon=acer)
    facts = facts_of([taxon.pk])[taxon.pk]
    assert [fact.value for fact in facts.all("root_class")] == ["RB"]
    assert facts.best("winter_light").is_fallback


def test_cautions_of_taxon_genus_and_habit_all_stand():
    taxon = make.taxon("Acer japonicum", habit="deciduous")
    make.fact("caution", "own", taxon=taxon)
    make.fact("caution", "of the genus", taxon=genus("Acer"))
    of_habit("caution", "of the habit", "deciduous")
    of_habit("caution", "own", "deciduous")  # said once
    facts = facts_of([taxon.pk])[taxon.pk]
    said = [fact.value for fact in facts.all("caution")]
    assert said == ["own", "of the genus", "of the habit"]


def test_another_genus_does_not_speak():
    make.fact("winter_light", "none", taxon=genus("Acer"))
    assert best(make.tree(taxon=make.taxon("Aceriphyllum rossii"))) is None


def test_a_hybrid_belongs_to_the_genus_behind_its_sign():
    make.fact("winter_light", "none", taxon=genus("Taxus"))
    for name in ("Taxus ×media", "×Taxus media"):
        assert best(make.tree(taxon=make.taxon(name))) == ("none", "the genus Taxus")


def test_facts_of_many_trees_take_one_statement(django_assert_num_queries):
    trees = [make.tree(taxon=make.taxon(f"Acer alpha{n}")) for n in "abcde"]
    with django_assert_num_queries(1):
        facts_of_trees(trees)


def test_a_change_can_be_thought_of_without_being_kept():
    tree, keeper = make.tree(), make.keeper()
    old = state_fact(
        on=make.DAY,
        tree=tree,
        attribute="root_class",
        value="RB",
        reason="x",
        by=keeper,
    )
    new = own_fact(
        on=make.DAY,
        tree=tree,
        attribute="root_class",
        value="RA",
        reason="y",
        by=keeper,
    )
    facts = facts_of_trees([tree], FactChange(put_in=new))[tree.pk]
    assert facts.best("root_class").value == "RA"
    facts = facts_of_trees([tree], FactChange(taken_out=old))[tree.pk]
    assert facts.best("root_class") is None
    assert TaxonFact.objects.count() == 1


def test_a_value_taken_back_no_longer_speaks_and_stays_on_record():
    tree, keeper = make.tree(), make.keeper()
    fact = state_fact(
        on=make.DAY,
        tree=tree,
        attribute="root_class",
        value="RA",
        reason="x",
        by=keeper,
    )
    withdraw_fact(fact=fact, reason="It froze.", on=make.DAY, by=keeper)
    assert best(tree, "root_class") is None
    assert TaxonFact.objects.get().withdrawn_on == date(2025, 1, 20)
    assert Event.objects.get(verb="took back").detail["reason"] == "It froze."
    with pytest.raises(ValidationError, match="taken back before"):
        withdraw_fact(fact=fact, reason="Again.", on=make.DAY, by=keeper)


def test_a_value_is_taken_back_with_a_reason_by_a_keeper():
    tree, keeper = make.tree(), make.keeper()
    fact = state_fact(
        on=make.DAY, tree=tree, attribute="note", value="a", reason="x", by=keeper
    )
    with pytest.raises(ValidationError, match="Say why"):
        withdraw_fact(fact=fact, reason=" ", on=make.DAY, by=keeper)
    with pytest.raises(ValidationError, match="Only a keeper"):
        withdraw_fact(fact=fact, reason="x", on=make.DAY, by=make.helper())


def test_a_published_value_is_not_withdrawn():
    fact = make.fact("note", "x", kind=Evidence.PUBLISHED)
    with pytest.raises(ValidationError, match="Only a keeper's own"):
        withdraw_fact(fact=fact, reason="x", on=make.DAY, by=make.keeper())


@pytest.mark.parametrize(
    ("attribute", "value", "more", "refusal"),
    [
        ("root_class", "RX", {}, "not one of: RA, RB, RC, RD, RE"),
        ("dormancy_class", "sleepy", {}, "not one of: needs cold dormancy"),
        ("root_kill_temp", "-9", {}, "Give a number for 'Roots killed at'"),
        ("root_kill_temp", "3", {"low": 3, "high": 3}, "between -60 and 0 °C"),
        ("chilling_requirement", "0", {"low": 0, "high": 5}, "between 1 and 4000"),
    ],
)
def test_a_value_outside_its_vocabulary_or_range_is_refused(
    attribute, value, more, refusal
):
    with pytest.raises(ValidationError, match=refusal):
        state_fact(
            on=make.DAY,
            taxon=make.taxon(),
            attribute=attribute,
            value=value,
            reason="x",
            by=make.keeper(),
            **more,
        )


def test_a_keepers_own_limit_may_set_warnings():
    fact = state_fact(
        on=make.DAY,
        taxon=make.taxon(),
        attribute="root_kill_temp",
        value="-8",
        low=-8,
        high=-8,
        reason="Two winters on the open bench.",
        by=make.keeper(),
    )
    assert fact.usable_as_limit is True


def test_a_fact_speaks_of_exactly_one(transactional_db):
    both = TaxonFact(
        taxon=make.taxon(),
        habit="deciduous",
        attribute="note",
        value="x",
        kind="common practice",
        source="x",
    )
    with pytest.raises(ValidationError, match="one taxon, of one habit or of one tree"):
        both.full_clean()
    with pytest.raises(IntegrityError), transaction.atomic():
        both.save()


def test_only_the_keeper_states_facts_of_one_tree():
    published = TaxonFact(
        tree=make.tree(), attribute="note", value="x", kind="published", source="x"
    )
    with pytest.raises(ValidationError, match="Of one tree only the keeper"):
        published.full_clean()


def test_a_taxon_that_the_catalogue_lacks_is_entered_and_found():
    taxon = add_taxon(
        scientific_name="Acer  japonicum",
        common_names="fullmoon maple",
        habit="deciduous",
        by=make.keeper(),
    )
    assert taxon.rank == Taxon.Rank.SPECIES
    assert list(Taxon.objects.named_like("fullmoon")) == [taxon]
    assert add_taxon(scientific_name="Acer", by=make.keeper()).rank == Taxon.Rank.GENUS


@pytest.mark.parametrize("name", ["aCer japonicum", "Acer Japonicum", "maple?", ""])
def test_a_name_that_is_not_botanical_is_refused(name):
    with pytest.raises(ValidationError, match="botanical name"):
        add_taxon(scientific_name=name, by=make.keeper())


@pytest.mark.parametrize(
    "typed", ["acer japonicum", "ACER JAPONICUM", "Acer japonicum"]
)
def test_a_name_typed_in_one_case_is_written_as_the_code_has_it(typed):
    make.taxon("Acer palmatum")
    taxon = add_taxon(scientific_name=typed, by=make.keeper())
    assert taxon.scientific_name == "Acer japonicum"


def test_a_hybrid_typed_in_small_letters_keeps_its_sign():
    make.taxon("Taxus baccata")
    taxon = add_taxon(scientific_name="taxus ×media", by=make.keeper())
    assert taxon.scientific_name == "Taxus ×media"


def test_a_page_gone_back_to_states_nothing_twice():
    said = {"attribute": "root_class", "value": "RA", "reason": "Seen.", "on": make.DAY}
    tree, keeper = make.tree(), make.keeper()
    state_fact(tree=tree, by=keeper, **said)
    with pytest.raises(ValidationError, match="stated this already"):
        state_fact(tree=tree, by=keeper, **said)
    state_fact(tree=tree, by=keeper, **{**said, "reason": "Seen again."})


def test_a_zone_is_one_of_the_zones():
    said = {"attribute": "usda_zone_min", "reason": "x", "on": make.DAY}
    by, taxon = make.keeper(), make.taxon()
    with pytest.raises(ValidationError, match="not a USDA hardiness zone"):
        state_fact(taxon=taxon, value="banana", by=by, **said)
    assert state_fact(taxon=taxon, value="6b", by=by, **said).value == "6b"


def test_only_a_keeper_enters_a_taxon():
    with pytest.raises(ValidationError, match="Only a keeper"):
        add_taxon(scientific_name="Acer japonicum", by=make.helper())


def test_a_genus_does_not_stand_in_for_a_tree_filed_under_the_genus_itself():
    junipers = genus("Juniperus")
    make.fact("winter_light", "bright", taxon=junipers)
    filed, species = make.tree(taxon=junipers), make.taxon("Juniperus rigida")
    assert best(filed) == ("bright", "")
    known = facts_of([junipers.pk, species.pk])
    assert not known[junipers.pk].best("winter_light").is_fallback
    assert known[species.pk].best("winter_light").is_fallback
    assert best(make.tree(taxon=species)) == ("bright", "the genus Juniperus")


def test_what_is_thought_of_a_genus_is_its_own_tree_s_too():
    junipers = genus("Juniperus")
    filed = make.tree(taxon=junipers)
    thought = own_fact(
        on=make.DAY,
        taxon=junipers,
        attribute="root_class",
        value="RA",
        reason="x",
        by=make.keeper(),
    )
    facts = facts_of_trees([filed], FactChange(put_in=thought))[filed.pk]
    assert (facts.best("root_class").value, facts.best("root_class").speaks_of) == (
        "RA",
        "",
    )


def test_a_value_is_stated_on_the_day_that_is_passed_in():
    maple, day = make.taxon(), date(2019, 3, 9)
    fact = state_fact(
        taxon=maple,
        attribute="note",
        value="a",
        reason="x",
        on=day,
        by=make.keeper(),
    )
    assert fact.stated_on == day
