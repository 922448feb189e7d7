from dataclasses import replace
from datetime import UTC, date, timedelta

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from wintering.science.budbreak import (
    BudbreakOutlook,
    DatePoints,
    Structure,
    budbreak_outlook,
)
from wintering.science.chill_need import ChillUnit, Requirement, accumulated
from wintering.science.curves import BOTTA, RequirementCurve
from wintering.science.days import local_days
from wintering.science.evidence import Evidence
from wintering.science.series import Hourly
from wintering.science.waking import wake_outlook

START = date(2026, 10, 1)
ALTERNATING, SEQUENTIAL, OVERLAP = Structure


def _need(low: float, high: float, unit=ChillUnit.COLD_DAYS) -> Requirement:
    return Requirement(low, high, unit, "the keeper's notes", Evidence.KEEPERS_OWN)


def _outlook(
    past: list[float],
    *futures: list[float],
    need: Requirement | None = None,
    curve: RequirementCurve = BOTTA,
    **given: int | date,
) -> BudbreakOutlook:
    """Temperatures by day; every future as long as the first one."""
    days = local_days(START, _on(len(past) + len(futures[0])), UTC)
    return budbreak_outlook(
        Hourly.measured(days.first_hour, np.repeat(past, 24)),
        np.repeat(np.array(futures).T, 24, axis=0),
        days,
        requirement=need or _need(40, 40),
        curve=curve,
        **given,
    )


def _on(day: int) -> date:
    return START + timedelta(days=day)


def _same(day: int) -> DatePoints:
    return DatePoints(_on(day), _on(day), _on(day), 1.0)


# 100 exp(-0.1 C): 1.8316 °C d after 40 chill days, 36.788 after 10
STEEP = RequirementCurve("steep", 0.0, 100.0, -0.1, "own", Evidence.OWN_CHOICE)


def test_a_small_case_by_hand():
    # ten cold days, six at 8 °C (18 °C d), thirty cold ones, then 6 °C (1 °C d each).
    # Rest is complete on day 45, the fortieth cold day.
    # Alternating: 18 °C d are there from day 15 on; after 18 chill days 16.53 are
    # asked for, so day 23 (the 18th cold day) brings budbreak.
    # Sequential: from day 46 on 1 °C d each against 100 exp(-4) = 1.83: day 47.
    daily = [*[2.0] * 10, *[8.0] * 6, *[2.0] * 30, *[6.0] * 10]
    found = _outlook(daily[:20], daily[20:], curve=STEEP)
    assert found.rest_complete == _same(45)
    points = {name: each.points for name, each in found.by_structure.items()}
    assert points == {ALTERNATING: _same(23), SEQUENTIAL: _same(47), OVERLAP: _same(47)}
    assert found.warning.points == _same(23)


def test_in_the_overlap_later_chill_still_lowers_what_is_asked_for():
    # rest is complete after ten cold days, when 36.79 °C d are asked for; 24 °C d come
    # at once, and after five more cold days (15: 22.3) they are enough
    daily = [*[2.0] * 10, *[8.0] * 8, *[2.0] * 10, *[6.0] * 20]
    found = _outlook([], daily, need=_need(10, 10), curve=STEEP)
    assert found.by_structure[OVERLAP].points == _same(22)
    # without it the twenty days of 1 °C d are needed: 24 + 13 on day 28 + 12
    assert found.by_structure[SEQUENTIAL].points == _same(40)


def test_warmth_that_is_just_enough_is_enough():
    ten = RequirementCurve("ten", 10.0, 1e-300, -0.1, "own", Evidence.OWN_CHOICE)
    daily = [*[2.0] * 40, *[7.0] * 20]
    assert _outlook([], daily, curve=ten).warning.points == _same(44)


