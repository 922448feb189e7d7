"""Two values for one instant: both kept, and a keeper chooses."""

import numpy as np
import pytest
from django.core.exceptions import ValidationError

from tests import make
from wintering.climate.models import ConflictDay
from wintering.climate.queries import readings, traced
from wintering.climate.services import settle_conflicts
from wintering.climate.storage import unpack

pytestmark = pytest.mark.django_db
START = int(make.NOON.timestamp())


@pytest.fixture
def sensor():
    """Three readings a minute apart, of which the first stands in another log too."""
    sensor = make.sensor()
    make.store(sensor, START + 60 * np.arange(3), [1000, 2000, 3000])
    return sensor


@pytest.fixture
def came(sensor):
    came = make.log_import(frame=sensor.frame)
    seconds = START + 60 * np.arange(3)
    make.store(sensor, seconds, [1000, 2500, 3500], origin=came, rows=[7, 8, 9])
    return came


def settle(came, sensor, **said):
    said = {"take_new": True, "reason": "the logger was read again", **said}
    return settle_conflicts(
        log_import=came, sensor=sensor, **{"by": make.keeper(), **said}
    )


def kept(came):
    row = came.conflict_days.get()
    return unpack(row.day, row.packed).thousandths.tolist()


def test_the_stored_values_stay_and_the_others_are_kept(sensor, came):
    assert readings(sensor).value.tolist() == [1.0, 2.0, 3.0]
    assert kept(came) == [2500, 3500]


def test_the_same_conflict_is_not_kept_twice(sensor, came):
    again = make.log_import(frame=sensor.frame)
    told = make.store(sensor, [START + 60], [2500], origin=again)
    assert told.conflict_count == 1
    assert not again.conflict_days.exists()


def test_more_of_one_import_joins_what_it_kept(sensor, came):
    make.store(sensor, [START], [1500], origin=came)
    assert kept(came) == [1500, 2500, 3500]


def test_each_of_two_imports_keeps_its_own_of_one_day(sensor, came):
    other = make.log_import(frame=sensor.frame)
    make.store(sensor, [START, START + 120], [1700, 3700], origin=other)
    assert kept(came) == [2500, 3500]
    assert kept(other) == [1700, 3700]
    make.store(sensor, [START], [1800], origin=came)
    assert kept(came) == [1800, 2500, 3500]
    assert kept(other) == [1700, 3700]


def test_of_two_values_of_one_import_at_one_instant_the_first_is_kept(sensor, came):
    make.store(sensor, [START + 60], [2700], origin=came)
    assert kept(came) == [2500, 3500]
    other = make.log_import(frame=sensor.frame)
    make.store(sensor, [START, START], [1700, 1800], origin=other)
    assert kept(other) == [1700]


def test_taking_the_new_ones_makes_them_change_places(sensor, came):
    assert settle(came, sensor) == 2
    assert readings(sensor).value.tolist() == [1.0, 2.5, 3.5]
    assert kept(came) == [2000, 3000]
    end = make.NOON.replace(hour=13)
    assert traced(sensor, make.NOON, end).row.tolist() == [1, 8, 9]


def test_keeping_the_stored_ones_settles_it_too(sensor, came):
    settle(came, sensor, take_new=False)
    assert readings(sensor).value.tolist() == [1.0, 2.0, 3.0]
    row = ConflictDay.objects.get()
    assert (row.took_new, row.reason) == (False, "the logger was read again")


def test_new_values_are_judged_as_they_take_their_place(sensor):
    came = make.log_import(frame=sensor.frame)
    make.store(sensor, [START + 60], [85_000], origin=came)
    settle(came, sensor)
    assert readings(sensor).quality.tolist() == [0, 2, 0]


def test_a_conflict_that_comes_after_a_choice_is_asked_about_anew(sensor, came):
    settle(came, sensor)
    make.store(sensor, [START + 120], [6000], origin=came)
    open_row = came.conflict_days.get(settled_at=None)
    assert unpack(open_row.day, open_row.packed).thousandths.tolist() == [6000]
    settle(came, sensor, reason="once more")
    assert readings(sensor).value.tolist() == [1.0, 2.5, 6.0]


class TestRefusing:
    def test_only_a_keeper_chooses(self, sensor, came):
        with pytest.raises(ValidationError, match="Only a keeper"):
            settle(came, sensor, by=make.helper())
        assert kept(came) == [2500, 3500]

    def test_a_reason_is_asked_for(self, sensor, came):
        with pytest.raises(ValidationError, match="Say why"):
            settle(came, sensor, reason="")

    def test_what_is_settled_is_not_chosen_again(self, sensor, came):
        settle(came, sensor)
        with pytest.raises(ValidationError, match="Nothing is left"):
            settle(came, sensor)
