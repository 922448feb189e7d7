import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from wintering.science.screening import REACH_S, Quality, judge

GOOD, RANGE, CODE, SPIKE, STEP, STUCK = 0, 1, 2, 3, 4, 5
TEN_MINUTES = 600


def _judged(*c: float, step_s: int = TEN_MINUTES) -> list[int]:
    return judge(np.arange(len(c)) * step_s, c).tolist()


def test_no_readings_give_no_verdicts():
    assert judge([], []).tolist() == []
    assert judge([], []).dtype == np.uint8


def test_the_physical_range_includes_its_ends():
    assert _judged(-60.0, -60.1, 70.0, 70.1, step_s=7200) == [GOOD, RANGE, GOOD, RANGE]


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


def test_a_run_that_jumps_away_and_back_is_an_excursion():
    assert _judged(0.2, 0.2, -38.0, -50.0, -50.0, 6.3, 6.2) == [
        *(GOOD, GOOD, STEP, STEP, STEP, GOOD, GOOD)
    ]
    assert _judged(4.0, 4.0, 56.0, 57.0, 4.0) == [GOOD, GOOD, STEP, STEP, GOOD]


def test_what_a_loose_wire_reads_between_two_faults_is_part_of_the_excursion():
    """Near -15 the readings may be true, but no jump had brought them back."""
    c = [0.2, 0.2, -38.0, -71.0, -15.4, -15.9, -29.0, -50.0, 6.3]
    assert _judged(*c) == [GOOD, GOOD, STEP, RANGE, STEP, STEP, STEP, STEP, GOOD]


def test_an_excursion_is_marked_only_once_the_jump_back_is_seen():
    away = [0.2, 0.2, -38.0, -50.0, -50.0]
    assert _judged(*away) == [GOOD] * 5
    assert _judged(*away, 1.0) == [GOOD, GOOD, STEP, STEP, STEP, GOOD]


def test_a_sensor_carried_into_the_cold_is_believed():
    placed = [20.0, 20.0, -22.0, *np.linspace(-22, 9, 300)]
    assert not judge(np.arange(len(placed)) * 600, placed).any()


def test_a_reading_that_creeps_back_was_never_away():
    sun = [20.0, 20.0, 56.0, 50.0, 40.0, 30.0, 24.0, 20.0]
    assert _judged(*sun) == [GOOD] * 8


def test_an_excursion_of_more_than_two_and_a_half_days_is_left_to_be_told():
    def runs(hours: int) -> list[int]:
        return _judged(4.0, 4.0, *[-50.0] * hours, 4.0, step_s=3600)

    assert runs(58) == [GOOD, GOOD, *[STEP] * 58, GOOD]
    assert runs(60) == [GOOD] * 63


def test_good_readings_between_two_excursions_stay_good():
    c = [0.0, 0.1, -50.0, 0.2, 0.1, 0.0, -50.0, -51.0, 0.1]
    assert _judged(*c) == [GOOD, GOOD, SPIKE, GOOD, GOOD, GOOD, STEP, STEP, GOOD]


def test_one_garbled_reading_is_not_taken_for_the_level():
    c = [0.0, 0.0, 46.0, 1780.0, 0.0, 0.1, 0.2, 44.0, 0.1]
    found = _judged(*c, step_s=3600)
    assert found == [GOOD, GOOD, GOOD, RANGE, GOOD, GOOD, GOOD, GOOD, GOOD]


def test_an_hourly_logger_needs_a_greater_jump():
    def hourly(peak_c: float) -> list[int]:
        return _judged(26.0, 26.0, peak_c, 26.0, step_s=3600)

    assert hourly(56.0) == [GOOD] * 4
    assert hourly(56.1) == [GOOD, GOOD, STEP, GOOD]


def test_readings_too_far_apart_show_no_jump():
    assert _judged(0.0, 0.0, -50.0, 0.0, step_s=4500) == [GOOD, GOOD, STEP, GOOD]
    assert _judged(0.0, 0.0, -50.0, 0.0, step_s=4501) == [GOOD] * 4


def test_a_run_that_leads_out_of_range_is_part_of_the_fault():
    c = [40.0, 52.0, 60.0, 69.0, 75.0, 69.0, 56.0, 40.0]
    assert _judged(*c) == [GOOD, GOOD, STEP, STEP, RANGE, STEP, STEP, GOOD]


def test_a_cold_night_beside_a_garbled_reading_is_not_set_aside():
    assert _judged(-42.0, -43.0, -1785.0, -43.0) == [GOOD, GOOD, RANGE, GOOD]


