from datetime import UTC, datetime, timedelta

import numpy as np
import pytest

from tests import make
from wintering.climate import queries

pytestmark = pytest.mark.django_db

MIDNIGHT = datetime(2024, 12, 1, tzinfo=UTC)
HOUR = timedelta(hours=1)


def fill(sensor, values, *, first=MIDNIGHT, step_s=3600):
    seconds = int(first.timestamp()) + step_s * np.arange(len(values), dtype=np.int64)
    make.store(sensor, seconds, np.array(values, np.int32))
    return sensor


@pytest.fixture
def sensor():
    """Seventy-two hours: 0.000 °C, 0.001 °C, ..."""
    return fill(make.sensor(), range(72))


class TestReadings:
    def test_a_window_leaves_its_end_out(self, sensor):
        found = queries.readings(sensor, MIDNIGHT + HOUR, MIDNIGHT + 3 * HOUR)
        assert found.value.tolist() == [0.001, 0.002]

    def test_without_a_window_everything_comes_in_order(self, sensor):
        found = queries.readings(sensor)
        assert len(found) == 72
        assert (np.diff(found.seconds) == 3600).all()

    def test_a_window_beyond_the_readings_is_empty(self, sensor):
        assert len(queries.readings(sensor, MIDNIGHT + 999 * HOUR)) == 0

    def test_marked_readings_come_with_their_mark(self):
        sensor = fill(make.sensor(), [1000, -127_000])
        assert queries.readings(sensor).quality.tolist() == [0, 2]

    def test_two_looks_at_the_database_whatever_the_days_and_sensors(
        self, sensor, django_assert_num_queries
    ):
        others = [fill(make.sensor(), range(30 * 24)) for _ in range(3)]
        with django_assert_num_queries(2):
            found = queries.several_readings([sensor, *others])
        assert [len(series) for series in found.values()] == [72, 720, 720, 720]


class TestHourly:
    def test_hours_are_means_of_what_counts(self):
        sensor = fill(make.sensor(), [1000, 2000, -127_000, 4000], step_s=1800)
        (hours,) = queries.hourly([sensor]).values()
        assert hours.first_hour == MIDNIGHT.timestamp() // 3600
        assert hours.c.tolist() == [1.5, 4.0]

    def test_relative_humidity_comes_as_hours_of_per_cent(self):
        damp = make.sensor(place="air", quantity="humidity", unit="pct")
        fill(damp, [90_000, 96_000, -1000, 101_000], step_s=1800)
        (hours,) = queries.hourly([damp]).values()
        assert hours.c.tolist() == [93.0, 101.0]

    def test_a_window_is_filled_up_with_missing_hours(self, sensor):
        (hours,) = queries.hourly(
            [sensor], MIDNIGHT - 2 * HOUR, MIDNIGHT + 2 * HOUR
        ).values()
        assert np.isnan(hours.c).tolist() == [True, True, False, False]

    @pytest.mark.parametrize("step_s", [600, 3600, 2 * 3600, 420])
    def test_a_window_gives_the_hours_of_the_whole(self, step_s):
        values = (np.arange(400) * 37 % 900).tolist()
        sensor = fill(make.sensor(), values, step_s=step_s)
        start, end = MIDNIGHT + 10 * HOUR, MIDNIGHT + 20 * HOUR
        (whole,) = queries.hourly([sensor]).values()
        (window,) = queries.hourly([sensor], start, end).values()
        expected = whole.window(window.first_hour, window.end_hour)
        assert window.c.tolist() == expected.c.tolist()
        assert window.c.size == 10

    def test_a_sensor_without_readings_has_missing_hours(self):
        sensor = make.sensor()
        (hours,) = queries.hourly([sensor], MIDNIGHT, MIDNIGHT + 3 * HOUR).values()
        assert np.isnan(hours.c).all()
        assert hours.c.size == 3

    def test_two_looks_at_the_database(self, sensor, django_assert_num_queries):
        other = fill(make.sensor(), range(300))
        with django_assert_num_queries(2):
            queries.hourly([sensor, other], MIDNIGHT, MIDNIGHT + 300 * HOUR)


class TestLatest:
    def test_the_newest_that_counts_with_its_age(self, sensor):
        at = MIDNIGHT + 71 * HOUR + timedelta(minutes=20)
        found = queries.latest([sensor], at)[sensor.pk]
        assert found.value == 0.071
        assert found.age == timedelta(minutes=20)

    def test_a_look_back_knows_nothing_later(self, sensor):
        found = queries.latest([sensor], MIDNIGHT + 5 * HOUR)[sensor.pk]
        assert (found.value, found.age) == (0.005, timedelta(0))

    def test_before_the_first_reading_there_is_none(self, sensor):
        assert queries.latest([sensor], MIDNIGHT - HOUR) == {}

    def test_marked_readings_are_passed_over_into_the_day_before(self):
        sensor = make.sensor()
        fill(sensor, [1500], first=MIDNIGHT - HOUR)
        fill(sensor, [-127_000, 2000], first=MIDNIGHT)
        found = queries.latest([sensor], MIDNIGHT + HOUR / 2)[sensor.pk]
        assert found.value == 1.5

    def test_two_looks_at_the_database(self, sensor, django_assert_num_queries):
        other = fill(make.sensor(), range(500))
        with django_assert_num_queries(2):
            found = queries.latest([sensor, other], MIDNIGHT + 900 * HOUR)
        assert len(found) == 2


class TestExtremes:
    def test_lowest_and_highest_that_count_and_when(self):
        sensor = fill(make.sensor(), [1000, -3000, -127_000, 5000])
        found = queries.extremes([sensor])[sensor.pk]
        assert (found.lowest, found.highest) == (-3.0, 5.0)
        assert found.lowest_at == MIDNIGHT + HOUR
        assert (found.counted, found.marked) == (3, 1)

    def test_a_sensor_with_nothing_that_counts_is_left_out(self):
        assert queries.extremes([fill(make.sensor(), [-127_000])]) == {}


class TestLastReading:
    def test_of_one_sensor_and_of_all(self, sensor):
        later = MIDNIGHT + 100 * HOUR
        fill(make.sensor(), [1000], first=later)
        assert queries.last_reading_at(later, sensor) == MIDNIGHT + 71 * HOUR
        assert queries.last_reading_at(later) == later

    def test_what_a_clock_ahead_dates_later_hides_no_silence(self, sensor):
        fill(make.sensor(), [1000], first=MIDNIGHT + 9999 * HOUR)
        at = MIDNIGHT + 70 * HOUR + timedelta(minutes=30)
        assert queries.last_reading_at(at) == MIDNIGHT + 70 * HOUR

    def test_without_readings_there_is_none(self):
        assert queries.last_reading_at(MIDNIGHT) is None


class TestGate:
    def test_those_who_work_here_see_every_sensor(self, sensor):
        for user in (make.keeper(), make.helper()):
            assert queries.sensors_for(user).get() == sensor

    def test_a_client_sees_none(self, sensor):
        user = make.user("client")
        assert not queries.sensors_for(user).exists()
        assert not queries.log_imports_for(user).exists()

    def test_somebody_who_left_sees_none(self, sensor):
        assert not queries.sensors_for(make.keeper(is_active=False)).exists()
