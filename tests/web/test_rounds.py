"""Rounds: exceptions by name, the rest by one tick, and checks of one tree."""

from datetime import UTC, datetime

import pytest

from tests import make
from tests.web.test_stays import words
from wintering.care.models import Observation, Round, Watering

NEW = "/rounds/new/?frame=long-frame"
AT = "2025-01-20T10:30"


@pytest.fixture(autouse=True)
def _january(time_machine):
    time_machine.move_to("2025-01-20 12:00:00+00:00")


@pytest.fixture
def frame(db):
    return make.frame(name="Long Frame", slug="long-frame")


@pytest.fixture
def trees(frame):
    """Three trees of the keeper's own, along a bench and on a shelf above it."""
    part = make.microclimate(frame=frame, name="rear bench")
    bench = make.bench(frame=frame, name="N1", height_cm=75, microclimate=part)
    shelf = make.bench(
        frame=frame, name="N2", level="shelf", height_cm=150, rows=1, microclimate=part
    )
    places = [
        bench.modules.get(label="N1-04f"),
        shelf.modules.get(label="N2-01"),
        bench.modules.get(label="N1-02b"),
    ]
    standing = [make.tree() for _ in places]
    for tree, module in zip(standing, places, strict=True):
        make.placement(tree=tree, modules=[module])
    return standing


def sent(tree=None, **answers):
    noted = {f"t{tree.pk}-{name}": text for name, text in answers.items()}
    return {"at": AT, **noted}


def test_the_way_goes_bench_by_bench_from_the_floor_up(as_keeper, trees):
    way = as_keeper.get(NEW).context["way"]
    assert [bench.name for bench in way] == ["N1", "N2"]
    labels = [stop.stands.label for bench in way for stop in bench.stops]
    assert labels == ["N1-02b", "N1-04f", "N2-01"]


def test_exceptions_alone_are_written_down(as_helper, frame, trees):
    answer = as_helper.post(
        NEW,
        sent(trees[0], moisture="dry", was_watered="on", bud_stage="3", note="leans"),
    )
    walked = Round.objects.get()
    assert answer.url == f"/rounds/{walked.pk}/"
    assert walked.at == datetime(2025, 1, 20, 10, 30, tzinfo=UTC)
    seen = Observation.objects.get()
    assert (seen.tree, seen.moisture, seen.note) == (trees[0], "dry", "leans")
    assert trees[0].bud_stages.get().code == 3
    assert Watering.objects.get().tree == trees[0]
    page = words(as_helper.get(answer.url))
    assert "1 tree written down, 1 watered." in page
    assert "BBCH 03" in page


def test_one_tick_says_that_the_rest_was_checked(as_keeper, trees):
    as_keeper.post(
        NEW, {**sent(trees[0], moisture="not_checked"), "is_rest_checked": "on"}
    )
    found = {seen.tree: seen.moisture for seen in Observation.objects.all()}
    assert found == {
        trees[0]: "not_checked",
        trees[1]: "no_finding",
        trees[2]: "no_finding",
    }


def test_the_tick_is_off_at_first(as_keeper, trees):
    page = words(as_keeper.get(NEW))
    assert 'name="is_rest_checked"' in page
    assert not as_keeper.get(NEW).context["form"]["is_rest_checked"].value()


def test_a_round_that_says_nothing_is_not_a_round(as_keeper, trees):
    page = words(as_keeper.post(NEW, {"at": AT, "note": "snow on the glass"}))
    assert "Nothing is noted yet" in page
    assert "snow on the glass" in page
    assert not Round.objects.exists()


@pytest.mark.parametrize(
    ("answers", "sentence"),
    [
        ({"was_watered": "on"}, "Say how the root ball was"),
        ({"note": "leans"}, "Say how the root ball was"),
        ({"bud_stage": "0", "note": "red"}, "Say how the root ball was"),
        ({"bud_stage": "0"}, "Only its buds are noted: say how the root ball was, or"),
        ({"moisture": "not_checked", "was_watered": "on"}, "was not watered either"),
        ({"moisture": "soggy"}, "Select a valid choice"),
    ],
)
def test_half_an_answer_is_refused_at_its_tree_and_the_others_are_kept(
    as_keeper, trees, answers, sentence
):
    answer = as_keeper.post(
        NEW, {**sent(trees[0], **answers), **sent(trees[1], moisture="wet")}
    )
    assert sentence in words(answer)
    assert not Round.objects.exists()
    stops = [stop for b in answer.context["way"] for stop in b.stops]
    kept = {stop.form.tree: stop.form["moisture"].value() for stop in stops}
    assert kept[trees[1]] == "wet"


def test_buds_alone_are_enough_where_the_rest_is_ticked(as_keeper, trees):
    buds = {**sent(trees[0], bud_stage="3"), **sent(trees[1], moisture="dry")}
    as_keeper.post(NEW, {**buds, "is_rest_checked": "on"})
    found = {seen.tree: seen.moisture for seen in Observation.objects.all()}
    assert found == {
        trees[0]: "no_finding",
        trees[1]: "dry",
        trees[2]: "no_finding",
    }
    assert trees[0].bud_stages.get().code == 3


