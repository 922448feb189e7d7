from dataclasses import replace
from datetime import date, timedelta

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from wintering.science.acclimation import (
    ROOT_UNHARDENED_C,
    TOP_UNHARDENED_C,
    WEAK_MARGIN_K,
    Limit,
    SeasonDays,
    TreeState,
    season,
)
from wintering.science.evidence import Evidence
from wintering.science.hardening import psi, warmth

FIRST = date(2026, 9, 1)
TOP = Limit(-28.9, "zone 5a of the ground", Evidence.PUBLISHED)
ROOT = Limit(-9.4, "class RB", Evidence.COMMON_PRACTICE)
TREE = TreeState(top=TOP, root=ROOT, roots_worked=False)
DAYS = 200
RESTED = np.clip((np.arange(DAYS) - 60) / 90, 0.0, 1.5)

means = arrays(np.float64, DAYS, elements=st.floats(-25.0, 25.0))
shares = arrays(np.float64, DAYS, elements=st.floats(0.0, 1.5)).map(np.sort)
limits = st.floats(-45.0, 8.0).map(lambda c: Limit(c, "some", Evidence.PUBLISHED))
trees = st.builds(
    TreeState,
    top=limits,
    root=limits,
    roots_worked=st.sampled_from([True, False, None]),
    weak=st.booleans(),
    bud_stage=st.sampled_from([None, 0, 3, 8, 12, 93]),
)


def met(air_c, chill=RESTED, **others):
    return SeasonDays(FIRST, air_c, least_chill=chill, most_chill=chill, **others)


def autumn_then(frame_c=1.0):
    """An autumn that falls from 15 °C to what the frame holds from mid November on."""
    falling = np.linspace(15.0, frame_c, 75)
    return np.concatenate([falling, np.full(DAYS - 75, frame_c)])


@given(means, shares, trees)
def test_every_day_lies_between_unhardened_and_the_midwinter_limit(c, chill, tree):
    found = season(met(c, chill), tree)
    for part, unhardened_c, limit in (
        (found.top, TOP_UNHARDENED_C, tree.top.midwinter_c),
        (found.root, ROOT_UNHARDENED_C, tree.root.midwinter_c),
    ):
        assert (part.hardy_c >= min(limit, unhardened_c[1]) - 1e-9).all()
        assert (part.hardy_c >= limit - 1e-9).all()
        margin = WEAK_MARGIN_K if tree.weak else 0.0
        mildest = max(unhardened_c[0], limit)
        assert (part.mild_c <= mildest + margin + 1e-9).all()
        assert (part.mild_c >= part.hardy_c - 1e-9).all()


@given(means, shares, st.integers(0, DAYS - 1), st.floats(0.1, 15.0), trees)
def test_a_warmer_spell_never_gives_a_hardier_tree(c, chill, day, warmer_k, tree):
    warmed = c.copy()
    warmed[day : day + 5] += warmer_k
    before, after = season(met(c, chill), tree), season(met(warmed, chill), tree)
    for cool, warm in ((before.top, after.top), (before.root, after.root)):
        assert (warm.mild_c >= cool.mild_c - 1e-9).all()
        assert (warm.hardy_c >= cool.hardy_c - 1e-9).all()


@given(means, shares, trees)
def test_more_chill_never_makes_the_mild_end_hardier(c, chill, tree):
    less, more = season(met(c, chill / 2), tree), season(met(c, chill), tree)
    assert (more.top.mild_c >= less.top.mild_c - 1e-9).all()


@given(means, shares, trees)
def test_the_past_does_not_change_with_the_days_that_follow(c, chill, tree):
    short = SeasonDays(FIRST, c[:90], least_chill=chill[:90], most_chill=chill[:90])
    seen = replace(tree, bud_stage=None)
    part, whole = season(short, seen), season(met(c, chill), seen)
    assert part.top.mild_c == pytest.approx(whole.top.mild_c[:90])
    assert part.root.hardy_c == pytest.approx(whole.root.hardy_c[:90])