def _held(value_c: float, hours: int, *, holds_ice: bool) -> set[int]:
    c = [value_c - 1, *[value_c] * (hours + 1), value_c + 1]
    return set(judge(np.arange(len(c)) * 3600, c, holds_ice=holds_ice).tolist())


def test_air_that_shows_one_value_for_two_days_is_stuck():
    assert _held(4.37, 47, holds_ice=False) == {GOOD}
    assert _held(4.37, 48, holds_ice=False) == {GOOD, STUCK}


def test_where_ice_may_form_nothing_is_stuck():
    assert _held(4.37, 500, holds_ice=True) == {GOOD}


@pytest.mark.parametrize("value_c", [0.0, 0.31, -0.44, 4.5, 4.44, 7.0])
def test_melting_snow_and_coarse_thermometers_hold_still(value_c: float):
    assert _held(value_c, 500, holds_ice=False) == {GOOD}


def test_a_value_is_not_known_to_have_held_across_a_gap():
    def around_a_gap(hours: int) -> set[int]:
        seconds = np.concatenate([np.arange(25), np.arange(25) + 24 + hours]) * 3600
        return set(judge(seconds, np.full(50, 4.37), holds_ice=False).tolist())

    assert around_a_gap(3) == {STUCK}
    assert around_a_gap(4) == {GOOD}


def test_a_keeper_who_sets_a_reading_aside_has_a_reason_of_its_own():
    assert Quality.BY_KEEPER == 9
    assert Quality.BY_KEEPER.reason == "set aside by hand"


@st.composite
def _series(draw) -> tuple[np.ndarray, np.ndarray]:
    """Readings a few minutes to hours apart, whose faults come in runs."""
    steps = st.sampled_from([60, 600, 900, 1200, 3600, 4500, 9000, 40_000, 90_000])
    values = st.sampled_from(
        [
            *(3.0, 4.37, 7.0, -9.0, -15.5, -21.0, -30.0, -50.0, -59.0, -61.0, -71.0),
            *(20.0, 25.0, 44.0, 56.0, 69.0, 71.0, 85.0, -127.0),
        ]
    )
    seconds, c, now = [], [], 0
    for _ in range(draw(st.integers(1, 12))):
        step, value = draw(steps), draw(values)
        for _ in range(draw(st.integers(1, 25))):
            now += step
            seconds.append(now)
            c.append(value)
    return np.array(seconds), np.array(c)


def test_each_reading_of_the_longest_excursion_needs_its_reach_and_no_more():
    seconds = np.append([0, 3], np.arange(4, 64)) * 3600
    c = np.array([0.0, 0.0, *[-50.0] * 59, 0.0])
    assert seconds[-1] - seconds[1] == 60 * 3600
    for at in seconds:
        near = np.abs(seconds - at) <= REACH_S
        alone = judge(seconds[near], c[near])[seconds[near] == at]
        assert alone == judge(seconds, c)[seconds == at]
    assert _judged(*c[1:], step_s=3600) == [GOOD] * 61
    nearer = np.abs(seconds - seconds[-2]) < REACH_S - 3600
    assert not judge(seconds[nearer], c[nearer]).any()


@settings(max_examples=300)
@given(_series(), st.data(), st.booleans())
def test_a_batch_with_its_reach_on_both_sides_is_judged_as_the_whole(
    series, data, holds_ice
):
    seconds, c = series
    since = data.draw(st.integers(0, len(c) - 1))
    until = data.draw(st.integers(since + 1, len(c)))
    near = seconds >= seconds[since] - REACH_S
    near &= seconds <= seconds[until - 1] + REACH_S
    batch = judge(seconds[near], c[near], holds_ice=holds_ice)
    inside = np.flatnonzero(near)
    mine = (inside >= since) & (inside < until)
    whole = judge(seconds, c, holds_ice=holds_ice)
    assert batch[mine].tolist() == whole[since:until].tolist()


@given(_series(), st.randoms(use_true_random=False))
def test_the_order_of_rows_changes_no_verdict(series, random):
    seconds, c = series
    order = np.array(random.sample(range(len(c)), len(c)))
    shuffled = judge(seconds[order], c[order], holds_ice=False)
    assert shuffled.tolist() == judge(seconds, c, holds_ice=False)[order].tolist()


@given(_series())
def test_what_the_trade_calls_calm_near_zero_is_never_marked(series):
    seconds, c = series
    calm = np.clip(c / 100, -0.3, 0.3)
    assert not judge(seconds, calm, holds_ice=False).any()
