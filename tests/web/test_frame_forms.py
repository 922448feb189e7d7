"""Describing frames, their benches and parts; who may, and what is refused."""

from datetime import date

import pytest

from tests import make
from tests.web.test_stays import words
from wintering.frames.models import Fitting, Frame
from wintering.people.models import Event


@pytest.fixture(autouse=True)
def _january(time_machine):
    time_machine.move_to("2025-01-20 12:00:00+00:00")


def test_a_keeper_describes_a_frame_from_nothing(as_keeper):
    frame = {
        "name": "Long Frame",
        "kind": "pit_frame",
        "width_cm": "540",
        "depth_cm": "240",
        "north_deg": "0",
        "time_zone": "Europe/Oslo",
    }
    answer = as_keeper.post("/frames/add/", frame)
    assert answer.url == "/frames/long-frame/bench/"
    described = Frame.objects.get()
    part = described.microclimates.get()
    as_keeper.post(
        "/frames/long-frame/microclimate/",
        {
            "name": "outlet floor",
            "follows": part.pk,
            "offset_k": "1.2",
            "safe_low_c": "1.7",
            "safe_high_c": "7.2",
            "best_c": "4.4",
        },
    )
    warm = described.microclimates.get(slug="outlet-floor")
    assert (warm.follows, warm.offset_k) == (part, 1.2)
    bench = {
        "name": "N0",
        "level": "floor",
        "x_cm": "0",
        "y_cm": "150",
        "width_cm": "450",
        "depth_cm": "90",
        "height_cm": "0",
        "headroom_cm": "65",
        "front": "lower",
        "count_from": "right",
        "module_cm": "45",
        "microclimate": part.pk,
        "other_microclimate": warm.pk,
        "other_from": "9",
    }
    as_keeper.post("/frames/long-frame/bench/", bench)
    modules = described.benches.get().modules
    assert modules.count() == 20
    assert modules.get(label="N0-08f").microclimate == part
    assert modules.get(label="N0-09f").microclimate == warm
    door = {"kind": "door", "x_cm": 530, "y_cm": 90, "width_cm": 10, "depth_cm": 60}
    as_keeper.post("/frames/long-frame/fitting/", door)
    assert Fitting.objects.get().get_kind_display() == "door"
    page = words(as_keeper.get("/frames/long-frame/"))
    assert "N0-10b" in page
    assert "door" in page
    assert "outlet floor" in page


@pytest.mark.parametrize(
    ("name", "sentence"),
    [
        ("長いフレーム", "use some plain letters or digits"),
        ("Add", "not the word"),
        ("Long-Frame", "already exists"),
    ],
)
def test_a_frame_without_an_address_of_its_own_is_refused(
    as_keeper, long_frame, name, sentence
):
    sent = {
        "name": name,
        "kind": "cellar",
        "width_cm": "300",
        "depth_cm": "200",
        "north_deg": "0",
        "time_zone": "UTC",
    }
    answer = as_keeper.post("/frames/add/", sent)
    assert sentence in " ".join(answer.context["form"].errors["name"])


def test_a_bench_that_reaches_out_of_the_frame_is_refused(as_keeper, long_frame):
    part = make.microclimate(frame=long_frame)
    sent = {
        "name": "N1",
        "level": "bench",
        "x_cm": "500",
        "y_cm": "0",
        "width_cm": "90",
        "depth_cm": "45",
        "height_cm": "75",
        "headroom_cm": "120",
        "front": "lower",
        "count_from": "left",
        "module_cm": "45",
        "microclimate": part.pk,
    }
    answer = as_keeper.post("/frames/long-frame/bench/", sent)
    page = words(answer)
    assert "Bench N1 reaches out of the frame" in page
    assert 'value="120"' in page
    assert not long_frame.benches.exists()


def test_a_fitting_that_reaches_out_of_the_frame_is_refused(as_keeper, long_frame):
    sent = {"kind": "path", "x_cm": 0, "y_cm": 200, "width_cm": 540, "depth_cm": 60}
    page = words(as_keeper.post("/frames/long-frame/fitting/", sent))
    assert "The path reaches out of the frame" in page
    assert not Fitting.objects.exists()


