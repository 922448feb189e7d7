from datetime import UTC, date, timedelta

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from wintering.science.chill_need import (
    GENERAL_REQUIREMENT,
    Accumulated,
    Bracket,
    ChillOutlook,
    ChillUnit,
    Requirement,
    accumulated,
    chill_outlook,
)
from wintering.science.days import LocalDays, local_days
from wintering.science.evidence import Evidence
from wintering.science.series import Hourly

NAN = np.nan
START = date(2026, 10, 1)
EXIT = date(2027, 3, 1)


def _days(count: int) -> LocalDays:
    return local_days(START, START + timedelta(days=count), UTC)


def _hours(*daily: float) -> tuple[Hourly, LocalDays]:
    """A series with one temperature for all hours of a day."""
    days = _days(len(daily))
    return Hourly.measured(days.first_hour, np.repeat(daily, 24)), days


def _need(
    low: float, high: float, unit: ChillUnit = ChillUnit.COLD_DAYS
) -> Requirement:
    return Requirement(low, high, unit, "the keeper's notes", Evidence.KEEPERS_OWN)


def _outlook(*daily: float, need: Requirement = GENERAL_REQUIREMENT) -> ChillOutlook:
    so_far = accumulated(*_hours(*daily), need.unit)
    today = START + timedelta(days=len(daily))
    return chill_outlook(need, so_far, planned_exit=EXIT, today=today)


def test_the_general_requirement_is_six_to_eight_weeks_of_cold_days():
    # Rutgers NJAES FS528: six to eight weeks below 40 °F
    assert (GENERAL_REQUIREMENT.low, GENERAL_REQUIREMENT.high) == (6 * 7, 8 * 7)
    assert "FS528" in GENERAL_REQUIREMENT.source
    assert "Fallback" in GENERAL_REQUIREMENT.source
    # the weeks are published, to count days by their mean is not
    assert "(published)" in GENERAL_REQUIREMENT.source
    assert GENERAL_REQUIREMENT.evidence is Evidence.OWN_CHOICE


@pytest.mark.parametrize(
    ("unit", "low", "high"),
    [
        # two days at 5 °C, one missing, one at 20 °C
        (ChillUnit.CHILL_HOURS_0_7, [24, 48, 48, 48], [24, 48, 72, 72]),
        (ChillUnit.CHILL_HOURS_BELOW_7, [24, 48, 48, 48], [24, 48, 72, 72]),
        (ChillUnit.UTAH, [24, 48, 48, 24], [24, 48, 72, 48]),
        (ChillUnit.COLD_DAYS, [0, 0, 0, 0], [0, 0, 1, 1]),
    ],
)
def test_chill_by_day_is_a_bracket_where_hours_are_missing(unit, low, high):
    found = accumulated(*_hours(5.0, 5.0, NAN, 20.0), unit)
    assert found.low.tolist() == low
    assert found.high.tolist() == high
    assert found.hours.tolist() == [24, 48, 72, 96]
    assert found.missing_hours.tolist() == [0, 0, 24, 24]


def test_portions_by_day_are_those_at_its_last_hour():
    found = accumulated(*_hours(6.0, 6.0, 6.0), ChillUnit.PORTIONS)
    # 29 h and 57 h at 6 °C give 0.980512 and 1.957749 (rows DM-S15, DM-S16)
    assert found.low.tolist() == pytest.approx([0, 0.980512, 1.957749], abs=5e-7)
    assert found.high.tolist() == found.low.tolist()


def test_a_hot_october_is_not_held_against_a_utah_total():
    found = accumulated(*_hours(25.0, 25.0, 6.0), ChillUnit.UTAH)
    assert found.low.tolist() == [0, 0, 24]


def test_hours_that_the_series_does_not_reach_are_missing():
    hourly, _ = _hours(3.0, 3.0)
    found = accumulated(hourly, _days(4), ChillUnit.COLD_DAYS)
    assert (found.low.tolist(), found.high.tolist()) == ([1, 2, 2, 2], [1, 2, 3, 4])
    assert found.missing_hours.tolist() == [0, 0, 24, 48]


