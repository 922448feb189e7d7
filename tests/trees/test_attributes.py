"""The vocabulary of facts: each question of the catalogue has its words and place."""

import csv
from pathlib import Path

from wintering.trees.attributes import (
    ASKED,
    ATTRIBUTES,
    Answer,
    Theme,
    by_question,
    label_of,
    theme_of,
)

FIXTURES = Path(__file__).parents[2] / "fixtures"


def asked_in_the_catalogue() -> set[str]:
    found = set()
    for path in FIXTURES.glob("*_facts.csv"):
        with path.open(encoding="utf-8", newline="") as file:
            found |= {row["attribute"] for row in csv.DictReader(file)}
    return found


def test_every_question_of_the_catalogue_has_its_words():
    asked = asked_in_the_catalogue()
    assert "root_class" in asked
    assert asked - set(ATTRIBUTES) == set()


def test_what_a_keeper_needs_is_in_the_vocabulary():
    assert set(ASKED) <= set(ATTRIBUTES)


def test_each_name_stands_once_and_each_number_has_a_unit_and_ends():
    labels = [attribute.label for attribute in ATTRIBUTES.values()]
    assert len(set(labels)) == len(labels)
    for attribute in ATTRIBUTES.values():
        if attribute.answer is Answer.RANGE:
            assert attribute.units
            assert attribute.lowest < attribute.highest
        assert bool(attribute.choices) == (attribute.answer is Answer.CHOICE)


def test_cautions_come_first_and_the_unforeseen_last():
    names = ["colour_of_bark", "note", "root_class", "caution"]
    assert sorted(names, key=by_question) == [
        "caution",
        "root_class",
        "note",
        "colour_of_bark",
    ]
    assert theme_of("colour_of_bark") is Theme.TRIALS
    assert label_of("colour_of_bark") == "Colour of bark"
