"""Names as the International Codes of Nomenclature write them, and habits."""

import re
import unicodedata
from collections import Counter

import pytest

from tests.trees.test_catalogue import FIXTURES, TAXA
from wintering.trees.models import Taxon
from wintering.trees.services import load_catalogue

# Shenzhen Code 2018: a species is genus and epithet (articles 20 and 23), below it
# the rank stands abbreviated (24.1); the hybrid sign × belongs with the epithet (H.3)
# and is written to it without a space.
EPITHET = r"[a-z]+(?:-[a-z]+)*"
NAME = re.compile(rf"[A-Z][a-z]+ ×?{EPITHET}(?: (?:subsp\.|var\.|f\.) {EPITHET})?")
# Garden plants of mixed descent have no name of that form: genus, and who in brackets.
GARDEN_GROUPS = {"Chaenomeles (garden hybrids)", "Malus (ornamental crabapples)"}
HABITS = {
    "deciduous broadleaf": {"no"},
    "deciduous conifer": {"no"},
    "evergreen broadleaf": {"yes"},
    "evergreen conifer": {"yes"},
    "succulent": {"yes", "no"},
}
CONIFER_GENERA = {
    "Abies",
    "Cedrus",
    "Chamaecyparis",
    "Cryptomeria",
    "Cupressus",
    "Juniperus",
    "Larix",
    "Metasequoia",
    "Picea",
    "Pinus",
    "Podocarpus",
    "Pseudolarix",
    "Pseudotsuga",
    "Sequoia",
    "Sequoiadendron",
    "Taxodium",
    "Taxus",
    "Thuja",
    "Tsuga",
}
LOSE_THEIR_NEEDLES = {"Larix", "Metasequoia", "Pseudolarix", "Taxodium"}


def several(text: str) -> list[str]:
    return [each.strip() for each in text.split(";") if each.strip()]


def test_the_grammar_knows_a_right_name_from_a_wrong_one():
    right = ("Acer palmatum", "Taxus ×media", "Buxus microphylla var. koreana")
    wrong = ("Taxus x media", "Taxus × media", "acer palmatum", "Acer Palmatum")
    wrong += ("Acer palmatum Thunb.", "Acer sp.", "Buxus microphylla v. koreana")
    assert all(NAME.fullmatch(name) for name in right)
    assert not any(NAME.fullmatch(name) for name in wrong)


def test_every_taxon_is_named_as_the_code_asks():
    names = {row["scientific_name"] for row in TAXA}
    assert {name for name in names if not NAME.fullmatch(name)} == GARDEN_GROUPS


def test_a_synonym_leads_to_one_taxon_only():
    names = {row["scientific_name"] for row in TAXA}
    synonyms = Counter(s for row in TAXA for s in several(row["synonyms"]))
    assert [s for s, times in synonyms.items() if times > 1] == []
    assert not names & set(synonyms)


def test_a_hybrid_is_found_as_it_is_typed_without_the_sign():
    for row in TAXA:
        name = row["scientific_name"]
        if "×" in name:
            assert name.replace("×", "x ") in several(row["synonyms"])


def test_every_taxon_has_an_english_name():
    assert [r["scientific_name"] for r in TAXA if not several(r["common_names"])] == []


def test_japanese_names_stand_in_their_script_and_romanised():
    told = [row for row in TAXA if row["original_names"] or row["romanised_names"]]
    assert len(told) >= 80
    for row in told:
        scripts = {unicodedata.name(c).split()[0] for c in row["original_names"]}
        assert scripts <= {"CJK", "HIRAGANA", "KATAKANA", "KATAKANA-HIRAGANA"}, row
        for name in several(row["romanised_names"]):
            assert re.fullmatch(r"[a-z]+", name), row


def test_habits_come_from_a_small_vocabulary_and_agree_with_the_leaves():
    assert {row["habit"] for row in TAXA} == set(HABITS)
    for row in TAXA:
        assert row["is_evergreen"] in HABITS[row["habit"]], row


def test_conifers_are_told_from_broadleaves():
    for row in TAXA:
        genus = row["scientific_name"].split()[0]
        assert row["habit"].endswith("conifer") == (genus in CONIFER_GENERA), row
        if genus in CONIFER_GENERA:
            sheds = row["habit"] == "deciduous conifer"
            assert sheds == (genus in LOSE_THEIR_NEEDLES), row


@pytest.mark.django_db
def test_evergreens_are_told_from_leafless_trees():
    load_catalogue(FIXTURES)
    needs_light = {t.scientific_name for t in Taxon.objects.all() if t.is_evergreen}
    assert {"Picea glauca", "Olea europaea", "Rhododendron indicum"} <= needs_light
    assert not {"Larix laricina", "Punica granatum", "Acer palmatum"} & needs_light