def test_at_a_good_pace_there_is_no_risk():
    found = _outlook(*[10.0] * 16, *[3.0] * 14)
    assert found.so_far == Bracket(14, 14)
    assert found.pace == Bracket(1, 1)
    assert found.days_left == 121
    assert found.projected == Bracket(135, 135)
    assert (found.at_risk, found.met) == (False, "no")
    assert found.needed_per_day == pytest.approx((42 - 14) / 121)
    assert found.because == (
        "14 of 42 to 56 days with a mean at or below 4.4 °C so far; "
        "at the pace of the last 14 days 135 by 1 March."
    )


def test_at_a_pace_that_falls_short_of_the_lower_bound_there_is():
    found = _outlook(*[3.0] * 5, *[10.0] * 60)
    assert found.pace == Bracket(0, 0)
    assert found.projected == Bracket(5, 5)
    assert (found.at_risk, found.met) == (True, "no")


def test_a_need_between_its_bounds_is_possibly_met_and_above_them_likely():
    assert _outlook(*[3.0] * 41).met == "no"
    assert _outlook(*[3.0] * 42).met == "possibly"
    assert _outlook(*[3.0] * 55).met == "possibly"
    assert _outlook(*[3.0] * 56).met == "likely"


def test_what_is_met_is_not_at_risk_however_warm_it_became():
    found = _outlook(*[3.0] * 42, *[12.0] * 30)
    assert found.at_risk is False
    assert found.needed_per_day == 0


def test_in_the_first_fortnight_nothing_is_known_of_the_pace():
    found = _outlook(*[3.0] * 13)
    assert (found.pace, found.projected, found.at_risk) == (None, None, None)
    assert "no pace is known yet" in found.because
    assert _outlook(*[3.0] * 14).at_risk is False


def test_with_gaps_it_is_not_known_rather_than_guessed():
    found = _outlook(*[10.0] * 30, *[NAN] * 14)
    assert found.so_far == Bracket(0, 14)
    assert found.pace == Bracket(0, 1)
    assert found.at_risk is None
    assert found.reliable is False
    assert found.missing_hours == 14 * 24
    assert "336 hours are missing" in found.because


def test_the_pace_is_a_bracket_even_where_a_filled_gap_has_less_left_to_gain():
    # the most that an early gap can have been worth shrinks by a tenth a day
    low = 0.8 * np.arange(1, 21)
    high = low + 5.0 - 0.1 * np.arange(20)
    hours = 24 * np.arange(1, 21)
    so_far = Accumulated(
        START, ChillUnit.PORTIONS, low, high, hours, np.full(20, 24, dtype=np.int64)
    )
    found = chill_outlook(
        _need(20, 40, ChillUnit.PORTIONS),
        so_far,
        planned_exit=START + timedelta(days=30),
        today=START + timedelta(days=20),
    )
    assert found.pace == pytest.approx((0.7, 0.8))
    assert found.projected == pytest.approx((16.0 + 7.0, 19.1 + 8.0))


def test_a_need_that_gaps_may_hide_is_possibly_met():
    assert _outlook(*[3.0] * 40, *[NAN] * 2).met == "possibly"
    assert _outlook(*[3.0] * 54, *[NAN] * 2).met == "possibly"


def test_gaps_that_change_nothing_leave_the_risk_known():
    found = _outlook(*[NAN] * 3, *[10.0] * 60)
    assert (found.at_risk, found.reliable) == (True, True)


def test_more_than_a_tenth_missing_is_not_reliable():
    assert _outlook(*[NAN] * 4, *[3.0] * 36).reliable is True
    assert _outlook(*[NAN] * 4, *[3.0] * 35).reliable is False


def test_before_the_chill_starts_nothing_has_come():
    so_far = accumulated(*_hours(3.0), ChillUnit.COLD_DAYS)
    found = chill_outlook(
        GENERAL_REQUIREMENT, so_far, planned_exit=EXIT, today=date(2026, 9, 1)
    )
    assert found.so_far == Bracket(0, 0)
    assert (found.at_risk, found.met, found.reliable) == (None, "no", False)


