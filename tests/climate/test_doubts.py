"""What is odd about a sensor is told with its span, and counts all the same."""

from datetime import UTC, datetime, timedelta

import numpy as np
import pytest

from tests import make
from wintering.climate.models import Sensor
from wintering.climate.queries import readings
from wintering.climate.queries.doubts import doubts_of
from wintering.climate.services.verdicts import give_verdict
from wintering.science.doubts import Kind

START = datetime(2025, 1, 10, tzinfo=UTC)
END = START + timedelta(days=2)
NOW = START + timedelta(days=200)
TEN_MIN = 600 * np.arange(288)


@pytest.fixture
def part(db):
    return make.microclimate()


def logged(part, name, value_c, place=Sensor.Place.AIR):
    sensor = make.sensor(name=name, microclimate=part, place=place)
    kept = ~np.isnan(value_c)
    seconds = int(START.timestamp()) + TEN_MIN[kept]
    make.store(sensor, seconds, np.round(1000 * value_c[kept]))
    return sensor


def waves():
    """A day that swings by 4 K, so that nothing is too calm."""
    return 2.0 + 2.0 * np.sin(2 * np.pi * TEN_MIN / 86_400)


def kinds(sensor, start=START, end=END):
    return [doubt.kind for doubt in doubts_of(sensor, start, end, now=NOW).found]


def test_an_ordinary_day_raises_no_doubt(part):
    assert kinds(logged(part, "A1", waves())) == []


def test_a_step_alone_is_told_and_one_that_is_shared_is_not(part):
    jump = waves()
    jump[100:110] += 6.0
    stepped = logged(part, "A1", jump)
    assert Kind.STEP in kinds(stepped)
    assert (readings(stepped).quality == 0).all()
    logged(part, "A2", jump)
    assert Kind.STEP not in kinds(stepped)


def test_a_gap_is_told_with_its_ends(part):
    broken = waves()
    broken[50:80] = np.nan
    (gap,) = doubts_of(logged(part, "A1", broken), START, END, now=NOW).found
    assert gap.kind == Kind.GAP
    assert gap.since_s == int(START.timestamp()) + 600 * 49
    assert gap.until_s == int(START.timestamp()) + 600 * 80


def test_a_span_that_is_set_aside_is_no_gap_in_its_readings(part):
    sensor = logged(part, "A1", waves())
    begin = START + timedelta(hours=10)
    give_verdict(
        sensor=sensor,
        start_at=begin,
        end_at=begin + timedelta(hours=4),
        counts=False,
        reason="in the snow",
        by=make.keeper(),
    )
    assert kinds(sensor) == []


def test_a_gap_of_just_an_hour_may_be_the_clock_put_forward(part):
    forward = waves()
    forward[50:56] = np.nan
    (jump,) = doubts_of(logged(part, "A1", forward), START, END, now=NOW).found
    assert (jump.kind, jump.figure) == (Kind.CLOCK, 1.0)


def test_readings_ahead_of_now_are_told_whatever_the_window(part):
    sensor = logged(part, "A1", waves())
    early = START + timedelta(days=1)
    (ahead,) = doubts_of(sensor, START - timedelta(days=9), START, now=early).found
    assert ahead.kind == Kind.CLOCK
    assert ahead.figure == pytest.approx(23.833, abs=0.001)
    assert "lie in the future" in ahead.sentence


def test_calm_is_odd_of_air_and_never_of_a_root_zone(part):
    # A little unrest, so that no check sets it aside.
    calm = 1.0 + 0.1 * (np.arange(288) % 4)
    assert Kind.CALM in kinds(logged(part, "A1", calm))
    assert kinds(logged(part, "R1", calm, place=Sensor.Place.ROOT)) == []


def test_only_the_last_two_months_of_a_long_window_are_gone_through(part):
    broken = waves()
    broken[50:80] = np.nan
    sensor = logged(part, "A1", broken)
    late = END + timedelta(days=61)
    assert kinds(sensor, START - timedelta(days=90), late) == []
    told = doubts_of(sensor, START - timedelta(days=90), late, now=NOW)
    assert told.since == late - timedelta(days=62)


def test_the_statements_do_not_grow_with_the_sensors(part, django_assert_num_queries):
    sensor = logged(part, "A1", waves())
    logged(part, "A2", waves())
    with django_assert_num_queries(7):
        doubts_of(sensor, START, END, now=NOW)
    for n in range(3, 8):
        logged(part, f"A{n}", waves())
    with django_assert_num_queries(7):
        doubts_of(sensor, START, END, now=NOW)
