import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from wintering.science.series import (
    HOUR_S,
    Hourly,
    align,
    bridge,
    hourly_means,
    joined,
)

NAN = np.nan


def _same(found: Hourly, first_hour: int, *c: float) -> None:
    assert found.first_hour == first_hour
    np.testing.assert_allclose(found.c, c, rtol=0, atol=1e-9)


def test_no_readings_give_no_hours():
    assert hourly_means([], []).c.size == 0
    assert hourly_means([0, 600], [NAN, NAN]).c.size == 0
    assert bridge(hourly_means([], [])).c.size == 0


def test_an_hourly_logger_passes_through_unchanged():
    c = [1.25, -3.4, 0.0, 7.2]
    _same(hourly_means(np.arange(4) * HOUR_S, c), 0, *c)
    # also one that stamps the half hour
    _same(hourly_means(np.arange(4) * HOUR_S + 1800, c), 0, *c)


def test_a_missing_row_of_an_hourly_logger_is_a_missing_hour():
    _same(hourly_means([0, HOUR_S, 3 * HOUR_S], [1.0, 2.0, 4.0]), 0, 1, 2, NAN, 4)


def test_an_hour_is_the_mean_of_its_readings():
    seconds = 7200 + np.arange(12) * 600
    _same(hourly_means(seconds, np.arange(12)), 2, 2.5, 8.5)


def test_a_reading_on_the_hour_belongs_to_the_hour_it_begins():
    _same(hourly_means([0, 1800, 3600], [2.0, 4.0, 9.0]), 0, 3, 9)


def test_hours_before_1970_are_counted_too():
    _same(hourly_means([-3600, -1800, 0], [2.0, 4.0, 9.0]), -1, 3, 9)


def test_different_values_at_one_instant_are_averaged_and_equal_ones_dropped():
    _same(hourly_means([0, 0, 0, 1800], [1.0, 1.0, 3.0, 8.0]), 0, 5)


def test_an_irregular_logger_is_weighted_by_time():
    # 10 min at 0 °C, then 50 min at 6 °C
    found = hourly_means([0, 600, 3600, 5500], [0.0, 6.0, 3.0, 7.0])
    # 1900 s at 3 °C, then 1700 s at 7 °C: the last reading holds to the hour's end
    _same(found, 0, 5, 4.888889)


def test_the_last_reading_of_an_irregular_logger_holds_for_its_usual_step():
    # 100 s at 3 °C, and the usual step of 600 s: less than half of the hour
    _same(hourly_means([0, 600, 3600, 3700], [0.0, 6.0, 3.0, 3.0]), 0, 5, NAN)


def test_a_reading_holds_for_ninety_minutes_at_most():
    quick = np.arange(0, 601, 7)
    seconds = np.append(quick, [6 * HOUR_S, 6 * HOUR_S + 1800])
    found = hourly_means(seconds, np.full(seconds.size, 5.0))
    # the reading at 600 s holds until 6000 s, 40 minutes into the second hour
    _same(found, 0, 5, 5, NAN, NAN, NAN, NAN, 5)


def test_an_hour_covered_for_less_than_half_is_missing():
    quick = np.arange(0, 1001, 7)
    held_until = quick[-1] + 90 * 60
    assert held_until - HOUR_S > 1800
    found = hourly_means(np.append(quick, 6 * HOUR_S), np.ones(quick.size + 1))
    assert not np.isnan(found.c[1])
    assert np.isnan(found.c[6])


def test_regular_readings_that_start_on_the_hour_agree_with_the_weighting_by_time():
    rng = np.random.default_rng(3)
    c = rng.normal(3, 5, 6 * 24)
    regular = hourly_means(np.arange(c.size) * 600, c)
    # one more reading off the beat, equal to the one before it, changes no mean
    seconds = np.append(np.arange(c.size) * 600, 100)
    irregular = hourly_means(seconds, np.append(c, c[0]))
    np.testing.assert_allclose(regular.c, irregular.c, rtol=0, atol=2e-6)


@pytest.mark.parametrize("step_h", [2, 3])
def test_a_slow_logger_is_interpolated_to_the_hours_and_says_so(step_h: int):
    seconds = np.arange(5) * step_h * HOUR_S
    found = hourly_means(seconds, np.arange(5) * step_h)
    _same(found, 0, *range(4 * step_h + 1))
    assert found.bridged.sum() == 4 * (step_h - 1)
    assert not found.bridged[::step_h].any()


