"""Roots too cold by a thermometer that a person reads."""

from datetime import timedelta
from decimal import Decimal
from uuid import uuid4

import pytest

from tests import make
from tests.forecast.conftest import AT
from tests.forecast.test_judging import cold_night
from wintering.climate.models import Sensor
from wintering.climate.services.min_max import record_min_max
from wintering.forecast.services import judge_frame

pytestmark = pytest.mark.django_db

# Class RB: watch at -5.4, act at -7.4 °C.


@pytest.fixture(autouse=True)
def _january(time_machine):
    time_machine.move_to(AT)


@pytest.fixture
def read(long_bench):
    part = long_bench.root.microclimate
    keeper = make.keeper(first_name="Hana")

    def read(low, hours_ago=4, was_reset=True, place=Sensor.Place.ROOT, at=AT):
        thermometer = Sensor.objects.filter(is_min_max=True).first() or make.sensor(
            name="Stick", place=place, microclimate=part, is_min_max=True
        )
        return record_min_max(
            sensor=thermometer,
            low=Decimal(low),
            high=Decimal(5),
            now=None,
            unit="c",
            read_at=at - timedelta(hours=hours_ago),
            was_reset=was_reset,
            entry_id=uuid4(),
            by=keeper,
        )

    return read


@pytest.fixture
def unlogged(long_bench, stood):
    """Trees over roots that no logger measures."""
    long_bench.root.delete()
    stood()
    return long_bench.frame


def cold(frame, at=AT):
    return [f for f in judge_frame(frame=frame, at=at) if f.kind == "roots_too_cold"]


def test_where_no_logger_speaks_its_lowest_raises_the_flag(unlogged, read):
    read("-1.0", hours_ago=28)
    read("-7.6")
    (flag,) = cold(unlogged)
    assert flag.level == "tonight"
    assert flag.since == AT - timedelta(hours=28)
    told = flag.evidence[0]
    assert told["value"] == -7.6
    assert told["source"] == "Stick, read by Hana"
    assert "since Sunday 19 January 08:00 UTC, read by hand Monday 20" in told["text"]


def test_what_was_not_reset_is_told_to_be_older(unlogged, read):
    read("-5.6", hours_ago=28, was_reset=False)
    read("-5.6")
    (flag,) = cold(unlogged)
    assert flag.level == "week"
    assert "not known when, not reset Sunday 19 January" in flag.evidence[0]["text"]


def test_a_mild_reading_raises_nothing_and_clears_what_stood(
    unlogged, read, time_machine
):
    read("-5.6")
    assert cold(unlogged)
    later = AT + timedelta(days=3)
    time_machine.move_to(later)
    # Not read since: the last word stands.
    assert cold(unlogged, later)
    read("-1.0", at=later)
    assert cold(unlogged, later) == []


def test_a_lower_reading_by_hand_sharpens_what_a_logger_says(logged, stood, read):
    bench = logged(root=cold_night(-5.6))
    stood()
    assert cold(bench.frame)[0].level == "week"
    read("-7.6")
    (flag,) = cold(bench.frame)
    assert flag.level == "tonight"
    assert [part["value"] for part in flag.evidence[:2]] == [-7.6, -5.6]


@pytest.mark.parametrize(("low", "hours_ago"), [("-5.5", 4), ("-7.6", 30)])
def test_a_logger_that_was_colder_or_an_old_reading_changes_nothing(
    logged, stood, read, low, hours_ago
):
    bench = logged(root=cold_night(-5.6))
    stood()
    read(low, hours_ago=hours_ago)
    (flag,) = cold(bench.frame)
    assert flag.level == "week"
    assert flag.evidence[0]["source"] == "R1, root zone"


def test_a_thermometer_in_the_air_tells_nothing_of_roots(unlogged, read):
    read("-7.6", place=Sensor.Place.AIR)
    assert cold(unlogged) == []


def test_one_that_nobody_reads_is_never_quiet(unlogged, read):
    read("-1.0", hours_ago=24 * 20)
    assert not [f for f in judge_frame(frame=unlogged, at=AT) if f.sensor_id]
