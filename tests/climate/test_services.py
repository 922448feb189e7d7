from datetime import UTC, datetime

import numpy as np
import pytest
from django.core.exceptions import ValidationError
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.django import TestCase

from tests import make
from wintering.climate.models import ReadingDay, Sensor
from wintering.climate.queries import readings
from wintering.climate.services import add_sensor, place_sensor
from wintering.people.models import Event
from wintering.science.screening import Quality

# Ten minutes before midnight, so that most of these cross into a new day.
START = int(datetime(2024, 11, 30, 23, 50, tzinfo=UTC).timestamp())


def store(sensor, values, *, first=START, step=600):
    seconds = first + step * np.arange(len(values), dtype=np.int64)
    return make.store(sensor, seconds, np.array(values, np.int32))


def stored(sensor):
    series = readings(sensor)
    return dict(zip(series.seconds.tolist(), series.value.tolist(), strict=True))


pytestmark = pytest.mark.django_db


class TestStoring:
    def test_readings_are_kept_by_their_utc_day(self):
        sensor = make.sensor()
        told = store(sensor, [1000, 2000, 3000])
        assert (told.added, told.unchanged, told.marked) == (3, 0, 0)
        days = sensor.days.all()
        assert [(d.day.day, d.count, d.low, d.high) for d in days] == [
            (30, 1, 1000, 1000),
            (1, 2, 2000, 3000),
        ]
        assert days[1].last_at == datetime(2024, 12, 1, 0, 10, tzinfo=UTC)
        assert list(stored(sensor).values()) == [1.0, 2.0, 3.0]

    def test_the_same_again_changes_nothing(self):
        sensor = make.sensor()
        store(sensor, [1000, 2000, 3000])
        before = list(ReadingDay.objects.values_list("packed", "count"))
        told = store(sensor, [1000, 2000, 3000])
        assert (told.added, told.unchanged, told.conflicts) == (0, 3, ())
        assert list(ReadingDay.objects.values_list("packed", "count")) == before

    def test_a_longer_log_adds_only_what_is_new(self):
        sensor = make.sensor()
        store(sensor, [1000, 2000])
        told = store(sensor, [1000, 2000, 3000, 4000])
        assert (told.added, told.unchanged) == (2, 2)

    def test_another_value_leaves_the_stored_one(self):
        sensor = make.sensor()
        store(sensor, [1000, 2000])
        told = store(sensor, [1000, 2500, 3000])
        assert (told.added, told.unchanged) == (1, 1)
        (conflict,) = told.conflicts
        assert (conflict.index, conflict.stored, conflict.new) == (1, 2000, 2500)
        assert told.stands.tolist() == [True, False, True]
        assert stored(sensor)[START + 600] == 2.0

    def test_of_several_at_one_instant_the_first_is_stored(self):
        sensor = make.sensor()
        told = store(sensor, [1000, 1000, 1100], step=0)
        assert (told.added, told.unchanged, len(told.conflicts)) == (1, 1, 1)
        assert stored(sensor) == {START: 1.0}

    def test_rows_out_of_order_are_put_in_order(self):
        sensor = make.sensor()
        store(sensor, [3000, 2000, 1000], first=START + 1200, step=-600)
        assert list(stored(sensor).values()) == [1.0, 2.0, 3.0]

    def test_nothing_is_nothing(self):
        told = store(make.sensor(), [])
        assert (told.added, told.unchanged, told.conflicts) == (0, 0, ())

    def test_another_sensor_is_left_alone(self):
        one, other = make.sensor(), make.sensor()
        store(one, [1000])
        store(other, [2000])
        assert stored(one) == {START: 1.0}

    def test_fahrenheit_is_stored_as_it_came_and_read_in_celsius(self):
        sensor = make.sensor(unit=Sensor.Unit.FAHRENHEIT)
        store(sensor, [32_000, 50_000])
        assert sensor.days.first().low == 32_000
        assert list(stored(sensor).values()) == [0.0, 10.0]


