"""Checks of sensors in ice, from what was shown to what is read afterwards."""

from datetime import UTC, datetime, timedelta

import numpy as np
import pytest
from django.core.exceptions import ValidationError

from tests import make
from wintering.climate.models import SensorCheck
from wintering.climate.queries import latest, readings
from wintering.climate.queries.checks import checks_of, own_ten
from wintering.climate.services.checks import check_in_ice, withdraw_check
from wintering.people.models import Event

NOON = datetime(2025, 1, 20, 12, tzinfo=UTC)
HOUR = timedelta(hours=1)


@pytest.fixture(autouse=True)
def _january(time_machine):
    time_machine.move_to(NOON)


@pytest.fixture
def keeper(db):
    return make.keeper()


@pytest.fixture
def sensor(db):
    return make.sensor(name="R1")


@pytest.fixture
def check(sensor, keeper):
    def check(shown=(0.3,) * 10, **fields):
        told = {"sensor": sensor, "shown": shown, "at": NOON - HOUR, "by": keeper}
        return check_in_ice(**{**told, **fields})

    return check


def test_the_offset_is_taken_off_from_the_check_on(check, sensor):
    make.hours(sensor, NOON - 3 * HOUR, [-2.0, -2.0, -2.0, -2.0])
    kept = check(at=NOON - HOUR)
    assert kept.offset_k == 0.3
    assert readings(sensor).value.tolist() == [-2.0, -2.0, -2.3, -2.3]
    assert latest([sensor], NOON)[sensor.pk].value == -2.3


def test_a_check_taken_back_applies_no_more_and_stays_on_record(check, sensor, keeper):
    make.hours(sensor, NOON - HOUR, [-2.0])
    kept = check()
    withdraw_check(check=kept, reason="The ice was dirty.", by=keeper)
    assert readings(sensor).value.tolist() == [-2.0]
    assert SensorCheck.objects.get().withdrawn_because == "The ice was dirty."
    event = Event.objects.first()
    assert (event.verb, event.detail["reason"]) == (
        "took back a check in ice of",
        "The ice was dirty.",
    )
    assert check() != kept  # its instant is free again


def test_taking_back_needs_a_reason_and_happens_once(check, keeper):
    kept = check()
    with pytest.raises(ValidationError, match="Say why"):
        withdraw_check(check=kept, reason=" ", by=keeper)
    withdraw_check(check=kept, reason="dirty ice", by=keeper)
    with pytest.raises(ValidationError, match="taken back before"):
        withdraw_check(check=kept, reason="dirty ice", by=keeper)


def test_only_a_keeper_keeps_a_check_or_takes_one_back(check, sensor):
    with pytest.raises(ValidationError, match="Only a keeper"):
        check(by=make.helper())
    assert not sensor.checks.exists()
    kept = check()
    with pytest.raises(ValidationError, match="Only a keeper"):
        withdraw_check(check=kept, reason="dirty ice", by=make.helper())
    assert SensorCheck.objects.get().withdrawn_at is None


def test_what_a_fahrenheit_sensor_shows_is_turned_into_kelvin(check):
    fahrenheit = make.sensor(unit="f")
    assert check(sensor=fahrenheit, shown=[32.9] * 10).offset_k == 0.5


@pytest.mark.parametrize(
    ("wrong", "told"),
    [
        ({"shown": [1.1] * 10}, "replace the sensor"),
        ({"shown": [0.0] * 9 + [0.4]}, "0.40 K apart"),
        ({"shown": [0.3] * 9}, "Give 10 readings"),
        ({"at": NOON + HOUR}, "lies ahead"),
    ],
)
def test_what_gives_no_offset_is_refused(check, wrong, told):
    with pytest.raises(ValidationError, match=told):
        check(**wrong)
    assert not SensorCheck.objects.exists()


def test_humidity_and_what_is_read_by_hand_are_not_checked_in_ice(check):
    with pytest.raises(ValidationError, match="measures humidity"):
        check(sensor=make.sensor(quantity="humidity", unit="pct"))
    with pytest.raises(ValidationError, match="read by hand"):
        check(sensor=make.sensor(is_min_max=True))


def test_two_checks_at_one_instant_are_refused(check):
    check()
    with pytest.raises(ValidationError, match="already recorded"):
        check(shown=[0.2] * 10)


def test_drift_is_told_against_the_check_before(check, sensor, keeper):
    check(at=NOON - 30 * HOUR, shown=[0.1] * 10)
    wrong = check(at=NOON - 20 * HOUR, shown=[0.9] * 10)
    withdraw_check(check=wrong, reason="water in the bag", by=keeper)
    check(at=NOON - HOUR, shown=[0.6] * 10)
    newest, taken_back, first = checks_of(sensor)
    assert (newest.drift_k, taken_back.drift_k, first.drift_k) == (0.5, None, None)


def test_its_own_last_ten_are_offered_while_they_are_fresh(sensor):
    ten_minutes = timedelta(minutes=10)
    seconds = int((NOON - 12 * ten_minutes).timestamp()) + 600 * np.arange(12)
    make.store(sensor, seconds, 10 * np.arange(12))
    own = own_ten(sensor, NOON)
    assert own.shown == tuple(n / 100 for n in range(2, 12))
    assert own.last_at == NOON - ten_minutes
    assert own_ten(sensor, NOON + HOUR) is None


def test_ten_readings_over_many_hours_are_not_one_bath(sensor):
    make.hours(sensor, NOON - 9 * HOUR, [0.3] * 10)
    assert own_ten(sensor, NOON) is None
