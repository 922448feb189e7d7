"""What a genus or a habit answers for a taxon of which nothing is stated."""

from collections import defaultdict

import pytest

from tests.trees.test_catalogue import (
    FACTS,
    FIXTURES,
    GENUS_FACTS,
    HABIT_FACTS,
    TAXA,
    facts,
    mildest_zone,
    named,
    zone_edge_c,
)
from wintering.trees.models import Taxon
from wintering.trees.services import load_catalogue

ORDERS = ["very early", "early", "mid", "late", "very late"]
MUST_NOT_FREEZE = {"must stay frost-free", "no dormancy"}


def taxa_by_genus() -> dict[str, list[str]]:
    found = defaultdict(list)
    for row in TAXA:
        found[row["scientific_name"].split()[0]].append(row["scientific_name"])
    return found


SPECIES = taxa_by_genus()
COMPUTED = [f for f in GENUS_FACTS if f["kind"] == "computed here"]


def of_genus(attribute: str, kind: str = "") -> list[dict[str, str]]:
    return [
        fact
        for fact in GENUS_FACTS
        if fact["attribute"] == attribute and kind in {"", fact["kind"]}
    ]


def told(genus: str, attribute: str) -> list[dict[str, str]]:
    return [f for taxon in SPECIES[genus] for f in facts(taxon, attribute)]


def test_a_genus_speaks_only_where_the_catalogue_has_taxa_of_it():
    assert {f["genus"] for f in GENUS_FACTS} <= set(SPECIES)


def test_no_taxon_bears_the_bare_name_of_a_genus():
    assert not {f["genus"] for f in GENUS_FACTS} & {r["scientific_name"] for r in TAXA}


def test_one_taxon_makes_no_rule_for_its_genus():
    assert [named(f) for f in COMPUTED if len(SPECIES[f["genus"]]) < 2] == []


@pytest.mark.parametrize("attribute", ["dormancy_class", "root_class", "winter_light"])
def test_a_genus_has_a_class_only_where_all_its_taxa_have_it(attribute):
    found = of_genus(attribute)
    assert found
    for fact in found:
        each = [
            {f["value"] for f in facts(taxon, attribute)}
            for taxon in SPECIES[fact["genus"]]
        ]
        assert each == [{fact["value"]}] * len(each), named(fact)


def test_a_genus_whose_taxa_differ_has_no_class():
    answered = {(f["genus"], f["attribute"]) for f in GENUS_FACTS}
    for genus in ("Acer", "Picea", "Pinus", "Juniperus", "Quercus", "Rhododendron"):
        assert (genus, "root_class") not in answered
    for genus in ("Ficus", "Juniperus", "Quercus", "Rhododendron"):
        assert (genus, "dormancy_class") not in answered


def test_the_mildest_zone_of_its_taxa_stands_for_a_genus():
    zones, limits = of_genus("usda_zone_min"), of_genus("zone_limit_temp")
    assert len(zones) == len(limits) > 20
    for fact in zones:
        mildest = max(mildest_zone(taxon) for taxon in SPECIES[fact["genus"]])
        assert float(fact["low"]) == mildest, named(fact)
    for fact in limits:
        mildest = max(mildest_zone(taxon) for taxon in SPECIES[fact["genus"]])
        assert float(fact["low"]) == pytest.approx(zone_edge_c(mildest), abs=0.05)


def test_the_earliest_of_its_taxa_stands_for_a_genus():
    for fact in of_genus("budbreak_order"):
        earliest = min(
            (f["value"] for f in told(fact["genus"], "budbreak_order")),
            key=ORDERS.index,
        )
        assert fact["value"] == earliest, named(fact)
    for fact in of_genus("wake_rank", "computed here"):
        ranks = told(fact["genus"], "wake_rank")
        assert float(fact["low"]) == min(float(f["low"]) for f in ranks), named(fact)
        assert float(fact["high"]) == max(float(f["high"]) for f in ranks), named(fact)


def test_chill_over_a_genus_is_shown_and_sets_nothing():
    found = of_genus("chilling_requirement")
    assert found
    for fact in found:
        ours = [
            f
            for f in told(fact["genus"], "chilling_requirement")
            if f["unit"] == fact["unit"] and f["usable_as_limit"] == "yes"
        ]
        assert len({f["taxon"] for f in ours}) >= 2, named(fact)
        assert float(fact["low"]) == min(float(f["low"]) for f in ours)
        assert float(fact["high"]) == max(float(f["high"]) for f in ours)
        assert fact["usable_as_limit"] == "no"


def test_a_genus_warns_of_what_all_its_taxa_are_warned_of():
    recalled = [f for f in of_genus("caution") if not f["source"].startswith("Texas")]
    assert recalled
    for fact in recalled:
        for taxon in SPECIES[fact["genus"]]:
            said = {f["value"] for f in facts(taxon, "caution")}
            assert fact["value"] in said, named(fact)


def test_every_habit_of_the_catalogue_answers_the_first_questions():
    habits = {row["habit"] for row in TAXA}
    answered = defaultdict(set)
    for fact in HABIT_FACTS:
        answered[fact["habit"]].add(fact["attribute"])
    assert set(answered) == habits
    first = {"dormancy_class", "winter_light", "budbreak_order", "caution"}
    assert [h for h, attributes in answered.items() if not attributes >= first] == []


def test_a_habit_has_no_root_class_no_zone_and_no_order_of_waking():
    told = {f["attribute"] for f in HABIT_FACTS}
    assert not told & {"root_class", "root_kill_temp", "usda_zone_min", "wake_rank"}
    orders = {f["value"] for f in HABIT_FACTS if f["attribute"] == "budbreak_order"}
    assert orders == {"unknown"}


def test_an_unknown_evergreen_broadleaf_stays_out_of_the_frost():
    rest = {f["habit"]: f for f in HABIT_FACTS if f["attribute"] == "dormancy_class"}
    for habit in ("evergreen broadleaf", "succulent"):
        assert rest[habit]["value"] in MUST_NOT_FREEZE
    for habit in ("deciduous broadleaf", "deciduous conifer", "evergreen conifer"):
        assert rest[habit]["value"] == "needs cold dormancy"


def test_a_habits_rest_says_how_many_of_its_taxa_rest_so():
    for fact in HABIT_FACTS:
        if fact["value"] != "needs cold dormancy":
            continue
        ours = [r["scientific_name"] for r in TAXA if r["habit"] == fact["habit"]]
        so = sum(
            f["value"] == fact["value"]
            for f in FACTS
            if f["taxon"] in ours and f["attribute"] == "dormancy_class"
        )
        assert f"{so} of the {len(ours)} taxa" in fact["source"]
        assert so / len(ours) > 0.9


@pytest.mark.django_db
def test_the_genera_are_found_and_told_apart():
    load_catalogue(FIXTURES)
    genera = Taxon.objects.filter(rank=Taxon.Rank.GENUS)
    names = set(genera.values_list("scientific_name", flat=True))
    assert names == {f["genus"] for f in GENUS_FACTS}
