"""What a keeper needs to know of every taxon is there, in units that can be read."""

from collections import Counter

import pytest

from tests.trees.test_catalogue import EVERY_FACT, FACTS, TAXA, facts, named

NAMES = [row["scientific_name"] for row in TAXA]
MUST_NOT_FREEZE = {"must stay frost-free", "no dormancy"}
DORMANCY = {*MUST_NOT_FREEZE, "needs cold dormancy", "needs cool rest"}
ORDERS = {"very early", "early", "mid", "late", "very late"}
LIGHT = {
    "bright",
    "bright whenever above about 4 °C",
    "moderate to bright; may be dim only while held at or below about 4 °C",
    "none while leafless; bright from first green",
    "none while leafless; bright if leaves are kept",
}
# Every unit a number of the catalogue may stand in; nothing is converted.
NUMBERED = {
    "°C",
    "°C per day",
    "zone",
    "rank",
    "of 4",
    "group",
    "d",
    "%",
    "chill_hours_below_7",
    "utah",
    "portions",
    "weighted_hours",
    "other",
    "GDH",
    "heat units",
    "hours in a heated greenhouse",
    "days at or below 5 °C",
    "°C·d above 5 °C",
    "per chill day",
}
IN_WORDS = {"", "class", "month"}
POSSIBLE = {
    "°C": (-60, 25),
    "zone": (1, 13),
    "rank": (1, 5),
    "of 4": (1, 4),
    "%": (0, 100),
    "d": (0, 365),
    "°C per day": (0.1, 20),
    "portions": (1, 120),
}


def values(taxon: str, attribute: str) -> list[str]:
    return [fact["value"] for fact in facts(taxon, attribute)]


@pytest.mark.parametrize(
    "attribute",
    ["dormancy_class", "winter_light", "usda_zone_min", "zone_limit_temp", "caution"],
)
def test_every_taxon_has(attribute):
    known = {fact["taxon"] for fact in FACTS if fact["attribute"] == attribute}
    assert set(NAMES) - known == set()


@pytest.mark.parametrize(
    "attribute", ["dormancy_class", "root_class", "budbreak_order", "wake_rank"]
)
def test_no_taxon_has_two_of(attribute):
    seen = Counter(f["taxon"] for f in FACTS if f["attribute"] == attribute)
    assert [taxon for taxon, times in seen.items() if times > 1] == []


def test_words_come_from_their_vocabularies():
    told = {
        name: {f["value"] for f in FACTS if f["attribute"] == name}
        for name in ("dormancy_class", "winter_light", "budbreak_order")
    }
    assert told["dormancy_class"] == DORMANCY
    assert told["winter_light"] <= LIGHT
    assert told["budbreak_order"] <= ORDERS


def test_what_may_freeze_has_an_order_of_waking_and_a_rank():
    for name in NAMES:
        tender = values(name, "dormancy_class")[0] in MUST_NOT_FREEZE
        assert bool(values(name, "budbreak_order")) == (not tender), name
        assert bool(values(name, "wake_rank")) == (not tender), name


def test_what_must_not_freeze_says_so_and_to_which_temperature():
    tender = [n for n in NAMES if values(n, "dormancy_class")[0] in MUST_NOT_FREEZE]
    assert {"Serissa japonica", "Ficus microcarpa", "Crassula ovata"} <= set(tender)
    for name in tender:
        said = values(name, "caution")
        assert any(c.startswith("Not for a frame that freezes") for c in said), name
        assert not values(name, "root_class"), name
        coldest = [float(f["low"]) for f in facts(name, "advised_storage_min")]
        assert coldest, name
        assert min(coldest) >= 5, name


def test_what_wants_a_cool_rest_is_kept_from_hard_frost():
    for name in NAMES:
        if values(name, "dormancy_class") == ["needs cool rest"]:
            said = values(name, "caution")
            assert any("Not for a frame that freezes hard" in c for c in said), name


def test_tender_and_unknown_roots_are_pointed_out():
    for name in NAMES:
        if values(name, "dormancy_class") != ["needs cold dormancy"]:
            continue
        root_class, said = values(name, "root_class"), " ".join(values(name, "caution"))
        assert ("Tender or fleshy roots" in said) == (root_class == ["RC"]), name
        assert ("No root figure or class is known" in said) == (not root_class), name


def test_poisonous_and_thorny_trees_are_pointed_out():
    poisonous = ("Taxus baccata", "Rhododendron indicum", "Buxus sempervirens")
    for name in (*poisonous, "Wisteria floribunda", "Adenium obesum"):
        assert "poisonous" in " ".join(values(name, "caution")), name
    for name in ("Pyracantha coccinea", "Crataegus monogyna", "Citrus ×microcarpa"):
        assert "Thorns" in " ".join(values(name, "caution")), name


