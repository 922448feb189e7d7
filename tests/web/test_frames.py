"""Frames: their layout, and the air in them."""

from datetime import UTC, date, datetime, timedelta

import numpy as np
import pytest

from tests import make
from tests.web.test_stays import words
from wintering.web.layouts import last_night


@pytest.fixture(autouse=True)
def _january(time_machine):
    time_machine.move_to("2025-01-20 12:00:00+00:00")


def test_the_layout_shows_who_stands_where_and_what_a_bench_carries(
    as_keeper, long_frame
):
    bench = make.bench(frame=long_frame, name="N1", weight_limit_kg=10)
    tree = make.tree(weight_kg=9)
    make.placement(tree=tree, modules=[bench.modules.get(label="N1-03b")])
    page = words(as_keeper.get("/frames/long-frame/"))
    assert "1 tree in the Long Frame." in page
    assert "N1-03b" in page
    assert tree.number in page
    assert "Carries 9 kg of 10 kg." in page
    assert "More than four fifths of its limit." in page
    assert "11 places free" in page


def test_a_tree_that_is_not_weighed_is_said_not_to_count(as_keeper, long_frame):
    bench = make.bench(frame=long_frame, name="N1")
    tree = make.tree(weight_kg=None)
    make.placement(tree=tree, modules=[bench.modules.get(label="N1-03b")])
    page = words(as_keeper.get("/frames/long-frame/"))
    assert f"Not weighed, so not counted: {tree.number}." in page


def test_trees_in_care_without_a_place_are_named(as_keeper, long_frame):
    make.bench(frame=long_frame)
    waiting = make.stay().tree
    gone = make.stay(until=date(2024, 12, 1)).tree
    page = words(as_keeper.get("/frames/long-frame/"))
    assert f"/trees/{waiting.number}/place/?frame=long-frame" in page
    assert f"/trees/{gone.number}/place/" not in page


def test_the_coldest_root_zone_of_the_night_is_told_with_its_place(
    as_keeper, long_frame
):
    part = make.microclimate(frame=long_frame, name="shaded floor")
    sensor = make.sensor(name="R1", microclimate=part, unit="c")
    night = datetime(2025, 1, 20, 6, 10, tzinfo=UTC)
    at = [night - timedelta(days=2), night, night + timedelta(minutes=15)]
    make.store(sensor, [int(t.timestamp()) for t in at], [-9000, -400, 300])
    page = words(as_keeper.get("/frames/long-frame/"))
    assert "Coldest root zone last night −0.4 °C at R1, shaded floor, 06:10." in page


def test_without_a_sensor_the_night_is_not_known(as_keeper, long_frame):
    page = words(as_keeper.get("/frames/long-frame/"))
    assert "not known, no sensor stands in a root zone here" in page


def damp(part, *, rh, air=3.0, hours=48, until=datetime(2025, 1, 20, 12, tzinfo=UTC)):
    """Humidity H1 and air A1 of a microclimate, hourly up to noon; `rh` may be less."""
    since = until - timedelta(hours=hours)
    humid = make.sensor(
        name="H1", microclimate=part, place="air", quantity="humidity", unit="pct"
    )
    make.hours(humid, since, np.broadcast_to(rh, (hours,)))
    warm = make.sensor(name="A1", microclimate=part, place="air")
    make.hours(warm, since, np.broadcast_to(air, (hours,)))


def test_the_air_is_told_with_its_place_its_age_and_its_dew_point(
    as_keeper, long_frame
):
    damp(make.microclimate(frame=long_frame, name="shelf"), rh=80.0)
    page = words(as_keeper.get("/frames/long-frame/"))
    assert "<strong>80 %</strong> relative humidity at H1, shelf, <time" in page
    assert ">1 h ago</time>. Hoar frost settles" in page
    # 3 °C and 80 % hold the vapour that hoar frost shares at -0.1 °C.
    assert "Hoar frost settles on what is colder than −0.1 °C." in page
    assert "Conditions do not favour grey mould: no wet spell has begun." in page
    assert "The least humidity of a wet hour: <strong>90 %</strong>" in page


def test_a_wet_spell_that_is_short_yet_is_told_with_its_index(as_keeper, long_frame):
    rh = np.r_[np.full(36, 80.0), np.full(12, 95.0)]
    damp(make.microclimate(frame=long_frame, name="shelf"), rh=rh)
    page = words(as_keeper.get("/frames/long-frame/"))
    # Twelve hours of the 23.3 that 3 °C asks for.
    assert "nearest to it is shelf, with 0.5 where watch begins at 1." in page