def test_an_ordinary_winter_hardens_from_september_to_january():
    found = season(met(autumn_then(1.0)), TREE)
    assert found.top.first == FIRST
    in_september, in_january = found.top.mild_c[10], found.top.mild_c[135]
    assert in_september == pytest.approx(TOP_UNHARDENED_C[0], abs=0.5)
    assert in_january < -17.0
    assert found.top.hardy_c[135] == pytest.approx(TOP.midwinter_c, abs=1.0)
    assert found.root.hardy_c[135] == pytest.approx(ROOT.midwinter_c, abs=0.5)


def test_the_same_warm_week_costs_nothing_in_december_and_much_in_february():
    calm = autumn_then(1.0)
    lost = {}
    for month, day in (("December", 92), ("February", 165)):
        warm = calm.copy()
        warm[day : day + 7] = 14.0
        chill = np.where(np.arange(DAYS) < 120, 0.3, 1.2)
        quiet, spoilt = season(met(calm, chill), TREE), season(met(warm, chill), TREE)
        lost[month] = spoilt.top.mild_c[day + 6] - quiet.top.mild_c[day + 6]
    # in December only the hardening of that week is missed
    assert lost["December"] < 2.0
    assert lost["February"] > 10.0


def test_hardiness_comes_back_in_the_cold_only_while_rest_holds():
    c = np.full(DAYS, 1.0)
    c[100:105] = 15.0
    before = np.arange(DAYS) < 100
    early, late = (
        season(met(c, np.where(before, 0.3, share)), TREE).top.mild_c
        for share in (0.7, 1.2)
    )
    assert early[104] > early[99] + 2.0
    assert early[112] < early[104] - 2.0
    assert late[104] > late[99] + 8.0
    # all that comes back is the last of autumn's hardening
    assert late[112] == pytest.approx(late[104], abs=0.1)


def test_hardening_reaches_no_further_than_its_warm_autumn_allows():
    cold, mild = (season(met(autumn_then(frame)), TREE) for frame in (0.0, 7.0))
    assert mild.top.mild_c[100] > cold.top.mild_c[100] + 3.0
    # short days alone bring the hardy end half of the way
    warm = season(met(np.full(DAYS, 18.0), np.zeros(DAYS)), TREE)
    half = TOP_UNHARDENED_C[1] + 0.5 * (TOP.midwinter_c - TOP_UNHARDENED_C[1])
    assert warm.top.hardy_c[-1] == pytest.approx(half)
    assert warm.top.mild_c[-1] == TOP_UNHARDENED_C[0]
    # and the roots nowhere
    assert warm.root.hardy_c[-1] == ROOT_UNHARDENED_C[1]


def test_roots_go_by_their_own_temperature_where_it_is_known():
    air_c = autumn_then(-6.0)
    root_c = np.maximum(air_c, 1.0)
    by_air, by_root = season(met(air_c), TREE), season(met(air_c, root_c=root_c), TREE)
    assert (by_root.root.mild_c >= by_air.root.mild_c).all()
    assert by_root.root.mild_c[90] > by_air.root.mild_c[90]
    assert by_root.top.mild_c == pytest.approx(by_air.top.mild_c)


def test_roots_grow_milder_from_february_on_however_cold_they_lie():
    hardy = replace(TREE, root=Limit(-25.0, "class RA", Evidence.PUBLISHED))
    found = season(met(np.full(DAYS, -4.0), np.zeros(DAYS)), hardy)
    first_of_february = (date(2027, 2, 1) - FIRST).days
    for curve in (found.root.mild_c, found.root.hardy_c):
        assert np.diff(curve[:first_of_february]).max() <= 0
        assert np.diff(curve[first_of_february + 20 :]).min() > 0
    assert "late winter itself" in found.root.today.because


@pytest.mark.parametrize(
    ("worked", "words"), [(True, "worked on within 12"), (None, "not known")]
)
def test_young_roots_do_not_harden(worked, words):
    found = season(met(autumn_then(0.0)), replace(TREE, roots_worked=worked))
    assert (found.root.hardy_c == -5.0).all()
    assert (found.root.mild_c == -3.0).all()
    assert words in found.root.today.because
    assert "immature roots" in found.root.today.source