def test_a_safe_band_is_the_keepers_to_change(as_keeper, long_frame):
    part = make.microclimate(frame=long_frame, name="shelf")
    address = f"/frames/long-frame/microclimate/{part.pk}/"
    sent = {"name": "shelf", "offset_k": 0, "safe_low_c": 0, "best_c": 3}
    answer = as_keeper.post(address, {**sent, "safe_high_c": -1})
    assert "safe_high_c" in answer.context["form"].errors
    as_keeper.post(address, {**sent, "safe_high_c": 6})
    part.refresh_from_db()
    assert (part.safe_low_c, part.safe_high_c) == (0, 6)


@pytest.mark.parametrize("who", ["as_helper", "as_client"])
@pytest.mark.parametrize(
    "address",
    ["add/", "long-frame/bench/", "long-frame/microclimate/", "long-frame/fitting/"],
)
def test_only_a_keeper_describes_frames(request, long_frame, who, address):
    browser = request.getfixturevalue(who)
    assert browser.get(f"/frames/{address}").status_code == 404


def test_a_frame_that_stands_gets_its_place_on_earth_and_its_planned_exit(
    as_keeper, long_frame
):
    page = as_keeper.get("/frames/long-frame/edit/")
    form = {
        name: "" if field.value() is None else field.value()
        for name, field in ((f.name, f) for f in page.context["form"])
    }
    typed = {"latitude_deg": "44.6", "longitude_deg": "-72", "exit_on": "2025-04-05"}
    answer = as_keeper.post("/frames/long-frame/edit/", {**form, **typed})
    assert answer.url == "/frames/long-frame/"
    long_frame.refresh_from_db()
    assert (long_frame.latitude_deg, long_frame.longitude_deg) == (44.6, -72.0)
    assert long_frame.exit_on == date(2025, 4, 5)
    event = Event.objects.get(verb="changed")
    assert event.detail["was"]["latitude_deg"] == "None"


def test_half_a_place_on_earth_is_refused_beside_its_field(as_keeper, long_frame):
    form = {"name": "Long Frame", "kind": "cold_frame", "north_deg": "0"}
    typed = {"time_zone": "Europe/Oslo", "latitude_deg": "60"}
    page = as_keeper.post("/frames/long-frame/edit/", {**form, **typed})
    (refusal,) = page.context["form"].errors["latitude_deg"]
    assert refusal.startswith("Give both latitude")


def test_a_helper_does_not_find_the_page_that_changes_a_frame(as_helper, long_frame):
    assert as_helper.get("/frames/long-frame/edit/").status_code == 404


@pytest.mark.parametrize(
    ("exit_on", "is_refused"),
    [
        ("2024-07-31", True),
        ("2024-08-01", False),
        ("2025-04-05", False),
        ("2026-07-31", False),
        ("2026-08-01", True),
        ("2055-04-05", True),
    ],
)
def test_a_planned_exit_lies_in_this_winter_or_the_next(
    as_keeper, long_frame, exit_on, is_refused
):
    form = {"name": "Long Frame", "kind": "cold_frame", "north_deg": "0"}
    typed = {**form, "time_zone": "Europe/Oslo", "exit_on": exit_on}
    answer = as_keeper.post("/frames/long-frame/edit/", typed)
    long_frame.refresh_from_db()
    if is_refused:
        (refusal,) = answer.context["form"].errors["exit_on"]
        assert refusal == (
            "That day is neither in this winter nor in the next: give one from "
            "1 August 2024 to 31 July 2026, or leave it empty."
        )
        assert long_frame.exit_on is None
    else:
        assert long_frame.exit_on == date.fromisoformat(exit_on)


def test_what_is_changed_of_a_frame_or_its_parts_is_said_to_be_kept(
    as_keeper, long_frame
):
    form = {"name": "Long Frame", "kind": "cold_frame", "north_deg": "10"}
    typed = {**form, "time_zone": "Europe/Oslo"}
    page = as_keeper.post("/frames/long-frame/edit/", typed, follow=True)
    assert "Long Frame: your changes are kept." in words(page)
    part = {"name": "shelf", "offset_k": 0, "safe_low_c": 1.7, "best_c": 4.4}
    part["safe_high_c"] = 7.2
    address = "/frames/long-frame/microclimate/"
    page = as_keeper.post(address, part, follow=True)
    assert "Microclimate shelf is there." in words(page)
    shelf = long_frame.microclimates.get(name="shelf")
    page = as_keeper.post(f"{address}{shelf.pk}/", part, follow=True)
    assert "shelf: your changes are kept." in words(page)
