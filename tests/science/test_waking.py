from datetime import UTC, date, timedelta

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from wintering.science.chill_need import ChillUnit, Requirement
from wintering.science.curves import BOTTA, RequirementCurve
from wintering.science.days import local_days
from wintering.science.evidence import Evidence
from wintering.science.series import Hourly
from wintering.science.waking import RANKS, WakeLevel, WakeOutlook, wake_outlook

NAN = np.nan
START = date(2026, 10, 1)
FORTY_COLD_DAYS = Requirement(
    40, 56, ChillUnit.COLD_DAYS, "the keeper's notes", Evidence.KEEPERS_OWN
)


def _outlook(
    *daily: float,
    requirement: Requirement | None = None,
    curve: RequirementCurve = BOTTA,
    rank: int | None = None,
    seen: date | None = None,
) -> WakeOutlook:
    days = local_days(START, START + timedelta(days=len(daily)), UTC)
    hourly = Hourly.measured(days.first_hour, np.repeat(daily, 24))
    return wake_outlook(
        hourly,
        days,
        curve=curve,
        requirement=requirement,
        wake_rank=rank,
        seen_closed_on=seen,
    )


def test_w_is_the_warmth_received_over_the_warmth_asked_for():
    # after 60 chill days the generic curve asks for 282.142 °C d (Botta et al. 2000,
    # row BOTTA-60 of the table); ten days at 12 °C give 70
    found = _outlook(*[2.0] * 60, *[12.0] * 10)
    assert (found.thermal_time_dd, found.chill_days) == (70, 60)
    assert found.required_dd == pytest.approx(282.142, abs=1e-3)
    assert found.w == pytest.approx(70 / 282.142, abs=1e-6)
    assert found.level is None
    assert found.curve is BOTTA


def test_each_level_is_dated_by_the_day_that_reached_it():
    found = _outlook(*[2.0] * 60, *[12.0] * 40)
    # 0.25, 0.5 and 0.8 of 282.142 °C d are passed after 11, 21 and 33 days of 7
    assert found.level is WakeLevel.AWAKE
    reached = {level: crossing.on for level, crossing in found.crossings.items()}
    assert reached == {
        WakeLevel.WATCH: START + timedelta(days=60 + 10),
        WakeLevel.VENTILATE: START + timedelta(days=60 + 20),
        WakeLevel.AWAKE: START + timedelta(days=60 + 32),
    }
    days = local_days(START, START + timedelta(days=100), UTC)
    assert found.crossings[WakeLevel.WATCH].at_hour == days.first_hour + 71 * 24


def test_warmth_before_the_new_year_counts():
    assert _outlook(*[12.0] * 40).w > 0.25


def test_a_cold_spell_does_not_lower_w():
    w = _outlook(*[2.0] * 60, *[12.0] * 20, *[-10.0] * 30).w_by_day
    assert np.all(np.diff(w) >= 0)


def test_w_is_at_most_one():
    assert _outlook(*[2.0] * 60, *[20.0] * 60).w == 1.0


def test_once_the_curve_asks_for_nothing_the_first_warmth_is_enough():
    assert _outlook(*[0.0] * 230).w == 0.0
    assert _outlook(*[0.0] * 230, 6.0).w == 1.0


def test_days_that_lack_an_hour_are_counted_and_add_nothing():
    found = _outlook(*[2.0] * 30, *[NAN] * 2, *[12.0] * 10)
    assert (found.missing_days, found.missing_hours, found.hours) == (2, 48, 42 * 24)
    assert found.reliable
    assert (found.chill_days, found.thermal_time_dd) == (30, 70)
    assert _outlook(*[2.0] * 30, *[NAN] * 4).reliable is False


@pytest.mark.parametrize("daily", [[], [NAN, NAN]])
def test_without_a_whole_day_nothing_is_known(daily: list[float]):
    found = _outlook(*daily, requirement=FORTY_COLD_DAYS)
    assert (found.w, found.level, found.guard) == (None, None, None)
    assert found.reliable is False


def test_another_curve_can_be_given():
    early = RequirementCurve(
        "early", 0.0, 100.0, -0.05, "the row of the table", Evidence.PUBLISHED
    )
    # 100 exp(-0.05 * 30) = 22.313 °C d
    found = _outlook(*[2.0] * 30, 8.0, curve=early)
    assert found.w == pytest.approx(3 / 22.313, abs=1e-5)