def test_an_earlier_day_is_judged_by_what_was_known_then():
    so_far = accumulated(*_hours(*[3.0] * 60), ChillUnit.COLD_DAYS)
    found = chill_outlook(
        GENERAL_REQUIREMENT,
        so_far,
        planned_exit=EXIT,
        today=START + timedelta(days=20),
    )
    assert found.so_far == Bracket(20, 20)
    assert found.hours == 20 * 24


def test_once_the_exit_has_come_nothing_more_is_projected():
    found = chill_outlook(
        GENERAL_REQUIREMENT,
        accumulated(*_hours(*[3.0] * 20), ChillUnit.COLD_DAYS),
        planned_exit=START,
        today=START + timedelta(days=20),
    )
    assert found.days_left == 0
    assert found.projected == found.so_far
    assert (found.at_risk, found.needed_per_day) == (True, None)


def test_chill_that_ends_too_early_is_refused():
    so_far = accumulated(*_hours(3.0), ChillUnit.COLD_DAYS)
    with pytest.raises(ValueError, match="sum it up to today"):
        chill_outlook(
            GENERAL_REQUIREMENT, so_far, planned_exit=EXIT, today=date(2026, 10, 3)
        )


def test_one_unit_is_never_held_against_another():
    so_far: Accumulated = accumulated(*_hours(3.0), ChillUnit.PORTIONS)
    with pytest.raises(ValueError, match="the sum in chill portions"):
        chill_outlook(GENERAL_REQUIREMENT, so_far, planned_exit=EXIT, today=START)


@pytest.mark.parametrize(("low", "high"), [(0, 5), (-1, 5), (6, 5)])
def test_a_requirement_is_a_range_above_nothing(low: float, high: float):
    with pytest.raises(ValueError, match="the lower bound first"):
        _need(low, high)


@pytest.mark.parametrize(
    ("bracket", "words"),
    [
        (Bracket(14, 14), "14"),
        (Bracket(14, 20), "14 to 20"),
        (Bracket(0.51, 2), "0.5 to 2"),
    ],
)
def test_a_bracket_reads_as_a_range(bracket: Bracket, words: str):
    assert str(bracket) == words


DAILY = st.lists(
    st.sampled_from([-5.0, 3.0, 6.0, 8.0, 20.0, NAN]), min_size=14, max_size=40
)


@given(DAILY, st.sampled_from([unit for unit in ChillUnit if unit != ChillUnit.UTAH]))
def test_a_gap_never_makes_more_certain_what_is_said(daily, unit):
    need = _need(3, 9, unit)
    filled = [6.0 if value != value else value for value in daily]
    with_gaps, without = _outlook(*daily, need=need), _outlook(*filled, need=need)
    assert with_gaps.so_far.low <= with_gaps.so_far.high
    assert with_gaps.pace.low <= with_gaps.pace.high
    assert with_gaps.missing_hours >= without.missing_hours == 0
    if with_gaps.met == "likely":
        assert with_gaps.so_far.low >= need.high


@pytest.mark.parametrize(
    ("unit", "bounds", "days_left", "pressing"),
    [
        (ChillUnit.COLD_DAYS, (42, 56), 85, False),
        (ChillUnit.COLD_DAYS, (42, 56), 83, True),
        (ChillUnit.CHILL_HOURS_0_7, (600, 900), 51, False),
        (ChillUnit.CHILL_HOURS_0_7, (600, 900), 49, True),
        (ChillUnit.PORTIONS, (30, 40), 71, False),
        (ChillUnit.PORTIONS, (30, 40), 69, True),
    ],
)
def test_what_is_lacking_presses_once_it_takes_half_of_the_days_left(
    unit, bounds, days_left, pressing
):
    need = Requirement(*bounds, unit, "x", Evidence.PUBLISHED)
    none = np.zeros(20)
    so_far = Accumulated(
        date(2024, 10, 1), unit, none, none, np.arange(20) * 24 + 24, np.zeros(20, int)
    )
    today = date(2024, 10, 21)
    exit_on = today + timedelta(days=days_left)
    found = chill_outlook(need, so_far, planned_exit=exit_on, today=today)
    assert found.at_risk is True
    assert found.is_pressing is pressing