def test_a_slow_logger_off_the_hour_is_read_at_the_hours():
    found = hourly_means([1800, 9000, 16200], [0.0, 2.0, 4.0])
    _same(found, 1, 0.5, 1.5, 2.5, 3.5)


def test_no_line_is_drawn_across_a_long_gap_of_a_slow_logger():
    seconds = np.array([0, 2, 4, 9, 11]) * HOUR_S
    found = hourly_means(seconds, [0.0, 2.0, 4.0, 9.0, 11.0])
    _same(found, 0, 0, 1, 2, 3, 4, NAN, NAN, NAN, NAN, 9, 10, 11)


def test_readings_many_hours_apart_give_the_hours_that_have_one():
    _same(hourly_means([0, 6 * HOUR_S], [1.0, 2.0]), 0, 1, *[NAN] * 5, 2)


@pytest.mark.parametrize("gap", [1, 2, 3])
def test_a_short_gap_is_bridged_by_a_straight_line(gap: int):
    c = np.arange(gap + 2, dtype=float)
    holed = c.copy()
    holed[1:-1] = NAN
    found = bridge(Hourly.measured(10, holed))
    _same(found, 10, *c)
    assert found.bridged.tolist() == [False, *[True] * gap, False]


def test_a_longer_gap_and_the_ends_stay_missing():
    c = [NAN, 1.0, NAN, NAN, NAN, NAN, 2.0, NAN]
    found = bridge(Hourly.measured(0, c))
    _same(found, 0, *c)
    assert not found.bridged.any()
    assert bridge(Hourly.measured(0, c), max_gap_h=4).bridged.sum() == 4


def test_bridging_leaves_the_series_it_was_given_alone():
    hourly = Hourly.measured(0, [1.0, NAN, 3.0])
    bridge(hourly)
    assert np.isnan(hourly.c[1])


def test_a_window_is_missing_where_the_series_is_not():
    hourly = Hourly.measured(5, [1.0, 2.0, 3.0])
    _same(hourly.window(6, 8), 6, 2, 3)
    _same(hourly.window(3, 10), 3, NAN, NAN, 1, 2, 3, NAN, NAN)
    _same(hourly.window(20, 22), 20, NAN, NAN)
    assert hourly.window(8, 8).c.size == 0


def test_a_place_measured_against_a_sensor_is_warmer_by_its_offset():
    _same(Hourly.measured(0, [1.0, NAN]).shifted(-1.4), 0, -0.4, NAN)


def test_several_series_become_one_array():
    first, c = align([Hourly.measured(5, [1.0, 2.0]), Hourly.measured(6, [3.0, 4.0])])
    assert first == 5
    np.testing.assert_array_equal(c, [[1, NAN], [2, 3], [NAN, 4]])


def test_a_series_without_hours_is_a_column_without_values():
    first, c = align([Hourly.measured(0, []), Hourly.measured(6, [3.0])])
    assert first == 6
    np.testing.assert_array_equal(c, [[NAN, 3]])
    assert align([])[1].shape == (0, 0)


def test_a_tree_that_moved_has_one_series_from_its_places():
    floor, bench = Hourly.measured(0, np.zeros(9)), Hourly.measured(0, np.ones(9))
    found = joined([(floor, 1, 3), (bench, 4, 6)])
    _same(found, 1, 0, 0, NAN, 1, 1)
    assert joined([]).c.size == 0
    with pytest.raises(ValueError, match="a tree has one place"):
        joined([(floor, 1, 3), (bench, 2, 6)])


READINGS = st.lists(
    st.tuples(st.integers(0, 400_000), st.integers(-20_000, 30_000)),
    min_size=1,
    max_size=80,
)


@given(READINGS, st.randoms(use_true_random=False), st.integers(0, 80))
def test_readings_in_any_order_and_twice_over_give_the_same_hours(
    readings, random, again
):
    whole = hourly_means(*_columns(readings))
    shuffled = readings + readings[:again]
    random.shuffle(shuffled)
    found = hourly_means(*_columns(shuffled))
    assert found.first_hour == whole.first_hour
    np.testing.assert_array_equal(found.c, whole.c)
    np.testing.assert_array_equal(found.bridged, whole.bridged)


def _columns(readings):
    seconds, thousandths = zip(*readings, strict=True)
    return np.array(seconds), np.array(thousandths) / 1000


@given(READINGS)
def test_no_hour_is_warmer_or_colder_than_the_readings(readings):
    seconds, c = _columns(readings)
    hours = bridge(hourly_means(seconds, c)).c
    known = hours[~np.isnan(hours)]
    assert np.all((known >= c.min() - 1e-6) & (known <= c.max() + 1e-6))