def test_three_mild_days_raise_the_guard_once_three_quarters_of_the_chill_are_in():
    daily = [*[2.0] * 30, 8.1, 8.1, 8.1]
    found = _outlook(*daily, requirement=FORTY_COLD_DAYS)
    assert found.w < 0.25
    assert found.level is WakeLevel.WATCH
    assert found.crossings[WakeLevel.WATCH].on == START + timedelta(days=31)
    assert "growing degree hours" in found.guard
    # without a requirement there is no guard, and before three quarters neither
    assert _outlook(*daily).level is None
    fewer = _outlook(*[2.0] * 29, 8.1, 8.1, 8.1, requirement=FORTY_COLD_DAYS)
    assert (fewer.level, fewer.guard) == (None, None)


def test_three_days_are_mild_by_their_mean_where_the_sun_bakes_a_frame():
    # degree hours stop at 25 °C, so seven hours at 50 °C leave them below 150
    days = local_days(START, START + timedelta(days=33), UTC)
    c = np.repeat([2.0] * 30 + [3.6] * 3, 24)
    c[31 * 24 : 31 * 24 + 7] = 50.0
    hourly = Hourly.measured(days.first_hour, c)
    found = wake_outlook(hourly, days, requirement=FORTY_COLD_DAYS)
    assert found.guard == (
        "By 2 November the mean of 3 days was above 8 °C after three quarters of the "
        "lowest chill requirement."
    )
    assert found.crossings[WakeLevel.WATCH].on == START + timedelta(days=32)


def test_degree_hours_of_three_days_raise_the_guard_only_above_a_hundred_and_fifty():
    # at 6.6 °C an hour gives 2.1, so three days give 151.2; at 6.5 °C they give 144
    cold = [2.0] * 30
    assert _outlook(*cold, *[6.5] * 30, requirement=FORTY_COLD_DAYS).guard is None
    found = _outlook(*cold, *[6.6] * 3, requirement=FORTY_COLD_DAYS)
    assert found.crossings[WakeLevel.WATCH].on == START + timedelta(days=32)
    assert found.guard == (
        "By 2 November 3 days brought more than 150 growing degree hours after three "
        "quarters of the lowest chill requirement."
    )


def test_a_mild_frame_does_not_gather_the_guard_over_weeks():
    found = _outlook(*[2.0] * 30, *[5.0] * 90, requirement=FORTY_COLD_DAYS)
    assert (found.level, found.guard) == (None, None)


def test_gaps_do_not_arm_the_guard_late():
    daily = [*[2.0] * 27, *[NAN] * 3, *[12.0] * 3]
    assert _outlook(*daily, requirement=FORTY_COLD_DAYS).level is WakeLevel.WATCH


def test_the_guard_does_not_hold_back_a_stronger_level():
    found = _outlook(*[2.0] * 60, *[12.0] * 40, requirement=FORTY_COLD_DAYS)
    assert found.level is WakeLevel.AWAKE
    assert found.crossings[WakeLevel.WATCH].on == START + timedelta(days=60)


@given(
    st.lists(
        st.sampled_from([-5.0, 2.0, 4.9, 7.0, 15.0, NAN]), min_size=1, max_size=120
    )
)
def test_w_never_falls_and_levels_come_in_order(daily):
    found = _outlook(*daily, requirement=FORTY_COLD_DAYS)
    assert np.all(np.diff(found.w_by_day, prepend=0.0) >= 0)
    assert np.all(found.w_by_day <= 1)
    hours = [
        found.crossings[level].at_hour
        for level in WakeLevel
        if level in found.crossings
    ]
    assert hours == sorted(hours)


@given(st.lists(st.sampled_from([0.0, 4.0, 5.5, 9.0]), min_size=20, max_size=60))
def test_each_level_comes_with_its_advice_and_more_warmth_never_means_less(daily):
    found = _outlook(*daily)
    warmer = _outlook(*daily, 15.0)
    order = [None, *WakeLevel]
    assert order.index(warmer.level) >= order.index(found.level)
    assert warmer.level is None or warmer.level.advice.endswith(".")


def test_the_guard_speaks_of_the_mild_spell_that_holds_now():
    spell = [9.0] * 3
    daily = [*[2.0] * 30, *spell, *[2.0] * 20, *spell, *[2.0] * 20, *spell, 9.0]
    found = _outlook(*daily, requirement=FORTY_COLD_DAYS)
    # two spells are over; two days at 9 °C bring 216 degree hours, so the third one
    # holds from its second day on
    third = START + timedelta(days=30 + 3 + 20 + 3 + 20 + 1)
    assert found.level is WakeLevel.WATCH
    assert found.crossings[WakeLevel.WATCH].on == third
    assert found.guard.startswith(f"By {third.day} {third:%B} ")
    assert found.guard_last_on == START + timedelta(days=79)


def test_a_cool_day_within_three_days_does_not_end_a_mild_spell():
    days = [*[2.0] * 30, *[9.0] * 3, *[2.0] * 2, *[9.0] * 3]
    found = _outlook(*days, requirement=FORTY_COLD_DAYS)
    assert found.crossings[WakeLevel.WATCH].on == START + timedelta(days=31)
    assert found.guard_last_on == START + timedelta(days=37)