def test_no_buds_break_without_any_warmth():
    # the generic curve asks for nothing more after 224 chill days
    found = _outlook([2.0] * 235, [2.0] * 5)
    assert {each.points.reached for each in found.by_structure.values()} == {0.0}
    found = _outlook([2.0] * 235, [2.0, 6.0]).by_structure
    assert found[ALTERNATING].points == found[OVERLAP].points == _same(236)


def test_futures_and_needs_are_pooled():
    # needs of 10, 12.5, 15, 17.5 and 20 cold days, two futures: one cold, one that
    # stays mild after day 11 and reaches only the lowest
    found = _outlook(
        [2.0] * 10, [2.0] * 20, [*[2.0] * 2, *[6.0] * 18], need=_need(10, 20)
    )
    assert found.needs == (10, 12.5, 15, 17.5, 20)
    assert found.members == 2
    # days at the end of which they are met: 9, 12, 14, 17, 19 and 9, then never; the
    # first, the fifth and the ninth of them in order
    assert found.rest_complete == DatePoints(_on(9), _on(17), None, 0.6)


def test_a_share_that_is_not_reached_has_no_date():
    found = _outlook([2.0] * 10, [2.0] * 5)
    never = DatePoints(None, None, None, 0.0)
    assert found.rest_complete == never
    assert {each.points for each in found.by_structure.values()} == {never}
    assert (found.warning.earliest, found.warning.latest) == (None, None)
    assert found.until == _on(14)


def test_the_band_is_at_least_a_week_either_way_in_the_first_year():
    daily = [*[2.0] * 10, *[8.0] * 6, *[2.0] * 30, *[6.0] * 10]
    found = _outlook(daily[:20], daily[20:], curve=STEEP)
    assert (found.warning.earliest, found.warning.latest) == (_on(16), _on(30))
    later = _outlook(daily[:20], daily[20:], curve=STEEP, margin_days=3)
    assert (later.warning.earliest, later.warning.latest) == (_on(20), _on(26))


def test_the_band_is_wider_where_the_futures_are():
    cold = [2.0] * 60
    futures = [[*[2.0] * n, *[20.0] * (60 - n)] for n in (0, 15, 30)]
    band = _outlook(cold, *futures).warning
    assert (band.earliest, band.latest) == (band.points.p10, band.points.p90)
    assert band.latest - band.earliest > timedelta(days=14)


def test_where_the_middle_lies_beyond_the_horizon_the_early_end_is_kept_early():
    cold = [2.0] * 60
    late, early = [2.0] * 40, [*[2.0] * 20, *[20.0] * 20]
    band = _outlook(cold, early, late, late).warning
    assert band.points.p50 is band.latest is None
    assert band.earliest <= band.points.p10
    assert band.earliest <= _on(99 - 7)


def test_the_alternating_form_breaks_on_the_day_on_which_w_reaches_one():
    daily = [*[2.0] * 60, *[12.0] * 60]
    days = local_days(START, _on(len(daily)), UTC)
    w = wake_outlook(
        Hourly.measured(days.first_hour, np.repeat(daily, 24)), days
    ).w_by_day
    assert _outlook(daily[:70], daily[70:]).warning.points == _same(int(w.argmax()))


@pytest.mark.parametrize("unit", list(ChillUnit))
def test_every_unit_of_chill_completes_rest(unit: ChillUnit):
    # the portions of 6 °C are 0.81 a day, the hours and Utah units 24, cold days none
    low = {ChillUnit.PORTIONS: 10, ChillUnit.COLD_DAYS: 10}.get(unit, 240)
    c = 4.0 if unit is ChillUnit.COLD_DAYS else 6.0
    found = _outlook([c] * 5, [c] * 25, need=_need(low, low, unit))
    lowest, highest = (12, 15) if unit is ChillUnit.PORTIONS else (9, 9)
    assert _on(lowest) <= found.rest_complete.p50 <= _on(highest)