def test_what_lies_before_a_sensors_first_reading_is_no_gap(as_keeper, long_frame):
    part = make.microclimate(frame=long_frame, name="shelf")
    damp(part, rh=95.0, hours=12)
    page = words(as_keeper.get("/frames/long-frame/"))
    assert "nearest to it is shelf, with 0.5 where watch begins at 1." in page


def test_a_dew_point_needs_both_readings_of_one_time(as_keeper, long_frame):
    part = make.microclimate(frame=long_frame, name="shelf")
    damp(part, rh=80.0, until=datetime(2025, 1, 20, 9, tzinfo=UTC))
    later = datetime(2025, 1, 20, 11, tzinfo=UTC)
    make.hours(long_frame.sensors.get(name="H1"), later, [85.0])
    page = words(as_keeper.get("/frames/long-frame/"))
    assert "Its dew point is not known" in page


def test_wet_hours_are_told_as_conditions_and_with_why(as_keeper, long_frame):
    part = make.microclimate(frame=long_frame, name="shelf")
    damp(part, rh=97.0, air=9.0)
    bench = make.bench(microclimate=part)
    make.placement(tree=make.tree(), modules=[bench.modules.first()])
    page = words(as_keeper.get("/frames/long-frame/"))
    assert "Dew settles on what is colder than 8.5 °C." in page
    assert "Conditions have favoured grey mould for long: act this week, at shelf." in (
        page
    )
    assert "Petaistö 2006" in page


def test_what_is_not_known_of_the_air_says_why(as_keeper, long_frame):
    part = make.microclimate(frame=long_frame, name="shelf")
    address = "/frames/long-frame/"
    why = "not known: no humidity sensor speaks for shelf."
    assert why in words(as_keeper.get(address))
    damp(part, rh=80.0, until=datetime(2025, 1, 20, 2, tzinfo=UTC))
    page = words(as_keeper.get(address))
    assert why not in page
    assert "That is not how the air is now." in page
    long_frame.sensors.get(name="A1").delete()
    page = words(as_keeper.get(address))
    assert "no air temperature is measured where H1 hangs" in page
    assert "is measured for shelf, or where its humidity sensor hangs." in page
    assert "Its dew point is not known" in page
    long_frame.sensors.get(name="H1").days.all().delete()
    assert "it has read nothing yet" in words(as_keeper.get(address))


def test_hours_that_decide_and_are_missing_leave_mould_not_known(as_keeper, long_frame):
    part = make.microclimate(frame=long_frame, name="shelf")
    rh = np.r_[np.full(18, 80.0), np.full(20, 97.0)]
    damp(part, rh=rh, hours=38, until=datetime(2025, 1, 20, 6, tzinfo=UTC))
    page = words(as_keeper.get("/frames/long-frame/"))
    assert "Whether conditions favour grey mould is not known" in page


def test_the_air_takes_no_more_statements_for_more_sensors(
    as_keeper, long_frame, django_assert_num_queries, django_assert_max_num_queries
):
    part = make.microclimate(frame=long_frame, name="shelf")
    damp(part, rh=80.0)
    bench = make.bench(microclimate=part, columns=12)
    make.placement(tree=make.tree(), modules=[bench.modules.first()])
    with django_assert_max_num_queries(30) as one:
        as_keeper.get("/frames/long-frame/")
    humid = {"place": "air", "quantity": "humidity", "unit": "pct"}
    make.sensor(name="H2", microclimate=part, **humid)
    other = make.microclimate(frame=long_frame, name="sill", follows=part)
    make.sensor(name="H3", microclimate=other, **humid)
    for module in bench.modules.filter(held=None):
        make.placement(tree=make.tree(), modules=[module])
    with django_assert_num_queries(len(one)):
        as_keeper.get("/frames/long-frame/")


@pytest.mark.parametrize(
    ("hour", "since", "until"),
    [
        (12, (19, 16), (20, 10)),
        (8, (19, 16), (20, 8)),
        (18, (19, 16), (20, 10)),
    ],
)
def test_a_night_runs_from_dusk_to_dawn(hour, since, until):
    now = datetime(2025, 1, 20, hour, tzinfo=UTC)
    first, last = last_night(now)
    assert (first.day, first.hour) == since
    assert (last.day, last.hour) == until


def test_the_layout_takes_few_statements(
    as_keeper, long_frame, django_assert_max_num_queries
):
    bench = make.bench(frame=long_frame, columns=12)
    for module in bench.modules.all():
        make.placement(tree=make.tree(), modules=[module])
    with django_assert_max_num_queries(16):
        as_keeper.get("/frames/long-frame/")


def test_helpers_see_frames_and_clients_do_not(as_helper, as_client, long_frame):
    for address in ("/frames/", "/frames/long-frame/"):
        assert as_helper.get(address).status_code == 200
        assert as_client.get(address).status_code == 404
