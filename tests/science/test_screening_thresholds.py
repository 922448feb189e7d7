"""Each threshold of the screening from both sides: just within it, and just beyond."""

import numpy as np
import pytest

from wintering.science.screening import judge

GOOD, RANGE, CODE, STEP = 0, 1, 2, 4


def _judged(*c: float, step_s: int = 600) -> list[int]:
    return judge(np.arange(len(c)) * step_s, c).tolist()


@pytest.mark.parametrize(("step_s", "verdict"), [(1200, STEP), (1201, GOOD)])
def test_twenty_minutes_are_soon(step_s: int, verdict: int):
    found = _judged(0.0, 0.0, -25.0, 0.0, step_s=step_s)
    assert found == [GOOD, GOOD, verdict, GOOD]


@pytest.mark.parametrize(("peak_c", "verdict"), [(56.0, GOOD), (56.1, STEP)])
def test_more_than_twenty_kelvin_soon_is_a_jump(peak_c: float, verdict: int):
    found = _judged(36.0, 36.0, peak_c, peak_c, 36.0)
    assert found == [GOOD, GOOD, verdict, verdict, GOOD]


@pytest.mark.parametrize(
    ("level_c", "away_c", "verdict"),
    [
        (5.0, -20.0, GOOD),
        (5.0, -20.1, STEP),
        (30.0, 55.0, GOOD),
        (30.0, 55.1, STEP),
    ],
)
def test_an_excursion_leads_below_minus_20_or_above_55(
    level_c: float, away_c: float, verdict: int
):
    found = _judged(level_c, level_c, away_c, away_c, level_c)
    assert found == [GOOD, GOOD, verdict, verdict, GOOD]


@pytest.mark.parametrize(("back_c", "verdict"), [(12.0, STEP), (12.1, GOOD)])
def test_a_jump_back_ends_within_twelve_kelvin(back_c: float, verdict: int):
    found = _judged(0.0, 0.0, -50.0, -50.0, back_c, back_c)
    assert found == [GOOD, GOOD, verdict, verdict, GOOD, GOOD]


@pytest.mark.parametrize(("before_c", "verdict"), [(12.0, STEP), (12.1, GOOD)])
def test_a_level_held_if_the_reading_before_it_was_within_twelve_kelvin(
    before_c: float, verdict: int
):
    found = _judged(before_c, 0.0, -50.0, -50.0, 0.0)
    assert found == [GOOD, GOOD, verdict, verdict, GOOD]


@pytest.mark.parametrize(("crept_c", "verdict"), [(25.0, GOOD), (25.1, STEP)])
def test_what_creeps_to_within_five_kelvin_was_never_away(crept_c: float, verdict: int):
    found = _judged(20.0, 20.0, 56.0, 40.0, crept_c, 50.0, 50.0, 20.0)
    assert found == [GOOD, GOOD, *[verdict] * 5, GOOD]


def test_a_level_that_the_sensor_came_back_to_for_one_reading_holds():
    c = [0.0, 0.0, -50.0, -50.0, 0.0, -50.0, -50.0, 0.0]
    found = _judged(*c, step_s=1200)  # too far apart for a spike
    assert found == [GOOD, GOOD, STEP, STEP, GOOD, STEP, STEP, GOOD]


@pytest.mark.parametrize(("edge_c", "verdict"), [(-40.0, GOOD), (-40.1, STEP)])
def test_cold_leads_out_from_below_minus_40(edge_c: float, verdict: int):
    found = _judged(-35.0, edge_c, -50.0, -59.0, -65.0)
    assert found == [GOOD, verdict, STEP, STEP, RANGE]


@pytest.mark.parametrize(("edge_c", "verdict"), [(55.0, GOOD), (55.1, STEP)])
def test_heat_leads_out_from_above_55(edge_c: float, verdict: int):
    found = _judged(45.0, edge_c, 65.0, 69.0, 75.0)
    assert found == [GOOD, verdict, STEP, STEP, RANGE]


def test_a_run_leads_out_of_range_within_a_day():
    found = _judged(*[60.0] * 26, 71.0, step_s=3600)
    assert found == [GOOD, GOOD, *[STEP] * 24, RANGE]


def test_a_code_value_opens_no_excursion():
    """From 4 to -10 is no jump; by way of -127 it would be one, and 16 the way back."""
    found = _judged(4.0, 4.0, -127.0, -10.0, -10.0, 16.0)
    assert found == [GOOD, GOOD, CODE, GOOD, GOOD, GOOD]


def test_no_run_leads_to_a_code_value():
    assert _judged(60.0, 69.0, 85.0, 69.0) == [GOOD, GOOD, CODE, GOOD]
