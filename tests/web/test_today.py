"""The first page: what matters now, for each role."""

from datetime import UTC, date, datetime, timedelta

import pytest

from tests import make

NOW = datetime(2025, 1, 21, 6, 30, tzinfo=UTC)
pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def _late_january(time_machine):
    time_machine.move_to(NOW, tick=False)


@pytest.fixture
def long_frame():
    return make.frame(name="Long Frame", slug="long-frame")


@pytest.fixture
def part(long_frame):
    return make.microclimate(frame=long_frame, name="shaded floor")


@pytest.fixture
def stand(long_frame, part, owner):
    """Three trees on one bench, the second a client's, in care until 30 January."""
    bench = make.bench(frame=long_frame, columns=3, rows=1, name="S0")
    trees = [make.tree(), make.tree(owner=owner), make.tree()]
    for tree, module in zip(trees, bench.modules.all(), strict=True):
        make.placement(tree=tree, modules=[module])
    make.stay(tree=trees[1], planned_until=date(2025, 1, 30))
    return trees


def text_of(browser) -> str:
    return " ".join(browser.get("/").content.decode().split())


def test_it_starts_with_the_coldest_root_zone_of_the_night(as_keeper, stand, part):
    probe = make.sensor(microclimate=part, name="R1")
    temperatures = [2.0] * 30
    temperatures[27] = -0.4
    make.hours(probe, NOW - timedelta(hours=30), temperatures)
    page = text_of(as_keeper)
    assert "Tue 21 Jan 2025" in page
    assert "3 trees in" in page
    assert (
        "<strong>\N{MINUS SIGN}0.4 °C</strong> at shaded floor, sensor R1, "
        "Tue 21 Jan 2025, 03:30"
    ) in page


def test_a_silent_probe_is_no_warm_night(as_keeper, stand, part):
    probe = make.sensor(microclimate=part)
    make.hours(probe, NOW - timedelta(days=4), [2.0] * 24)
    assert "No root-zone reading in the last 24 hours" in text_of(as_keeper)


def test_without_a_probe_nothing_is_known_of_the_night(as_keeper, stand):
    assert "No root-zone sensor has its place there yet" in text_of(as_keeper)


def test_flags_come_most_urgent_first_with_action_and_place(
    as_keeper, stand, long_frame
):
    make.flag(tree=stand[0], frame=long_frame, level="watch", kind="chill_at_risk")
    make.flag(tree=stand[1], frame=long_frame, level="tonight")
    page = text_of(as_keeper)
    assert page.index("flag-tonight") < page.index("flag-watch")
    assert "Move it to the floor bay before dusk." in page
    assert "<strong>S0-02</strong>" in page


def test_flags_that_ask_for_the_same_are_said_once(as_helper, stand, long_frame):
    for tree in stand:
        make.flag(tree=tree, frame=long_frame)
    page = text_of(as_helper)
    assert page.count("Move it to the floor bay before dusk.") == 1
    assert "roots too cold, 3 in Long Frame" in page
    assert all(tree.number in page for tree in stand)


def test_no_flag_is_no_promise(as_keeper, stand):
    assert "speaks for the places whose sensors read, and for no other" in text_of(
        as_keeper
    )


def test_checks_of_a_frame_are_one_round(as_keeper, stand):
    for tree in stand[:2]:
        make.observation(tree=tree, at=NOW - timedelta(days=2))
    make.observation(tree=stand[2], at=NOW - timedelta(days=9))
    page = text_of(as_keeper)
    assert "Round in Long Frame</strong>: moisture of 1 pot, <strong>1 overdue" in page


def test_a_round_that_is_not_due_yet_says_when(as_keeper, stand):
    for tree in stand:
        make.observation(tree=tree, at=NOW - timedelta(days=2))
    page = text_of(as_keeper)
    assert "Next round in Long Frame on Sun 26 Jan</strong>: moisture of 3 pots" in page


def test_stays_that_end_and_drafts_are_due(as_keeper, stand):
    stay = stand[1].stays.get()
    page = text_of(as_keeper)
    assert f'Check-in of <a class="line-link" href="/stays/{stay.pk}/">' in page
    assert "planned Thu 30 Jan" in page


def test_a_client_sees_their_own_trees_and_flags_alone(as_client, stand, long_frame):
    make.flag(tree=stand[0], frame=long_frame, advice="Not for a client.")
    make.flag(tree=stand[1], frame=long_frame)
    page = text_of(as_client)
    assert "1 tree of yours. 1 thing the keeper is watching." in page
    assert stand[1].number in page
    assert stand[0].number not in page
    assert "Not for a client." not in page
    assert "Round in" not in page


def test_a_client_without_trees_is_told_what_belongs_here(as_stranger, stand):
    assert "Your keeper enters it when it is checked in." in text_of(as_stranger)


def test_it_begins_with_a_frame(as_keeper):
    page = text_of(as_keeper)
    assert "No frame is drawn yet." in page
    assert 'href="/frames/add/"' in page


def test_it_opens_only_signed_in(client):
    assert client.get("/")["Location"] == "/sign-in/?next=/"


def test_statements_do_not_grow_with_the_trees(
    as_keeper, stand, long_frame, part, django_assert_num_queries
):
    make.flag(tree=stand[0], frame=long_frame)
    with django_assert_num_queries(17):
        as_keeper.get("/")
    bench = make.bench(frame=long_frame, columns=8, rows=1)
    for module in bench.modules.all():
        tree = make.tree(owner=make.client())
        make.placement(tree=tree, modules=[module])
        make.flag(tree=tree, frame=long_frame)
    with django_assert_num_queries(17):
        as_keeper.get("/")
