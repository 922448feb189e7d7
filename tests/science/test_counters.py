from datetime import UTC, date
from zoneinfo import ZoneInfo

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from wintering.science.counters import (
    Cold,
    FreezeThaw,
    InBand,
    Night,
    WarmSpell,
    cold_below,
    coldest_nights,
    freeze_thaw,
    hours_in_band,
    warm_spells,
)
from wintering.science.days import local_days
from wintering.science.series import Hourly

NAN = np.nan
FIRST = date(2026, 12, 1)

temperatures = st.lists(st.floats(-30, 30) | st.just(NAN), max_size=60)


def _cycles_by_hand(c: list[float], freeze_c: float, thaw_c: float) -> int:
    frozen, cycles = False, 0
    for t in c:
        if t <= freeze_c:
            frozen = True
        elif t >= thaw_c and frozen:
            frozen, cycles = False, cycles + 1
    return cycles


@given(temperatures)
def test_cycles_are_those_that_a_walk_through_the_hours_finds(c: list[float]):
    c = [round(t, 6) for t in c]
    assert freeze_thaw(c).cycles == _cycles_by_hand(c, -1.0, 0.5)


def test_a_probe_that_wavers_about_zero_has_no_cycles():
    c = [0.3, -0.3, 0.2, -0.9, 0.4, -0.99, 0.49] * 20
    assert freeze_thaw(c) == FreezeThaw(0, None, 0)


def test_the_limits_themselves_freeze_and_thaw():
    assert freeze_thaw([-1.0, 0.5]) == FreezeThaw(1, False, 0)
    assert freeze_thaw([-0.999999, 0.5]).cycles == 0
    assert freeze_thaw([-1.0, 0.499999]) == FreezeThaw(0, True, 0)


def test_a_thaw_without_a_frost_seen_is_no_cycle():
    assert freeze_thaw([0.0, 2.0, 3.0]) == FreezeThaw(0, False, 0)


def test_the_state_holds_across_missing_hours_and_they_are_told():
    assert freeze_thaw([-3.0, NAN, NAN, 2.0]) == FreezeThaw(1, False, 2)
    assert freeze_thaw([-3.0, NAN, -3.0, 2.0]) == FreezeThaw(1, False, 1)
    assert freeze_thaw([NAN, NAN]) == FreezeThaw(0, None, 2)
    assert freeze_thaw([]) == FreezeThaw(0, None, 0)


@given(temperatures, st.data())
def test_losing_an_hour_never_adds_to_a_count(c: list[float], data: st.DataObject):
    if not c:
        return
    lost = list(c)
    lost[data.draw(st.integers(0, len(c) - 1))] = NAN
    assert freeze_thaw(lost).cycles <= freeze_thaw(c).cycles
    assert cold_below(lost, -5).hours <= cold_below(c, -5).hours
    whole, less = cold_below(c, -5), cold_below(lost, -5)
    assert less.degree_hours_kh <= whole.degree_hours_kh + 1e-6
    assert hours_in_band(lost, 0, 7.2).hours <= hours_in_band(c, 0, 7.2).hours


def test_thaw_must_lie_above_freeze():
    with pytest.raises(ValueError, match="lower temperature than it thaws"):
        freeze_thaw([0.0], freeze_c=0.5, thaw_c=0.5)


def test_an_hour_at_the_limit_is_not_below_it():
    assert cold_below([-5.0, -5.1, NAN, 3.0], -5.0) == Cold(0.1, 1, 1)
    assert cold_below([], -5.0) == Cold(0.0, 0, 0)


@given(temperatures, st.floats(-20, 5), st.floats(0, 10))
def test_a_higher_limit_never_counts_less_cold(
    c: list[float], limit: float, more: float
):
    low, high = cold_below(c, limit), cold_below(c, limit + more)
    assert low.hours <= high.hours
    assert low.degree_hours_kh <= high.degree_hours_kh + 1e-5
    assert low.degree_hours_kh <= 60 * low.hours


