"""Giving a tree its place: looked at first, kept once, told to the one who was late."""

import threading
from datetime import date

import pytest
from django.db import connection

from tests import make
from tests.web.conftest import signed_in
from tests.web.test_stays import words
from wintering.stays.models import HeldModule, Placement


@pytest.fixture(autouse=True)
def _january(time_machine):
    time_machine.move_to("2025-01-20 12:00:00+00:00")


@pytest.fixture
def bench(db):
    frame = make.frame(name="Long Frame", slug="long-frame")
    return make.bench(frame=frame, name="N1")


@pytest.fixture
def tree(db):
    return make.tree(height_cm=60)


def module_of(bench, label):
    return bench.modules.get(label=label)


def sent(*modules, **fields):
    keys = [module.pk for module in modules]
    return {"module": keys, "on": "2025-01-20", "reason": "near the outlet", **fields}


def test_a_place_is_looked_at_before_it_is_taken(as_keeper, bench, tree):
    module = module_of(bench, "N1-03b")
    answer = as_keeper.get(f"/trees/{tree.number}/place/", {"module": module.pk})
    page = words(answer)
    assert f"{tree.number} fits there." in page
    assert "Place at N1-03b" in page
    assert not Placement.objects.exists()


def test_every_free_module_is_a_link_and_a_held_one_is_not(as_keeper, bench, tree):
    free, held = module_of(bench, "N1-01f"), module_of(bench, "N1-02f")
    make.placement(modules=[held])
    page = words(as_keeper.get(f"/trees/{tree.number}/place/"))
    assert f"?frame=long-frame&amp;module={free.pk}#place" in page
    assert f"module={held.pk}#place" not in page


def test_a_second_module_joins_the_choice_and_a_click_takes_it_out(
    as_keeper, bench, tree
):
    one, two = module_of(bench, "N1-01f"), module_of(bench, "N1-02f")
    page = words(as_keeper.get(f"/trees/{tree.number}/place/", {"module": one.pk}))
    assert f"?frame=long-frame&amp;module={one.pk}&amp;module={two.pk}#place" in page
    assert "?frame=long-frame#place" in page


def test_a_typed_label_is_looked_up_whatever_its_capitals(as_keeper, bench, tree):
    page = words(as_keeper.get(f"/trees/{tree.number}/place/", {"label": "n1-03B"}))
    assert "Place at N1-03b" in page
    page = words(as_keeper.get(f"/trees/{tree.number}/place/", {"label": "N9-01"}))
    assert "No place here is labelled N9-01." in page
    assert 'value="N9-01"' in page


def test_a_tree_is_placed_with_the_reason_why(as_keeper, bench, tree):
    module = module_of(bench, "N1-03b")
    answer = as_keeper.post(f"/trees/{tree.number}/place/", sent(module))
    assert answer.url == f"/trees/{tree.number}/"
    placement = Placement.objects.get()
    assert (placement.since, placement.reason) == (
        date(2025, 1, 20),
        "near the outlet",
    )
    assert [held.module for held in placement.held.all()] == [module]


def test_moving_shows_where_it_stood_and_ends_that(as_helper, bench, tree):
    old, new = module_of(bench, "N1-01f"), module_of(bench, "N1-03b")
    make.placement(tree=tree, modules=[old], reason="first in")
    address = f"/trees/{tree.number}/place/"
    page = words(as_helper.get(address, {"module": new.pk}))
    assert "It stands at N1-01f in the Long Frame since Sun 17 Nov 2024." in page
    assert "Why there: first in" in page
    assert "Move to N1-03b" in page
    as_helper.post(address, sent(new))
    assert Placement.objects.get(until=None).held.get().module == new
    assert HeldModule.objects.get(module=old).until == date(2025, 1, 20)


