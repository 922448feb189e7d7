"""The taxa that ship with the project: every value with its kind and its source."""

import csv
from collections import Counter
from pathlib import Path

import pytest

from wintering.trees.models import Evidence, Taxon, TaxonFact
from wintering.trees.services import load_catalogue

FIXTURES = Path(__file__).parents[2] / "fixtures"
KINDS = set(Evidence.values)
CHILL_UNITS = {
    "chill_hours_0_7",
    "chill_hours_below_7",
    "utah",
    "portions",
    "weighted_hours",
    "weeks_below_4_4",
    "other",
}
DEMO_TAXA = {
    "Acer buergerianum",
    "Acer palmatum",
    "Acer tataricum subsp. ginnala",
    "Betula populifolia",
    "Buxus microphylla var. koreana",
    "Carpinus coreana",
    "Chaenomeles (garden hybrids)",
    "Cotoneaster horizontalis",
    "Crataegus monogyna",
    "Fagus crenata",
    "Ginkgo biloba",
    "Juniperus chinensis",
    "Larix kaempferi",
    "Larix laricina",
    "Malus sargentii",
    "Picea glauca",
    "Pinus banksiana",
    "Pinus mugo",
    "Pinus parviflora",
    "Pinus thunbergii",
    "Prunus mume",
    "Quercus robur",
    "Rhododendron indicum",
    "Stewartia pseudocamellia",
    "Taxus cuspidata",
    "Thuja occidentalis",
    "Ulmus americana",
    "Ulmus parvifolia",
    "Zelkova serrata",
}

Row = dict[str, str]


def rows(name: str) -> list[Row]:
    with (FIXTURES / name).open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


TAXA = rows("taxa.csv")
FACTS = rows("taxon_facts.csv")
GENUS_FACTS = rows("genus_facts.csv")
HABIT_FACTS = rows("habit_facts.csv")
EVERY_FACT = [*FACTS, *GENUS_FACTS, *HABIT_FACTS]


def facts(taxon: str, attribute: str) -> list[Row]:
    return [f for f in FACTS if (f["taxon"], f["attribute"]) == (taxon, attribute)]


def subject(fact: Row) -> str:
    return next(fact[name] for name in ("taxon", "genus", "habit") if name in fact)


def named(fact: Row) -> str:
    return f"{subject(fact)}: {fact['attribute']} {fact['value']}"


def zone_edge_c(zone: float) -> float:
    """Coldest edge of a USDA zone, which are 10 °F wide and start at -60 °F."""
    return (-60 + 10 * (zone - 1) - 32) / 1.8


def mildest_zone(taxon: str) -> float:
    """Of the coldest zones stated with an address, else of all."""
    zones = facts(taxon, "usda_zone_min")
    addressed = [f for f in zones if f["address"]] or zones
    return max(float(f["low"]) for f in addressed)


def test_at_least_110_taxa_each_named_once():
    names = Counter(row["scientific_name"] for row in TAXA)
    assert len(names) >= 110
    assert [name for name, times in names.items() if times > 1] == []


def test_taxa_say_what_their_names_rest_on():
    assert [r for r in TAXA if r["kind"] not in KINDS or not r["source"]] == []


def test_every_taxon_has_facts_and_every_fact_a_taxon():
    assert {f["taxon"] for f in FACTS} == {row["scientific_name"] for row in TAXA}


def test_every_fact_has_a_kind_and_a_source():
    wrong = [f for f in EVERY_FACT if f["kind"] not in KINDS or not f["source"].strip()]
    assert [named(f) for f in wrong] == []


def test_every_published_fact_has_an_address():
    wrong = [
        f
        for f in EVERY_FACT
        if f["kind"] == "published"
        and not f["address"].startswith(("http://", "https://"))
    ]
    assert [named(f) for f in wrong] == []


def test_a_recalled_value_shows_no_address():
    wrong = [f for f in EVERY_FACT if f["kind"] == "from memory" and f["address"]]
    assert [named(f) for f in wrong] == []


def test_the_catalogue_holds_no_keepers_own_value():
    assert [named(f) for f in EVERY_FACT if f["kind"] == Evidence.OWN] == []


def test_nothing_is_stated_twice():
    whole = Counter(tuple(fact.items()) for fact in EVERY_FACT)
    assert [fact for fact, times in whole.items() if times > 1] == []