def test_what_is_refused_is_named_at_the_top_with_a_way_to_it(as_keeper, trees):
    refused = {**sent(trees[0], note="leans"), **sent(trees[1], was_watered="on")}
    page = words(as_keeper.post(NEW, {**refused, **sent(trees[2], moisture="dry")}))
    top = page[: page.index('id="bench-n1"')]
    for tree, place in ((trees[0], "N1-04f"), (trees[1], "N2-01")):
        assert f'href="#{tree.number}">{tree.number} at {place}</a>' in top
        assert f'id="{tree.number}"' in page
    assert f'href="#{trees[2].number}"' not in top
    assert "the round itself" not in top


def test_a_refusal_of_the_round_itself_is_named_at_the_top_too(as_keeper, trees):
    late = {**sent(trees[0], moisture="dry"), "at": "2025-01-20T18:00"}
    page = words(as_keeper.post(NEW, late))
    assert '<a class="button" href="#end">the round itself</a>' in page
    assert f'href="#{trees[0].number}"' not in page


def test_a_round_ahead_of_now_is_refused(as_keeper, trees):
    late = {**sent(trees[0], moisture="dry"), "at": "2025-01-20T18:00"}
    answer = as_keeper.post(NEW, late)
    assert answer.context["form"].errors["at"] == [
        "That lies ahead: write down what has happened."
    ]
    assert not Round.objects.exists()


def test_a_round_sent_twice_is_one_round(as_keeper, trees):
    draft = as_keeper.get(NEW).context["draft"].name
    once = {**sent(trees[0], moisture="dry"), "draft": draft}
    assert as_keeper.post(NEW, once).url == as_keeper.post(NEW, once).url
    assert Round.objects.count() == 1


def test_the_clock_is_the_persons_own(frame, trees):
    from tests.web.conftest import signed_in

    browser = signed_in(make.keeper(time_zone="America/New_York"))
    browser.post(NEW, {**sent(trees[0], moisture="dry"), "at": "2025-01-20T06:30"})
    assert Round.objects.get().at == datetime(2025, 1, 20, 11, 30, tzinfo=UTC)


def test_a_frozen_root_ball_warns_before_water_is_poured(as_keeper, frame, trees):
    part = frame.microclimates.get(name="rear bench")
    for place, thousandth in (("root", -200), ("air", -3000)):
        hours = [datetime(2025, 1, 20, hour, tzinfo=UTC) for hour in range(4, 12)]
        make.store(
            make.sensor(microclimate=part, place=place),
            [int(at.timestamp()) for at in hours],
            [thousandth] * len(hours),
        )
    page = words(as_keeper.get(NEW))
    assert "Don't water here now." in page
    assert "it is freezing or frozen" in page
    assert "it is freezing or frozen" in words(
        as_keeper.get(f"/trees/{trees[0].number}/check/")
    )


def test_reasons_not_to_water_are_read_in_the_readers_degrees(frame, trees):
    from tests.web.conftest import signed_in

    part = frame.microclimates.get(name="rear bench")
    hours = [datetime(2025, 1, 20, hour, tzinfo=UTC) for hour in range(4, 12)]
    make.store(
        make.sensor(microclimate=part, place="air"),
        [int(at.timestamp()) for at in hours],
        [-5000] * len(hours),
    )
    browser = signed_in(make.keeper(username="fay", units="f"))
    for address in (NEW, f"/trees/{trees[0].number}/check/"):
        page = words(browser.get(address)).replace("\N{NO-BREAK SPACE}", " ")
        assert "The air in the frame is 23.0 °F: wait until it is above 36 °F" in page
        assert "°C" not in page


def test_the_list_says_what_is_due_and_what_was_walked(as_keeper, frame, trees):
    make.observation(tree=trees[0], at=datetime(2025, 1, 18, 9, tzinfo=UTC))
    make.round(frame=frame)
    page = words(as_keeper.get("/rounds/"))
    assert "2 trees due for a moisture check today." in page
    assert "Long Frame: 2 trees, due Mon 20 Jan" in page
    assert "Long Frame: 1 tree, due Sat 25 Jan" in page
    assert "December to February: once a week." in page
    assert "Mon 20 Jan 2025, 12:00" in page


def test_a_check_of_one_tree(as_helper, trees):
    tree = trees[0]
    answer = as_helper.post(
        f"/trees/{tree.number}/check/", {"moisture": "moist", "at": AT}
    )
    assert answer.url == f"/trees/{tree.number}/"
    seen = Observation.objects.get()
    assert (seen.moisture, seen.round) == ("moist", None)


def test_a_check_without_an_answer_is_refused(as_keeper, trees):
    address = f"/trees/{trees[0].number}/check/"
    page = words(as_keeper.post(address, {"at": AT, "note": "moss lifted"}))
    assert "Say how the root ball was" in page
    assert 'value="moss lifted"' in page
    assert not Observation.objects.exists()


@pytest.mark.parametrize("address", ["/rounds/", NEW, "/rounds/1/"])
def test_clients_walk_no_rounds(as_client, frame, address):
    assert as_client.get(address).status_code == 404


def test_a_client_checks_no_tree(as_client, owner):
    tree = make.stay(client=owner).tree
    assert as_client.get(f"/trees/{tree.number}/check/").status_code == 404


def test_a_longer_way_takes_no_more_statements(
    as_keeper, frame, trees, django_assert_max_num_queries
):
    bench = frame.benches.get(name="N1")
    for module in bench.modules.exclude(label__in=["N1-04f", "N1-02b"]):
        make.placement(tree=make.tree(), modules=[module])
    with django_assert_max_num_queries(30):
        as_keeper.get(NEW)