@pytest.mark.parametrize(
    ("fields", "sentence"),
    [
        ({"height_cm": 130}, "is too tall: 130 cm with its pot"),
        ({"canopy_width_cm": 80}, "is too wide: 80 × 32 cm"),
        ({"weight_kg": 200}, "above its limit of 180 kg"),
    ],
)
def test_a_tree_that_does_not_fit_is_refused_with_the_reason(
    as_keeper, bench, fields, sentence
):
    tree, module = make.tree(**fields), module_of(bench, "N1-03b")
    address = f"/trees/{tree.number}/place/"
    looked = words(as_keeper.get(address, {"module": module.pk}))
    assert sentence in looked
    assert "Place at" not in looked
    kept = words(as_keeper.post(address, sent(module)))
    assert sentence in kept
    assert 'value="near the outlet"' in kept
    assert not Placement.objects.exists()


def test_a_warning_is_shown_and_forbids_nothing(as_keeper, bench):
    make.placement(
        tree=make.tree(canopy_width_cm=44), modules=[module_of(bench, "N1-02f")]
    )
    tree, module = make.tree(canopy_width_cm=44), module_of(bench, "N1-03f")
    address = f"/trees/{tree.number}/place/"
    page = words(as_keeper.get(address, {"module": module.pk}))
    assert "Only 1 cm of air to" in page
    assert "Place at N1-03f" in page
    as_keeper.post(address, sent(module))
    assert tree.placements.exists()


@pytest.mark.parametrize(
    ("fields", "sentence"),
    [
        ({"on": "2025-01-21"}, "That day lies ahead"),
        ({"module": []}, "Choose a place on the plan first."),
        ({"module": [99999]}, "That place is not in this frame."),
    ],
)
def test_what_cannot_be_is_refused_beside_its_field(
    as_keeper, bench, tree, fields, sentence
):
    module = module_of(bench, "N1-03b")
    answer = as_keeper.post(f"/trees/{tree.number}/place/", {**sent(module), **fields})
    assert sentence in words(answer)
    assert not Placement.objects.exists()


def test_what_was_typed_comes_along_when_another_place_is_chosen(
    as_keeper, bench, tree
):
    asked = {"module": module_of(bench, "N1-03b").pk, "reason": "out of the draught"}
    page = words(as_keeper.get(f"/trees/{tree.number}/place/", asked))
    assert 'value="out of the draught"' in page


def test_clients_place_nothing_and_strangers_trees_are_not_there(
    as_client, owner, bench
):
    mine = make.stay(client=owner).tree
    assert as_client.get(f"/trees/{mine.number}/place/").status_code == 404


def test_without_a_frame_the_page_says_what_comes_first(as_keeper, tree):
    page = words(as_keeper.get(f"/trees/{tree.number}/place/"))
    assert "No frame is described yet" in page


def test_a_keeper_who_saw_a_free_place_is_told_that_it_is_taken(as_keeper, bench, tree):
    module, other = module_of(bench, "N1-03b"), make.tree()
    address = "/trees/{}/place/"
    assert "fits there" in words(
        as_keeper.get(address.format(tree.number), {"module": module.pk})
    )
    signed_in(make.keeper()).post(address.format(other.number), sent(module))
    page = words(as_keeper.post(address.format(tree.number), sent(module)))
    assert f"N1-03b already holds {other.number}." in page
    assert Placement.objects.get().tree == other


@pytest.mark.django_db(transaction=True)
def test_of_two_keepers_at_the_same_moment_one_wins_and_the_other_is_told(bench):
    module = module_of(bench, "N1-03b")
    people = [(signed_in(make.keeper()), make.tree()) for _ in range(2)]
    gate = threading.Barrier(2)
    answers = {}

    def place(browser, tree):
        gate.wait()
        try:
            answers[tree.number] = browser.post(
                f"/trees/{tree.number}/place/", sent(module)
            )
        finally:
            connection.close()

    threads = [threading.Thread(target=place, args=one) for one in people]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    codes = sorted(answer.status_code for answer in answers.values())
    assert codes == [200, 302]
    assert HeldModule.objects.filter(module=module, until=None).count() == 1
    late = next(answer for answer in answers.values() if answer.status_code == 200)
    told = words(late)
    assert "N1-03b already holds T-" in told or "Someone else has just stood" in told