def test_hours_missing_so_far_are_counted_and_add_nothing():
    whole = _outlook([2.0] * 30, [2.0] * 30)
    assert (whole.hours, whole.missing_hours, whole.reliable) == (720, 0, True)
    holed = _outlook([*[2.0] * 28, np.nan, np.nan], [2.0] * 30)
    assert (holed.hours, holed.missing_hours, holed.reliable) == (720, 48, True)
    assert holed.rest_complete == _same(41)
    assert _outlook([*[2.0] * 26, *[np.nan] * 4], [2.0] * 30).reliable is False


def test_before_the_chill_begins_only_the_futures_speak():
    days = local_days(START, _on(50), UTC)
    summer = Hourly.measured(days.first_hour - 48, np.full(24, 15.0))
    futures = np.concatenate([np.full((24, 2), 15.0), np.full((1200, 2), 2.0)])
    found = budbreak_outlook(summer, futures, days, requirement=_need(40, 40))
    assert found.rest_complete == _same(39)
    assert (found.hours, found.reliable) == (0, False)


def test_days_that_have_passed_need_no_future():
    days = local_days(START, _on(45), UTC)
    past = Hourly.measured(days.first_hour, np.full(60 * 24, 2.0))
    nothing = np.empty((0, 1))
    found = budbreak_outlook(past, nothing, days, requirement=_need(40, 40))
    assert found.rest_complete == _same(39)
    assert found.hours == 45 * 24


@pytest.mark.parametrize(
    ("futures", "count", "sentence"),
    [
        (np.empty((720, 0)), 60, "one member at least"),
        (np.full(720, 2.0), 60, "one member at least"),
        (np.full((719, 2), 2.0), 60, "reach beyond the futures"),
        (np.full((720, 2), np.nan), 60, "lacks hours"),
        (np.full((720, 2), 2.0), 0, "No days to look at"),
    ],
)
def test_futures_that_cannot_be_used_are_refused(futures, count: int, sentence: str):
    days = local_days(START, _on(count), UTC)
    first_hour = local_days(START, START, UTC).first_hour
    past = Hourly.measured(first_hour, np.full(720, 2.0))
    with pytest.raises(ValueError, match=sentence):
        budbreak_outlook(past, futures, days, requirement=_need(40, 40))


def test_buds_seen_closed_are_not_said_to_have_opened_before():
    daily = [*[2.0] * 10, *[8.0] * 6, *[2.0] * 30, *[6.0] * 10]
    found = _outlook(daily[:35], daily[35:], curve=STEEP, seen_closed_on=_on(30))
    # by the model they broke on day 23; they are due, and may still take a week
    assert found.warning.points == _same(31)
    assert (found.warning.earliest, found.warning.latest) == (_on(31), _on(38))
    # what lies later stays, and so does the end of rest
    assert found.by_structure[SEQUENTIAL].points == _same(47)
    assert found.rest_complete == _same(45)


@pytest.mark.parametrize("seen", [-20, 22])
def test_buds_seen_closed_before_the_model_has_them_open_change_no_point(seen: int):
    daily = [*[2.0] * 10, *[8.0] * 6, *[2.0] * 30, *[6.0] * 10]
    found = _outlook(daily[:35], daily[35:], curve=STEEP, seen_closed_on=_on(seen))
    assert found.warning.points == _same(23)
    assert found.warning.earliest == max(_on(16), _on(seen + 1))


def test_buds_seen_closed_on_the_last_of_the_days_leave_no_date():
    found = _outlook([2.0] * 60, [18.0] * 60, seen_closed_on=_on(119))
    assert found.warning.points == DatePoints(None, None, None, 0.0)


FEWER = settings(max_examples=50)
TEMPERATURES = st.sampled_from([-5.0, 2.0, 4.0, 7.0, 12.0, 18.0])
FUTURES = st.integers(1, 4).flatmap(
    lambda n: st.lists(
        st.lists(TEMPERATURES, min_size=40, max_size=40), min_size=n, max_size=n
    )
)
PASTS = st.lists(TEMPERATURES, min_size=1, max_size=60)