# Genera with poisonous parts as commonly listed: from memory.
POISONOUS = {
    "Adenium",
    "Buxus",
    "Euonymus",
    "Hedera",
    "Ilex",
    "Ligustrum",
    "Pieris",
    "Podocarpus",
    "Prunus",
    "Rhododendron",
    "Robinia",
    "Taxus",
    "Wisteria",
}


def test_every_taxon_of_a_poisonous_genus_is_pointed_out_from_memory():
    found = [name for name in NAMES if name.split()[0] in POISONOUS]
    assert {name.split()[0] for name in found} == POISONOUS
    for name in found:
        told = [f for f in facts(name, "caution") if "poisonous" in f["value"]]
        assert told, name
        assert {f["kind"] for f in told} == {"from memory"}, name


def test_a_caution_is_one_short_sentence():
    for fact in EVERY_FACT:
        if fact["attribute"] == "caution":
            text = fact["value"]
            assert len(text) <= 150, text
            assert text[0].isupper(), text
            assert not text.endswith("."), text


def test_every_number_has_both_ends_and_lies_where_it_can():
    for fact in EVERY_FACT:
        assert fact["unit"] in NUMBERED | IN_WORDS, named(fact)
        if fact["unit"] in IN_WORDS:
            assert fact["low"] == fact["high"] == "", named(fact)
            continue
        low, high = fact["low"], fact["high"]
        assert low, named(fact)
        # 'more than' has no upper end.
        assert bool(high) != fact["value"].startswith("more than"), named(fact)
        assert float(low) <= float(high or low), named(fact)
        least, most = POSSIBLE.get(fact["unit"], (-100, 1e5))
        assert least <= float(low) <= float(high or low) <= most, named(fact)


def test_the_value_that_is_shown_is_the_range_that_is_kept():
    for fact in EVERY_FACT:
        if fact["unit"] not in IN_WORDS and fact["high"]:
            shown = fact["value"].removeprefix("between ")
            for end in (fact["low"], fact["high"]):
                assert f"{float(end):g}" in shown, named(fact)


def test_top_and_waking_figures_set_no_limit():
    tops = ("shoot_", "leaf_", "dehardening", "rehardening", "budbreak_experiment")
    found = [f for f in EVERY_FACT if f["attribute"].startswith(tops)]
    assert len(found) > 100
    assert {f["usable_as_limit"] for f in found} == {"no"}


def test_waking_experiments_keep_the_chill_and_the_warmth_they_were_made_at():
    found = [f for f in FACTS if f["attribute"] == "budbreak_experiment"]
    assert {f["unit"] for f in found} == {"d", "%"}
    for fact in found:
        assert fact["kind"] == "published", named(fact)
        assert "°C" in fact["qualifier"], named(fact)
        assert "chilling" in fact["qualifier"], named(fact)


def test_waking_experiments_against_the_order_laube_found_at_the_end_of_january():
    # Laube et al. 2014, days to budbreak at a temperature raised from 7 °C.
    order = {
        "Syringa vulgaris": 15,
        "Corylus avellana": 17,
        "Betula pendula": 19,
        "Larix decidua": 19,
        "Cornus mas": 20,
        "Robinia pseudoacacia": 20,
        "Prunus avium": 22,
        "Carpinus betulus": 23,
        "Abies alba": 24,
        "Picea abies": 24,
        "Fraxinus excelsior": 29,
        "Pseudotsuga menziesii": 29,
        "Quercus robur": 30,
        "Quercus rubra": 35,
        "Fagus sylvatica": 41,
    }
    for taxon, days in order.items():
        told = [
            float(f["low"])
            for f in facts(taxon, "budbreak_experiment")
            if "Laube" in f["source"]
        ]
        assert days in {round(each) for each in told}, taxon


def test_waking_experiments_against_the_elms_of_ghelardini():
    # Ghelardini et al. 2010, days after 45, 161, 379, 717, 1174 and 1467 hours.
    elms = {
        "Ulmus parvifolia": [50, 49, 25, 16, 15, 4],
        "Ulmus pumila": [34, 29, 15, 14, 11, 1],
        "Ulmus glabra": [50, 50, 49, 22, 17, 4],
        "Ulmus minor": [51, 51, 47, 45, 26, 10],
    }
    for taxon, days in elms.items():
        told = [
            round(float(f["low"]))
            for f in facts(taxon, "budbreak_experiment")
            if "Ghelardini" in f["source"]
        ]
        assert told == days, taxon
