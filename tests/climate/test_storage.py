from datetime import UTC, date, datetime

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra import numpy as arrays

from wintering.climate.storage import Readings, day_of, pack, start_of, unpack

DAY = date(2024, 11, 30)
START = int(datetime(2024, 11, 30, tzinfo=UTC).timestamp())


@st.composite
def sensor_days(draw):
    of_day = draw(st.sets(st.integers(0, 86_399), max_size=60).map(sorted))
    count = len(of_day)
    return Readings(
        np.array(of_day, np.int64) + START,
        draw(arrays.arrays(np.int32, count)),
        draw(arrays.arrays(np.uint8, count)),
    )


@given(sensor_days())
def test_every_value_comes_back_whole(readings):
    back = unpack(DAY, pack(DAY, readings))
    assert back.seconds.tolist() == readings.seconds.tolist()
    assert back.thousandths.tolist() == readings.thousandths.tolist()
    assert back.quality.tolist() == readings.quality.tolist()
    assert (back.seconds.dtype, back.thousandths.dtype) == (np.int64, np.int32)


def test_the_widest_steps_come_back_whole():
    edge = np.array([-(2**31), 2**31 - 1, -(2**31)], np.int32)
    readings = Readings(START + np.array([0, 1, 86_399]), edge, np.zeros(3, np.uint8))
    back = unpack(DAY, pack(DAY, readings))
    assert back.thousandths.tolist() == edge.tolist()


def test_a_day_of_ten_minutes_takes_less_than_four_bytes_a_reading():
    seconds = START + np.arange(0, 86_400, 600)
    noise = np.random.default_rng(7).normal(0, 40, 144)
    c = 2000 + 1500 * np.sin(np.arange(144) / 23) + noise
    values = (np.round(c / 10) * 10).astype(np.int32)  # a logger's hundredths
    packed = pack(DAY, Readings(seconds, values, np.zeros(144, np.uint8)))
    assert len(packed) < 4 * 144


@pytest.mark.parametrize("of_day", [[-1], [86_400], [5, 5], [6, 5]])
def test_readings_out_of_place_are_not_packed(of_day):
    count = len(of_day)
    readings = Readings(
        START + np.array(of_day, np.int64),
        np.zeros(count, np.int32),
        np.zeros(count, np.uint8),
    )
    with pytest.raises(ValueError, match=r"another day|in order"):
        pack(DAY, readings)


@pytest.mark.parametrize("packed", [b"", b"\x02abc"])
def test_another_version_is_refused(packed):
    with pytest.raises(ValueError, match="another version"):
        unpack(DAY, packed)


@given(st.dates(date(1970, 1, 1), date(2199, 12, 31)))
def test_a_day_begins_at_midnight_utc(day):
    assert day_of(start_of(day)) == day
    assert day_of(start_of(day) + 86_399) == day


def test_between_leaves_the_end_out():
    seconds = np.arange(5, dtype=np.int64)
    five = Readings(seconds, seconds.astype(np.int32), np.zeros(5, np.uint8))
    assert five.between(1, 3).seconds.tolist() == [1, 2]