def test_a_weak_tree_gets_a_margin_and_the_words_for_it():
    strong, weak = (
        season(met(autumn_then(0.0)), replace(TREE, weak=weak))
        for weak in (False, True)
    )
    assert weak.top.today.mild_c == pytest.approx(
        strong.top.today.mild_c + WEAK_MARGIN_K
    )
    assert weak.top.today.hardy_c == strong.top.today.hardy_c
    assert "weak" in weak.root.today.because
    assert "a margin is common practice, its 3 K are own choice" in (
        weak.top.today.because
    )
    assert "weak" not in strong.root.today.because


@pytest.mark.parametrize(
    ("bud_stage", "mild_c", "hardy_c"),
    [(0, None, None), (3, -7.8, None), (8, -2.0, -8.3), (13, -2.0, -8.3)],
)
def test_buds_that_move_bear_what_their_stage_bears(bud_stage, mild_c, hardy_c):
    still = season(met(autumn_then(0.0)), TREE)
    moving = season(met(autumn_then(0.0)), replace(TREE, bud_stage=bud_stage))
    assert moving.top.today.mild_c == (mild_c or still.top.today.mild_c)
    assert moving.top.today.hardy_c == (hardy_c or still.top.today.hardy_c)
    assert (moving.top.mild_c[:-1] == still.top.mild_c[:-1]).all()
    assert ("BBCH" in moving.top.today.because) == (mild_c is not None)


def test_buds_count_from_the_day_on_which_they_were_seen():
    green = replace(TREE, bud_stage=8)
    still, undated = (season(met(autumn_then(0.0)), tree).top for tree in (TREE, green))
    for seen_on, index in (
        (FIRST + timedelta(days=150), 150),
        (FIRST - timedelta(days=9), 0),
        (FIRST + timedelta(days=DAYS), DAYS - 1),
    ):
        dated = season(met(autumn_then(0.0)), replace(green, buds_seen_on=seen_on)).top
        assert (dated.mild_c[:index] == still.mild_c[:index]).all()
        assert (dated.hardy_c[:index] == still.hardy_c[:index]).all()
        assert (dated.mild_c[index:] == -2.0).all()
        assert dated.hardy_c[index:].min() >= -8.3
        assert dated.today == undated.today


def test_leaves_that_turn_in_autumn_are_no_green_growth():
    still, turning = (
        season(met(autumn_then(0.0)), replace(TREE, bud_stage=stage))
        for stage in (None, 93)
    )
    assert turning.top.today.mild_c == still.top.today.mild_c


def test_days_without_a_temperature_widen_the_range_and_are_told():
    c = autumn_then(3.0)
    gap = c.copy()
    gap[40:70] = np.nan
    whole, holed = season(met(c), TREE), season(met(gap), TREE)
    assert (holed.top.mild_c >= whole.top.mild_c - 0.5).all()
    assert holed.top.mild_c[69] > whole.top.mild_c[69]
    assert holed.top.hardy_c[69] < whole.top.hardy_c[69]
    assert f"30 of {DAYS} days" in holed.top.today.because
    assert "temperature" not in whole.top.today.because


def test_days_missing_in_the_root_zone_are_told_of_the_roots():
    root_c = autumn_then(2.0)
    root_c[50:53] = np.nan
    found = season(met(autumn_then(2.0), root_c=root_c), TREE)
    assert f"3 of {DAYS} days" in found.root.today.because
    assert "no temperature" not in found.top.today.because


def test_a_record_that_begins_late_has_a_wider_range_than_a_whole_one():
    c = autumn_then(1.0)
    late = SeasonDays(
        FIRST + timedelta(days=100),
        c[100:],
        least_chill=RESTED[100:],
        most_chill=RESTED[100:],
    )
    whole, found = season(met(c), TREE), season(late, TREE)
    assert found.top.first == FIRST
    assert found.top.mild_c.size == DAYS
    assert found.top.today.mild_c > whole.top.today.mild_c
    assert f"100 of {DAYS} days" in found.top.today.because


