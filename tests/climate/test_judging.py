"""The checks, the keeper's word above them, and the offset from ice."""

from datetime import timedelta

import numpy as np
import pytest

from tests import make
from wintering.climate import queries
from wintering.climate.models import SensorCheck, Verdict
from wintering.climate.services import place_sensor, rejudge
from wintering.science.screening import Quality

pytestmark = pytest.mark.django_db
START = int(make.NOON.timestamp())
MINUTE = timedelta(minutes=1)


@pytest.fixture
def sensor():
    """Every ten minutes 1, 85 and 2 °C: the second is what a probe writes at start."""
    sensor = make.sensor()
    make.store(sensor, START + 600 * np.arange(3), [1000, 85_000, 2000])
    return sensor


def verdict(sensor, start, end, *, counts, **said):
    told = {"reason": "door was open", "at": make.NOON, "by": make.keeper(), **said}
    return Verdict.objects.create(
        sensor=sensor,
        start_at=make.NOON + start * MINUTE,
        end_at=make.NOON + end * MINUTE,
        counts=counts,
        **told,
    )


def quality(sensor):
    return queries.readings(sensor).quality.tolist()


class TestVerdicts:
    def test_a_keepers_word_stands_above_the_checks(self, sensor):
        verdict(sensor, 5, 15, counts=True)
        assert rejudge(sensor=sensor) == 1
        assert quality(sensor) == [0, 0, 0]
        assert sensor.days.get().high == 85_000

    def test_the_span_excludes_its_end(self, sensor):
        verdict(sensor, 0, 10, counts=False)
        rejudge(sensor=sensor)
        assert quality(sensor) == [Quality.BY_KEEPER, Quality.CODE_VALUE, 0]

    def test_of_two_the_later_counts(self, sensor):
        verdict(sensor, 0, 30, counts=False)
        verdict(sensor, 15, 25, counts=True)
        rejudge(sensor=sensor)
        assert quality(sensor) == [9, 9, 0]

    def test_a_withdrawn_one_says_nothing(self, sensor):
        verdict(sensor, 0, 30, counts=False, withdrawn_at=make.NOON)
        assert rejudge(sensor=sensor) == 0

    def test_readings_that_come_later_stand_under_it_too(self, sensor):
        verdict(sensor, 0, 60, counts=False)
        make.store(sensor, [START + 1800], [3000])
        assert quality(sensor)[-1] == Quality.BY_KEEPER

    def test_only_the_span_asked_for_is_judged_again(self, sensor):
        verdict(sensor, 0, 30, counts=False)
        assert rejudge(sensor=sensor, start_s=START + 1200) == 1
        assert quality(sensor) == [0, Quality.CODE_VALUE, Quality.BY_KEEPER]


def test_a_jump_back_that_comes_later_is_joined_to_the_jump_two_days_before():
    sensor = make.sensor()
    away = [-50_000] * 47
    make.store(sensor, START + 3600 * np.arange(49), [4000, 4000, *away])
    assert set(quality(sensor)) == {0}
    make.store(sensor, [START + 3600 * 49], [4000])
    assert quality(sensor) == [0, 0, *[Quality.STEP] * 47, 0]


class TestPlaces:
    def test_a_sensor_that_turns_out_to_hang_in_the_air_is_judged_as_one(self):
        sensor = make.sensor(place="unknown")
        count = 10 * 24 * 6  # ten days
        make.store(sensor, START + 600 * np.arange(count), [3120] * count)
        assert set(quality(sensor)) == {0}
        place_sensor(sensor=sensor, place="air", microclimate=None, by=make.keeper())
        assert Quality.STUCK in quality(sensor)

    def test_a_root_zone_at_zero_for_days_is_ice(self):
        sensor = make.sensor(place="root")
        count = 10 * 24 * 6  # ten days
        make.store(sensor, START + 600 * np.arange(count), [0] * count)
        assert set(quality(sensor)) == {0}


class TestOffsets:
    @pytest.fixture
    def checked(self):
        """Hourly 2 °C; it shows 0.3 K too much from 14:00, and 0.5 from 16:00."""
        sensor = make.sensor()
        make.store(sensor, START + 3600 * np.arange(6), [2000] * 6)
        for hour, offset_k in ((14, 0.3), (16, 0.5)):
            SensorCheck.objects.create(
                sensor=sensor,
                checked_at=make.NOON.replace(hour=hour),
                shown_c=[offset_k] * 10,
                offset_k=offset_k,
                by=make.keeper(),
            )
        return sensor

    def test_it_applies_from_then_on_until_the_next_check(self, checked):
        value = queries.readings(checked).value.tolist()
        assert value == [2.0, 2.0, 1.7, 1.7, 1.5, 1.5]

    def test_a_reading_a_second_before_the_check_is_left_as_it_is(self):
        sensor = make.sensor()
        make.store(sensor, START + np.array([-1, 0, 1]), [2000] * 3)
        SensorCheck.objects.create(
            sensor=sensor,
            checked_at=make.NOON,
            shown_c=[0.3] * 10,
            offset_k=0.3,
            by=make.keeper(),
        )
        assert queries.readings(sensor).value.tolist() == [2.0, 1.7, 1.7]

    def test_every_way_of_reading_applies_it(self, checked):
        hours = queries.hourly([checked])[checked.pk]
        assert hours.c.tolist() == [2.0, 2.0, 1.7, 1.7, 1.5, 1.5]
        at = make.NOON.replace(hour=20)
        assert queries.latest([checked], at)[checked.pk].value == 1.5
        assert queries.extremes([checked])[checked.pk].lowest == 1.5

    def test_what_is_stored_stays_as_it_came(self, checked):
        found = queries.traced(checked, make.NOON, make.NOON.replace(hour=20))
        assert set(found.shown.tolist()) == {2.0}
        assert checked.days.get().low == 2000

    def test_a_withdrawn_check_does_nothing(self, checked):
        checked.checks.update(withdrawn_at=make.NOON)
        assert set(queries.readings(checked).value.tolist()) == {2.0}

    def test_fahrenheit_readings_are_corrected_in_kelvin(self):
        sensor = make.sensor(unit="f")
        make.store(sensor, [START], [33_800])  # 1.0 °C
        SensorCheck.objects.create(
            sensor=sensor,
            checked_at=make.NOON,
            shown_c=[0.25] * 10,
            offset_k=0.25,
            by=make.keeper(),
        )
        assert queries.readings(sensor).value.tolist() == [0.75]