class TestMarking:
    def test_impossible_values_are_kept_and_marked(self):
        sensor = make.sensor()
        told = store(sensor, [1000, -127_000, 85_000, 99_000])
        assert (told.added, told.marked) == (4, 3)
        day = sensor.days.last()
        assert (day.count, day.marked, day.low, day.high) == (3, 3, None, None)
        assert readings(sensor).quality.tolist() == [
            Quality.GOOD,
            Quality.CODE_VALUE,
            Quality.CODE_VALUE,
            Quality.OUT_OF_RANGE,
        ]

    def test_a_value_is_judged_in_celsius(self):
        sensor = make.sensor(unit=Sensor.Unit.FAHRENHEIT)
        assert store(sensor, [85_000, 33_000, 185_000]).marked == 1

    def test_a_spike_at_midnight_is_seen_across_the_border(self):
        sensor = make.sensor()
        store(sensor, [1000, 30_000, 1100])
        assert readings(sensor).quality.tolist() == [0, Quality.SPIKE, 0]

    @pytest.mark.parametrize("cut", [1, 2])
    def test_a_log_in_pieces_is_judged_as_the_whole(self, cut):
        values = [1000, 30_000, 1100, 1000]
        whole, pieces = make.sensor(), make.sensor()
        store(whole, values)
        store(pieces, values[:cut])
        store(pieces, values[cut:], first=START + 600 * cut)
        assert readings(pieces).quality.tolist() == readings(whole).quality.tolist()
        assert list(pieces.days.values_list("marked", "low", "high")) == list(
            whole.days.values_list("marked", "low", "high")
        )

    def test_humidity_is_judged_as_humidity(self):
        sensor = make.sensor(quantity="humidity", unit="pct", place="air")
        told = store(sensor, [85_000, 100_500, -1000, 250_000])
        assert told.marked == 2
        aside = Quality(int(readings(sensor).quality[2]))
        assert aside.reason.startswith("outside 0 to 105 %")


class TestSensors:
    def test_a_sensor_is_entered(self):
        frame, keeper = make.frame(), make.keeper()
        sensor = add_sensor(frame=frame, name="A1", by=keeper, place="air")
        assert Event.objects.about(sensor).get().verb == "added"

    def test_a_name_is_given_once_in_a_frame(self):
        sensor = make.sensor()
        with pytest.raises(ValidationError, match="already has a sensor of that name"):
            add_sensor(frame=sensor.frame, name=sensor.name, by=None)

    def test_a_sensor_is_placed(self):
        sensor = make.sensor(place="unknown")
        part = make.microclimate(frame=sensor.frame)
        place_sensor(sensor=sensor, place="air", microclimate=part, by=None)
        sensor.refresh_from_db()
        assert (sensor.place, sensor.microclimate) == ("air", part)
        assert Event.objects.about(sensor).get().detail["was"]["place"] == "unknown"

    def test_a_sensor_is_not_placed_in_another_frame(self):
        with pytest.raises(ValidationError, match="is not part of"):
            place_sensor(
                sensor=make.sensor(),
                place="air",
                microclimate=make.microclimate(),
                by=None,
            )


PAIRS = st.lists(
    st.tuples(st.integers(0, 400), st.integers(-9000, 9000)), min_size=1, max_size=30
)


class TestMerging(TestCase):
    @settings(max_examples=40, deadline=None)
    @given(PAIRS, st.integers(0, 30))
    def test_pieces_in_any_cut_give_what_the_whole_gives(self, pairs, cut):
        minutes, values = np.array(pairs, np.int64).T
        seconds, values = START + minutes * 300, values.astype(np.int32)
        whole, pieces = make.sensor(), make.sensor()
        make.store(whole, seconds, values)
        told = [
            make.store(pieces, s, v)
            for s, v in ((seconds[:cut], values[:cut]), (seconds[cut:], values[cut:]))
        ]
        assert stored(pieces) == stored(whole)
        assert readings(pieces).quality.tolist() == readings(whole).quality.tolist()
        counts = sum(t.added + t.unchanged + len(t.conflicts) for t in told)
        assert counts == len(pairs)