def test_days_before_september_do_not_count():
    c = np.append(np.full(10, 25.0), autumn_then(1.0))
    early = SeasonDays(date(2026, 8, 22), c)
    assert season(early, TREE).top.mild_c == pytest.approx(
        season(SeasonDays(FIRST, autumn_then(1.0)), TREE).top.mild_c
    )


def test_unknown_chill_is_as_bad_as_it_can_be_from_december_on():
    c = autumn_then(8.0)
    unknown = season(SeasonDays(FIRST, c), TREE)
    bounds = [season(met(c, np.full(DAYS, share)), TREE).top for share in (0.0, 1.5)]
    assert unknown.top.hardy_c == pytest.approx(bounds[0].hardy_c)
    assert unknown.top.mild_c[90] < unknown.top.mild_c[120]
    assert "rest is over is not known" in unknown.top.today.because
    partly = RESTED.copy()
    partly[150:] = np.nan
    assert "not known" in season(met(c, partly), TREE).top.today.because


def test_a_tree_that_never_hardens_keeps_its_limit():
    tender = Limit(5.0, "fig of the tropics", Evidence.PUBLISHED)
    found = season(met(autumn_then(6.0)), replace(TREE, top=tender, root=tender))
    assert (found.top.mild_c == 5.0).all()
    assert (found.root.hardy_c == 5.0).all()
    assert "does not harden" in found.top.today.because


def test_what_is_not_known_stays_unknown():
    assert season(SeasonDays(FIRST, np.full(30, np.nan)), TREE) is None
    assert season(SeasonDays(FIRST, np.empty(0)), TREE) is None
    only_august = SeasonDays(date(2026, 8, 3), np.full(9, 20.0))
    assert season(only_august, TREE) is None
    nothing = season(met(autumn_then(1.0)), TreeState(None, None, None))
    assert nothing.top is None
    assert nothing.root is None


@pytest.mark.parametrize("frame_c", [-2.0, 1.0, 7.0])
def test_every_tolerance_says_why_and_from_which_limit(frame_c):
    found = season(met(autumn_then(frame_c)), TREE)
    for name, part, limit in (
        ("The top", found.top, f"{TREE.top.midwinter_c:.1f} °C (published)"),
        ("The roots", found.root, f"{TREE.root.midwinter_c:.1f} °C (common practice)"),
    ):
        today = part.today
        said = (
            f"{name} should bear {today.mild_c:.1f} °C now, at best "
            f"{today.hardy_c:.1f} °C; the midwinter limit is {limit}."
        )
        assert today.because.startswith(said.replace("-", "−"))
        assert today.evidence is Evidence.OWN_CHOICE
    assert found.top.today.source.startswith(TOP.source)


def test_no_difference_reads_like_a_temperature():
    found = season(met(autumn_then(1.0)), replace(TREE, weak=True))
    assert "15 degrees on the Celsius scale in one day" in found.top.today.source
    for part in (found.top, found.root):
        assert "°C" not in part.today.source.removeprefix(TOP.source)
        assert part.today.because.count("°C") == 3


def test_series_of_unequal_length_are_refused():
    with pytest.raises(ValueError, match="same days"):
        SeasonDays(FIRST, np.zeros(5), root_c=np.zeros(4))


def test_more_than_one_winter_is_refused():
    with pytest.raises(ValueError, match="one winter"):
        season(SeasonDays(FIRST, np.zeros(400)), TREE)


def test_an_impossible_bud_stage_is_refused():
    with pytest.raises(ValueError, match="BBCH"):
        season(met(autumn_then(1.0)), replace(TREE, bud_stage=120))


def test_the_rates_run_from_nothing_to_all():
    chill = np.linspace(0.0, 3.0, 200)
    assert psi(chill)[0] == 0.0
    assert np.diff(psi(chill)).min() >= 0
    assert psi(np.array([0.75, 1.0, 3.0])) == pytest.approx([0.5, 0.92, 1.0], abs=0.01)
    warm = warmth(np.linspace(-20.0, 30.0, 200))
    assert np.diff(warm).min() >= 0
    assert warmth(np.array([-5.0, 2.0])) == pytest.approx([0.0, 0.0])
    assert warmth(np.array([15.0, 20.0])) == pytest.approx([0.95, 1.0], abs=0.01)