def _late(day: date | None) -> date:
    return day or date.max


def _dates(found: BudbreakOutlook) -> list[DatePoints]:
    return [found.rest_complete, *(each.points for each in found.by_structure.values())]


@FEWER
@given(PASTS, FUTURES)
def test_the_points_come_in_order_and_the_band_holds_them(past, futures):
    found = _outlook(past, *futures, need=_need(10, 30))
    for points in _dates(found):
        assert _late(points.p10) <= _late(points.p50) <= _late(points.p90)
        assert (points.p90 is not None) == (points.reached >= 0.9)
    for each in found.by_structure.values():
        assert _late(each.earliest) <= _late(each.points.p10)
        assert _late(each.points.p90) <= _late(each.latest)


@FEWER
@given(PASTS, FUTURES)
def test_the_sequential_form_never_comes_before_the_alternating_one(past, futures):
    found = _outlook(past, *futures, need=_need(10, 30))
    points = [found.by_structure[name].points for name in (*Structure,)]
    for share in ("p10", "p50", "p90"):
        alternating, sequential, overlap = (_late(getattr(p, share)) for p in points)
        assert alternating <= overlap <= sequential


@FEWER
@given(PASTS, FUTURES, st.integers(2, 4))
def test_the_same_futures_given_again_change_no_point(past, futures, times):
    once = _outlook(past, *futures, need=_need(10, 30))
    again = _outlook(past, *futures * times, need=_need(10, 30))
    assert again.members == times * once.members
    for one, other in zip(_dates(once), _dates(again), strict=True):
        assert replace(other, reached=one.reached) == one
        assert other.reached == pytest.approx(one.reached)


@FEWER
@given(FUTURES, st.floats(0, 10))
def test_once_chill_is_done_a_warmer_future_never_breaks_buds_later(futures, warmer_k):
    # above 5 °C no day is a chill day, so that thermal time alone decides
    mild = [[6.0 + abs(c) for c in future] for future in futures]
    warm = [[c + warmer_k for c in future] for future in mild]
    cold = [2.0] * 60
    for before, after in zip(
        _dates(_outlook(cold, *mild)), _dates(_outlook(cold, *warm)), strict=True
    ):
        for share in ("p10", "p50", "p90"):
            assert _late(getattr(after, share)) <= _late(getattr(before, share))


@FEWER
@given(PASTS, FUTURES)
def test_a_tree_that_needs_more_chill_is_never_ready_sooner(past, futures):
    less = _outlook(past, *futures, need=_need(10, 20))
    more = _outlook(past, *futures, need=_need(15, 30))
    for one, other in zip(_dates(less), _dates(more), strict=True):
        assert _late(one.p50) <= _late(other.p50)
    assert less.warning == more.warning


def test_each_structure_says_what_it_is_and_only_one_warns():
    words = [structure.words for structure in Structure]
    assert len(set(words)) == 3
    assert [("for comparison" in each) for each in words] == [False, True, True]


def test_portions_are_those_of_the_chill_outlook():
    # run piece by piece and only as far as needed, they complete rest on the same day
    rng = np.random.default_rng(3)
    days = local_days(START, _on(120), UTC)
    c = rng.normal(5, 5, 120 * 24)
    by_day = accumulated(
        Hourly.measured(days.first_hour, c), days, ChillUnit.PORTIONS
    ).low
    need = _need(20, 40, ChillUnit.PORTIONS)
    past = Hourly.measured(days.first_hour, c[:480])
    found = budbreak_outlook(past, c[480:, np.newaxis], days, requirement=need)
    reached = [int(np.argmax(by_day >= portions)) for portions in found.needs]
    assert found.rest_complete == DatePoints(
        _on(reached[0]), _on(reached[2]), _on(reached[4]), 1.0
    )