def test_one_cool_day_more_ends_a_mild_spell():
    days = [*[2.0] * 30, *[9.0] * 3, *[2.0] * 3, *[9.0] * 3]
    found = _outlook(*days, requirement=FORTY_COLD_DAYS)
    # two days of the second spell bring 216 degree hours, so it holds from its second
    # day on, four days after the last of the first one's
    second = START + timedelta(days=30 + 3 + 3 + 1)
    assert found.crossings[WakeLevel.WATCH].on == second
    assert found.guard.startswith(f"By {second.day} {second:%B} ")


MILD = [*[2.0] * 30, *[8.1] * 3]


@pytest.mark.parametrize(("rank", "guarded"), [(1, True), (2, True), (3, False)])
def test_the_guard_is_for_trees_that_wake_early(rank: int, guarded: bool):
    found = _outlook(*MILD, requirement=FORTY_COLD_DAYS, rank=rank)
    assert (found.guard is not None) is guarded
    assert found.level is (WakeLevel.WATCH if guarded else None)


def test_for_a_late_tree_w_alone_speaks():
    found = _outlook(*[2.0] * 60, *[12.0] * 40, requirement=FORTY_COLD_DAYS, rank=5)
    assert (found.guard, found.level) == (None, WakeLevel.AWAKE)
    assert found.crossings[WakeLevel.WATCH].on == START + timedelta(days=60 + 10)


@pytest.mark.parametrize("rank", [0, 6])
def test_a_number_that_is_no_rank_is_refused(rank: int):
    with pytest.raises(ValueError, match="no rank of waking"):
        _outlook(*MILD, requirement=FORTY_COLD_DAYS, rank=rank)


def test_buds_seen_closed_hold_the_level_one_step_lower_until_warmth_comes():
    seen = START + timedelta(days=89)
    daily = [*[2.0] * 60, *[12.0] * 40]
    found = _outlook(*daily, requirement=FORTY_COLD_DAYS, seen=seen)
    # ten of the forty warm days came after: 70 of 282.142 °C d
    assert found.counted_w == pytest.approx(70 / 282.142, abs=1e-6)
    assert found.w == _outlook(*daily).w
    assert found.seen_closed_on == seen
    # without the sight the tree would count as awake
    assert _outlook(*daily).level is WakeLevel.AWAKE
    assert found.level is WakeLevel.VENTILATE
    # one warm day more and the sight holds nothing back
    assert _outlook(*daily, 12.0, seen=seen).level is WakeLevel.AWAKE


def test_a_look_every_day_does_not_silence_the_warning():
    daily = [*[2.0] * 60, *[12.0] * 30]
    for days in range(70, 90):
        yesterday = START + timedelta(days=days - 1)
        bare, seen = _outlook(*daily[:days]), _outlook(*daily[:days], seen=yesterday)
        assert (seen.level is None) is (bare.level is None)


def test_a_mild_spell_before_buds_were_seen_closed_is_forgotten():
    daily = [*[2.0] * 60, *[9.0] * 4, *[2.0] * 10]
    assert _outlook(*daily, requirement=FORTY_COLD_DAYS).level is WakeLevel.WATCH
    seen = START + timedelta(days=66)
    found = _outlook(*daily, requirement=FORTY_COLD_DAYS, seen=seen)
    assert (found.level, found.guard) == (None, None)


def test_buds_seen_closed_before_the_chill_began_change_nothing():
    daily = [*[2.0] * 60, *[12.0] * 40]
    found = _outlook(*daily, seen=START - timedelta(days=1))
    assert found.counted_w == found.w
    assert found.seen_closed_on is None


def test_buds_seen_closed_never_silence_a_tree_that_asks_for_nothing_more():
    cold = [*[0.0] * 230, 6.0]
    found = _outlook(*cold, 6.0, seen=START + timedelta(days=230))
    assert found.level is WakeLevel.AWAKE
    still = _outlook(*cold, 0.0, seen=START + timedelta(days=230))
    assert still.level is WakeLevel.VENTILATE


@given(
    st.lists(st.sampled_from([-5.0, 2.0, 7.0, 15.0, NAN]), min_size=1, max_size=90),
    st.integers(-3, 95),
)
def test_what_counts_after_closed_buds_is_never_more_than_w(daily, after):
    found = _outlook(*daily, seen=START + timedelta(days=after))
    assert (found.counted_w is None) == (found.w is None)
    assert found.w is None or 0 <= found.counted_w <= found.w


def test_the_rank_has_a_word_for_each_place():
    assert sorted(RANKS.values()) == [1, 2, 3, 4, 5]
