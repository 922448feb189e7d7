import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from wintering.science.screening import Quality, judge

GOOD, RANGE, CODE, SPIKE = 0, 1, 2, 3
TEN_MINUTES = 600


def _judged(*c: float, step_s: int = TEN_MINUTES) -> list[int]:
    return judge(np.arange(len(c)) * step_s, c).tolist()


def test_no_readings_give_no_verdicts():
    assert judge([], []).tolist() == []
    assert judge([], []).dtype == np.uint8


def test_the_physical_range_includes_its_ends():
    assert _judged(-60.0, -60.1, 70.0, 70.1, step_s=3600) == [GOOD, RANGE, GOOD, RANGE]


def test_what_is_no_number_is_out_of_range():
    assert _judged(np.nan, np.inf, 4.0, step_s=3600) == [RANGE, RANGE, GOOD]


@pytest.mark.parametrize("value", [85.0, -127.0, -999.0, 999.9, -9999.0])
def test_values_that_mean_no_value_are_named_as_such(value: float):
    assert _judged(4.0, value, 4.1) == [GOOD, CODE, GOOD]


def test_a_single_reading_far_from_both_neighbours_is_a_spike():
    assert _judged(4.0, 4.1, 19.3, 4.2, 4.0) == [GOOD, GOOD, SPIKE, GOOD, GOOD]
    assert _judged(4.0, -11.1, 4.2) == [GOOD, SPIKE, GOOD]


def test_a_jump_of_just_fifteen_kelvin_is_no_spike():
    assert _judged(4.1, 19.1, 4.1) == [GOOD, GOOD, GOOD]
    assert _judged(4.1, 19.1, 4.0) == [GOOD, GOOD, GOOD]
    assert _judged(4.0, 19.1, 4.1) == [GOOD, GOOD, GOOD]


def test_a_jump_that_stays_is_no_spike():
    assert _judged(4.0, 4.0, 22.0, 22.0, 22.0) == [GOOD] * 5


def test_two_readings_in_a_row_are_no_spike():
    assert _judged(4.0, 22.0, 22.0, 4.0) == [GOOD] * 4


def test_a_step_on_the_way_up_is_no_spike():
    assert _judged(0.0, 16.0, 32.0) == [GOOD] * 3


def test_neighbours_that_disagree_do_not_show_a_spike():
    assert _judged(0.0, 40.0, 20.0) == [GOOD] * 3


def test_neighbours_more_than_a_quarter_hour_away_say_nothing():
    assert _judged(4.0, 22.0, 4.0, step_s=900) == [GOOD, SPIKE, GOOD]
    assert _judged(4.0, 22.0, 4.0, step_s=901) == [GOOD, GOOD, GOOD]


def test_the_first_and_the_last_reading_are_never_spikes():
    assert _judged(30.0, 4.0, 4.0, 30.0) == [GOOD] * 4


def test_a_spike_beside_a_fault_is_seen_against_the_readings_that_count():
    assert _judged(4.0, -127.0, 30.0, 4.0, step_s=300) == [GOOD, CODE, SPIKE, GOOD]


def test_a_spike_written_twice_is_a_spike_twice():
    found = judge([0, 600, 600, 1200], [4.0, 30.0, 30.0, 4.0])
    assert found.tolist() == [GOOD, SPIKE, SPIKE, GOOD]


def test_a_root_ball_that_freezes_for_days_is_not_marked():
    three_days = np.tile([0.0, 0.1, 0.0, -0.1, 0.3, -0.3], 3 * 24)
    assert _judged(*three_days) == [GOOD] * three_days.size
    assert _judged(*np.zeros(500)) == [GOOD] * 500


def test_readings_in_any_order_keep_their_own_verdict():
    seconds, c = [1200, 0, 600, 1800], [4.0, 4.0, 30.0, 99.0]
    assert judge(seconds, c).tolist() == [GOOD, GOOD, SPIKE, RANGE]


def test_instants_and_temperatures_must_pair():
    with pytest.raises(ValueError, match="give one of each a reading"):
        judge([0, 600], [4.0])


def test_each_verdict_has_its_reason_in_words():
    assert len({quality.reason for quality in Quality}) == len(Quality)


READINGS = st.lists(
    st.tuples(
        st.integers(60, 1500),
        st.sampled_from([3.0, 4.5, 20.0, 25.0, -14.0, 85.0, -127.0, 71.0]),
    ),
    min_size=1,
    max_size=60,
)


@given(READINGS, st.data())
def test_a_batch_with_a_quarter_hour_around_it_is_judged_as_the_whole(readings, data):
    seconds = np.cumsum([step for step, _ in readings])
    c = np.array([value for _, value in readings])
    since = data.draw(st.integers(0, len(readings) - 1))
    until = data.draw(st.integers(since + 1, len(readings)))
    # faults in between push the neighbour that counts further away, never nearer
    near = (seconds >= seconds[since] - 900) & (seconds <= seconds[until - 1] + 900)
    batch = judge(seconds[near], c[near])
    inside = np.flatnonzero(near)
    mine = (inside >= since) & (inside < until)
    assert batch[mine].tolist() == judge(seconds, c)[since:until].tolist()
