"""The page of standing flags."""

from datetime import timedelta

import pytest

from tests import make
from tests.web.test_stays import words
from wintering.forecast.models import Flag


@pytest.fixture(autouse=True)
def _january(time_machine):
    time_machine.move_to("2025-01-20 14:00:00+00:00")


def test_flags_stand_by_level_with_what_they_rest_on(as_keeper):
    make.flag(level=Flag.Level.WATCH, kind=Flag.Kind.CHILL_AT_RISK, advice="Wait.")
    make.flag(level=Flag.Level.TONIGHT)
    page = words(as_keeper.get("/forecast/"))
    assert "2 flags stand." in page
    assert page.index("<h2>Tonight") < page.index("Move it to the floor bay")
    assert page.index("<h2>Keep an eye on") < page.index("Wait.")
    assert "Root zone of N1: <strong>−3.4 °C</strong>" in page


def test_the_page_says_that_nothing_is_predicted(as_keeper):
    make.judging()
    page = words(as_keeper.get("/forecast/"))
    assert "No weather is known here, so nothing is predicted" in page
    assert "Last judged Mon 20 Jan 2025, 12:00, 2 h ago." in page


def test_flags_that_ask_for_the_same_are_said_once(as_keeper):
    frame = make.frame()
    flags = [make.flag(frame=frame) for _ in range(3)]
    page = words(as_keeper.get("/forecast/"))
    assert page.count("Move it to the floor bay before dusk.") == 1
    assert all(flag.tree.number in page for flag in flags)


def test_a_cleared_flag_is_gone(as_keeper):
    flag = make.flag(cleared_at=make.NOON + timedelta(hours=1))
    make.judging(frame=flag.frame)
    assert "No flag stands." in words(as_keeper.get("/forecast/"))


def test_before_any_judging_the_page_says_so(as_keeper):
    assert "have not been judged yet" in words(as_keeper.get("/forecast/"))


def test_a_client_sees_the_flags_of_their_own_trees(as_client, as_helper, owner):
    mine = make.flag(tree=make.tree(owner=owner))
    other = make.flag()
    page = words(as_client.get("/forecast/"))
    assert mine.tree.number in page
    assert other.tree.number not in page
    assert "2 flags stand." in words(as_helper.get("/forecast/"))


OTHERS = {
    1: "Those who look after your tree are told what to do.",
    2: "Those who look after your trees are told what to do.",
}


@pytest.mark.parametrize("address", ["/forecast/", "/", "/trees/{}/"])
@pytest.mark.parametrize("count", [1, 2])
def test_what_to_do_is_for_those_who_can_do_it(
    as_client, as_helper, owner, address, count
):
    frame = make.frame()
    trees = [make.tree(owner=owner) for _ in range(count)]
    for tree in trees:
        make.flag(frame=frame, tree=tree)
    theirs, helpers = (
        words(browser.get(address.format(trees[0].number)))
        for browser in (as_client, as_helper)
    )
    # A tree's own page has its own flag alone.
    told = OTHERS[1 if "{}" in address else count]
    assert "Move it to the floor bay" not in theirs
    assert told in theirs
    assert "Root zone of N1: <strong>−3.4 °C</strong>" in theirs
    assert "Move it to the floor bay" in helpers
    assert told not in helpers


def test_many_flags_take_few_statements(as_keeper, django_assert_max_num_queries):
    for _ in range(12):
        make.flag()
    with django_assert_max_num_queries(6):
        as_keeper.get("/forecast/")