@pytest.mark.parametrize("attribute", ["chilling_requirement", "chilling_optimum"])
def test_chill_units_come_from_the_vocabulary_and_keep_their_printed_text(attribute):
    found = [f for f in EVERY_FACT if f["attribute"] == attribute]
    assert found
    for fact in found:
        assert fact["unit"] in CHILL_UNITS, named(fact)
        assert fact["printed_unit"], named(fact)


def test_units_that_are_not_computed_set_no_limit():
    for fact in EVERY_FACT:
        if fact["unit"] in {"weighted_hours", "other"}:
            assert fact["usable_as_limit"] == "no", named(fact)


def test_only_a_published_root_figure_of_first_hand_may_set_a_limit():
    roots = [f for f in EVERY_FACT if f["attribute"] == "root_kill_temp"]
    assert any(f["usable_as_limit"] == "yes" for f in roots)
    for fact in roots:
        if fact["usable_as_limit"] == "yes":
            said = f"{fact['qualifier']} {fact['source']}".lower()
            assert fact["kind"] == "published", named(fact)
            assert fact["address"], named(fact)
            doubts = ("second-hand", "forum", "doubtful", "recalled", "do not use")
            assert not any(doubt in said for doubt in doubts), named(fact)


def test_a_fact_that_sets_no_limit_says_why():
    assert {f["usable_as_limit"] for f in EVERY_FACT} == {"yes", "no", ""}
    wrong = [
        f
        for f in EVERY_FACT
        if (f["usable_as_limit"] == "no") != bool(f["limit_reason"])
    ]
    assert [named(f) for f in wrong] == []


def test_the_root_figure_marked_not_to_be_used_is_left_out():
    # Japanese maple, -10 °F read off a chart by a stranger.
    kills = {f["value"] for f in facts("Acer palmatum", "root_kill_temp")}
    assert "-23.3" not in kills


def test_root_kill_figures_say_which_roots():
    kills = [f for f in EVERY_FACT if f["attribute"] == "root_kill_temp"]
    parts = {f["root_age"] for f in kills}
    assert parts == {"immature", "mature", "seedling", "not stated"}


def test_root_classes_are_those_of_the_trade():
    classes = {f["value"] for f in EVERY_FACT if f["attribute"] == "root_class"}
    assert classes == {"RA", "RB", "RC"}
    assert facts("Larix laricina", "root_class")[0]["value"] == "RA"
    assert facts("Stewartia pseudocamellia", "root_class")[0]["value"] == "RB"
    assert facts("Buxus sempervirens", "root_class")[0]["value"] == "RC"
    assert facts("Cedrus deodara", "root_class") == []


def test_the_demo_winters_taxa_are_all_there():
    assert {row["scientific_name"] for row in TAXA} >= DEMO_TAXA


def test_zone_edge_matches_the_published_map():
    # USDA map legend: zone 4 starts at -30 °F, zone 7 at 0 °F.
    assert zone_edge_c(4) == pytest.approx(-34.4, abs=0.05)
    assert zone_edge_c(7) == pytest.approx(-17.8, abs=0.05)


def test_zone_limits_are_the_edge_of_the_mildest_stated_zone():
    limits = [f for f in FACTS if f["attribute"] == "zone_limit_temp"]
    assert len(limits) == len(TAXA)
    for fact in limits:
        edge = zone_edge_c(mildest_zone(fact["taxon"]))
        assert float(fact["low"]) == pytest.approx(edge, abs=0.05), named(fact)


@pytest.mark.django_db
def test_catalogue_loads_once_and_a_second_time_changes_nothing():
    assert load_catalogue(FIXTURES) == len(EVERY_FACT)
    genera = {f["genus"] for f in GENUS_FACTS}
    assert Taxon.objects.count() == len(TAXA) + len(genera)
    assert load_catalogue(FIXTURES) == 0
    assert TaxonFact.objects.count() == len(EVERY_FACT)


@pytest.mark.django_db
def test_a_taxon_is_found_by_any_of_its_names():
    load_catalogue(FIXTURES)
    for typed, name in {
        "acer ginnala": "Acer tataricum subsp. ginnala",
        "真柏": "Juniperus chinensis",
        "shimpaku": "Juniperus chinensis",
        "korean box": "Buxus microphylla var. koreana",
        "KUROMATSU": "Pinus thunbergii",
        "taxus x media": "Taxus ×media",
        "Taxus × media": "Taxus ×media",
        "rhododendron obtusum": "Rhododendron ×obtusum",
    }.items():
        found = {taxon.scientific_name for taxon in Taxon.objects.named_like(typed)}
        assert name in found, typed