def test_both_ends_belong_to_a_band():
    found = hours_in_band([0.0, 7.2, 7.2000001, 7.3, -0.1, NAN], 0.0, 7.2)
    assert found == InBand(hours=3, missing_hours=1)


def test_a_band_upside_down_is_refused():
    with pytest.raises(ValueError, match="lower end"):
        hours_in_band([0.0], 7.2, 0.0)


def _winter(days: int) -> Hourly:
    first = local_days(FIRST, FIRST, UTC).first_hour
    return Hourly.measured(first, np.full(24 * days, 5.0))


def test_a_night_runs_from_noon_to_noon_and_is_named_after_its_evening():
    hourly = _winter(4)
    c = hourly.c
    c[20] = -4.0  # 20:00 on the first day
    c[24 + 7] = -6.0  # 07:00 on the second: the same night
    c[24 + 12] = -5.0  # noon of the second: the next night
    nights = coldest_nights(hourly, local_days(FIRST, date(2026, 12, 4), UTC), count=2)
    first = hourly.first_hour
    assert nights == [
        Night(FIRST, -6.0, first + 31, 0),
        Night(date(2026, 12, 2), -5.0, first + 36, 0),
    ]


def test_a_night_with_missing_hours_says_so_and_one_without_any_is_left_out():
    hourly = _winter(3)
    hourly.c[12:30] = NAN
    hourly.c[36:60] = NAN
    days = local_days(FIRST, date(2026, 12, 4), UTC)
    nights = coldest_nights(hourly, days, count=9)
    evenings = [(night.evening.day, night.missing_hours) for night in nights]
    # the third night has only its hours up to midnight: the series ends there
    assert evenings == [(1, 18), (3, 12)]


def test_no_days_have_no_nights():
    assert coldest_nights(_winter(1), local_days(FIRST, FIRST, UTC), count=3) == []


def test_nights_follow_the_clocks_of_the_place():
    zone = ZoneInfo("Europe/Berlin")
    days = local_days(date(2026, 10, 24), date(2026, 10, 27), zone)
    hours = Hourly.measured(days.first_hour, np.arange(24.0 * 4 + 1))
    nights = coldest_nights(hours, days, count=3)
    assert [night.evening.day for night in nights] == [24, 25, 26]
    # the second night begins 13 hours after the 25 hour day's first noon
    assert [night.lowest_c for night in nights] == [12.0, 36.0, 61.0]


def test_three_warm_days_are_a_spell_and_two_are_not():
    means = [7.1, 8.0, 5.0, 7.1, 9.0, 8.5, 7.0, 7.1, 7.1]
    assert warm_spells(means, FIRST) == [
        WarmSpell(date(2026, 12, 4), date(2026, 12, 7), pytest.approx(8.2), False)
    ]


def test_a_spell_may_begin_and_end_with_the_days_given():
    spell = warm_spells([8.0, 8.0, 8.0], FIRST)[0]
    assert (spell.since, spell.until) == (FIRST, date(2026, 12, 4))
    assert not spell.is_cut_by_gap
    assert warm_spells([], FIRST) == []


def test_a_missing_day_ends_a_spell_and_is_told():
    assert warm_spells([8.0, 8.0, NAN, 8.0, 8.0], FIRST) == []
    after = warm_spells([NAN, 8.0, 8.0, 8.0, 5.0], FIRST)
    before = warm_spells([5.0, 8.0, 8.0, 8.0, NAN], FIRST)
    assert [spell.is_cut_by_gap for spell in after + before] == [True, True]
    assert after[0].since == date(2026, 12, 2)


@given(st.lists(st.floats(0, 14) | st.just(NAN), max_size=40))
def test_spells_are_apart_long_enough_and_warm_on_every_day(means: list[float]):
    covered = set()
    for spell in warm_spells(means, FIRST):
        run = range((spell.since - FIRST).days, (spell.until - FIRST).days)
        assert len(run) >= 3
        assert all(round(means[day], 6) > 7 for day in run)
        assert spell.mean_c > 7
        assert not covered & {*run, run.start - 1}
        covered |= set(run)
