"""What is told of a tree's past: what happened, by whom, from what to what."""

from datetime import date

import pytest

from tests import make
from tests.web.test_stays import words
from wintering.people.queries import events_about
from wintering.people.services import record
from wintering.trees.services import change_pot, see_buds, state_fact, withdraw_fact
from wintering.web.history import history

pytestmark = pytest.mark.django_db


def lines(tree):
    return history(events_about(tree))


def test_a_corrected_pot_is_told_with_its_old_and_new_size(keeper):
    pot = make.pot(width_cm=30, height_cm=None, lip_turns_in=None)
    fields = {"width_cm": 31, "height_cm": 8, "lip_turns_in": True}
    change_pot(pot=pot, by=keeper, **fields, material="stoneware")
    (line,) = lines(pot.tree)
    assert line.words == "pot corrected"
    assert line.noted == (
        "width 30 → 31 cm; height not known → 8 cm; lip turns in: not known → yes; "
        "material: not known → stoneware"
    )


def test_a_pot_corrected_before_new_sizes_were_kept_is_told_as_far_as_known(keeper):
    tree = make.tree()
    was = {"width_cm": "30.0", "shape": "oval"}
    record(keeper, "corrected the pot of", tree, was=was, now="round 31 × 26 cm")
    (line,) = lines(tree)
    assert line.noted == "before: width 30 cm; shape: oval; now round 31 × 26 cm"


def test_a_value_stated_and_taken_back_is_told_by_its_question(keeper):
    tree = make.tree()
    said = {"on": date(2025, 1, 20), "by": keeper}
    fact = state_fact(
        attribute="root_class", value="RB", reason="a look", tree=tree, **said
    )
    withdraw_fact(fact=fact, reason="mistaken", **said)
    back, stated = lines(tree)
    assert (back.words, stated.words) == ("own value taken back", "own value stated")
    assert back.noted == "Root class: RB; reason: mistaken"
    assert stated.noted == "Root class: RB; reason: a look"


def test_buds_and_confirmed_check_ins_read_with_who_did_it(keeper):
    tree = make.tree()
    see_buds(tree=tree, code=3, on=date(2025, 1, 20), by=keeper)
    record(keeper, "confirmed the check-in of", tree)
    told = {line.words: line.noted for line in lines(tree)}
    assert told == {"check-in confirmed": "", "buds seen": "BBCH 03"}


def test_every_line_of_a_page_reads_on_with_who_did_it(as_keeper, keeper):
    pot = make.pot(width_cm=30)
    change_pot(pot=pot, by=keeper, width_cm=31)
    page = words(as_keeper.get(f"/trees/{pot.tree.number}/"))
    assert "pot corrected by Hana Marendal" in page
    assert "width 30 → 31 cm" in page


def test_paper_holds_twelve_lines_and_says_how_many_more_there_are(as_keeper, keeper):
    tree = make.tree()
    for _ in range(12):
        record(keeper, "checked", tree, moisture="moist")
    address = f"/trees/{tree.number}/"
    page = words(as_keeper.get(address))
    assert page.count('<li class="screen-only">') == 0
    assert "more on screen" not in page
    for _ in range(3):
        record(keeper, "checked", tree, moisture="dry")
    page = words(as_keeper.get(address))
    assert page.count('<li class="screen-only">') == 3
    assert '<p class="paper-only">and 3 more on screen.</p>' in page
