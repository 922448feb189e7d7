"""A winter resumed day by day against the same winter counted in one."""

import json
from dataclasses import asdict

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from wintering.science import chill
from wintering.science.accumulating import (
    ARRAYS,
    LAYOUT,
    Accumulated,
    advance,
    as_they_stand,
    begun,
    from_plain,
    to_plain,
)
from wintering.science.dynamic import portions
from wintering.science.series import Hourly, bridge
from wintering.science.units import TemperatureUnit

NAN = np.nan

SPELL = st.tuples(
    st.one_of(st.integers(-20_000, 35_000).map(lambda t: t / 1000), st.just(NAN)),
    st.integers(1, 60),
)
SPELLS = st.lists(SPELL, min_size=1, max_size=9)
CUTS = st.lists(st.integers(0, 500), max_size=6).map(sorted)


def _hours(spells) -> np.ndarray:
    """Spells of one temperature with a daily wave, and of missing hours."""
    c = np.concatenate([np.full(hours, value) for value, hours in spells])
    return (c + 2.0 * np.sin(np.arange(c.size) / 4)).round(6)


def _in_batches(c: np.ndarray, cuts: list[int]) -> Accumulated:
    state = begun(c.shape[1:])
    for part in np.split(c, cuts):
        state = advance(state, part)
    return state


def _assert_same_bits(found: Accumulated, whole: Accumulated) -> None:
    assert found.seen_h == whole.seen_h
    for name in ARRAYS:
        at, expected = getattr(found, name), getattr(whole, name)
        np.testing.assert_array_equal(at, expected, err_msg=name, strict=True)


def _totals(state: Accumulated) -> dict[str, float]:
    """The names that the totals of a whole series have."""
    return {
        "hours": state.known_h,
        "bridged_hours": state.bridged_h,
        "gap_hours": state.missing_h,
        **{
            name: getattr(state, name)
            for name in asdict(NOTHING)
            if "hours" not in name
        },
        "chill_hours_0_7": state.chill_hours_0_7,
        "chill_hours_below_7": state.chill_hours_below_7,
        "chill_hours_0_7_high": state.chill_hours_0_7_high,
    }


NOTHING = chill.totals(Hourly.measured(0, []))


@given(SPELLS, CUTS)
def test_totals_never_depend_on_how_a_log_is_cut_into_batches(spells, cuts):
    c = _hours(spells)
    _assert_same_bits(_in_batches(c, cuts), advance(begun(), c))


@settings(max_examples=25)
@given(SPELLS)
def test_hour_by_hour_is_the_whole_to_the_last_bit(spells):
    c = _hours(spells)
    _assert_same_bits(_in_batches(c, list(range(1, c.size))), advance(begun(), c))


@given(SPELLS, CUTS)
def test_at_every_cut_it_is_what_the_hours_so_far_give(spells, cuts):
    c = _hours(spells)
    for cut in cuts:
        found = _totals(_in_batches(c[:cut], cuts))
        whole = asdict(chill.totals(bridge(Hourly.measured(0, c[:cut]))))
        assert found.keys() == whole.keys()
        for name, total in whole.items():
            assert found[name] == pytest.approx(total, abs=1e-6), name


@given(SPELLS, CUTS)
def test_the_portions_are_those_of_the_model_alone_and_can_go_on(spells, cuts):
    c = _hours(spells)
    state = _in_batches(c, cuts)
    alone = portions(bridge(Hourly.measured(0, c)).c).state
    for name in ("x", "total", "after_frost", "since_frost_h"):
        found = getattr(state.portion_state, name)
        np.testing.assert_array_equal(found, getattr(alone, name), err_msg=name)


@settings(max_examples=50)
@given(st.lists(SPELLS, min_size=4, max_size=4), CUTS)
def test_sensors_side_by_side_are_each_as_alone(several, cuts):
    c = [_hours(spells) for spells in several]
    hours = max(series.size for series in c)
    rows = np.stack([np.resize(series, hours) for series in c], axis=1)
    together = _in_batches(rows.reshape(hours, 2, 2), cuts)
    for index in range(4):
        alone = advance(begun(), rows[:, index])
        assert together.seen_h == alone.seen_h
        for name in ARRAYS:
            np.testing.assert_allclose(
                getattr(together, name).ravel()[index],
                getattr(alone, name),
                rtol=1e-12,
                err_msg=name,
            )


@given(SPELLS, CUTS)
def test_nothing_that_is_counted_up_ever_falls(spells, cuts):
    c = _hours(spells)
    state = begun()
    for part in np.split(c, cuts):
        after = advance(state, part)
        for name in ("portions", "after_frost", "known_h", "chill_hours_below_7"):
            assert getattr(after, name) >= getattr(state, name)
        for name in ("utah_positive", "gdh_linear", "gdh_curvilinear", "bridged_h"):
            assert getattr(after, name) >= getattr(state, name)
        assert after.portions_high >= after.portions >= after.after_frost
        state = after


@given(SPELLS, st.sampled_from(TemperatureUnit))
def test_the_unit_of_a_log_changes_nothing(spells, unit):
    c = _hours(spells)
    found = advance(begun(), unit.to_c(unit.from_c(c)))
    whole = advance(begun(), c)
    for name in ("known_h", "chill_hours_0_7", "chill_hours_below_7", "utah"):
        assert getattr(found, name) == getattr(whole, name), name
    assert found.portions == pytest.approx(whole.portions, abs=1e-9)
    assert found.gdh_linear == pytest.approx(whole.gdh_linear, abs=1e-9)
    assert found.gdh_curvilinear == pytest.approx(whole.gdh_curvilinear, abs=1e-9)


def test_open_hours_are_missing_until_their_gap_is_closed():
    cold = advance(begun(), np.full(48, 5.0))
    waiting = advance(cold, [NAN, NAN, NAN])
    assert (waiting.known_h, waiting.missing_h, waiting.bridged_h) == (48, 3, 0)
    assert waiting.chill_hours_0_7_high == 51
    closed = advance(waiting, [9.0])
    assert (closed.known_h, closed.missing_h, closed.bridged_h) == (52, 0, 3)
    # 6 and 7 °C are in the band, 8 and 9 °C are not
    assert closed.chill_hours_0_7 == 50
    assert closed.gdh_linear == 48 * 0.5 + 1.5 + 2.5 + 3.5 + 4.5
    too_long = advance(advance(waiting, [NAN]), [9.0])
    assert (too_long.known_h, too_long.missing_h, too_long.bridged_h) == (49, 4, 0)


def test_many_sensors_wait_each_for_their_own_hour():
    first = np.array([[5.0, 5.0, NAN], [NAN, 5.0, NAN], [NAN, NAN, NAN]])
    state = advance(begun((3,)), first)
    assert state.open_h.tolist() == [2, 1, 0]
    state = advance(state, [[8.0, NAN, 5.0], [5.0, 8.0, NAN]])
    assert state.bridged_h.tolist() == [2, 2, 0]
    assert state.missing_h.tolist() == [0, 0, 4]
    assert state.open_h.tolist() == [0, 0, 1]
    # 0.5 + 1.5 + 2.5 + 3.5 + 0.5, and 0.5 + 0.5 + 1.5 + 2.5 + 3.5
    assert state.gdh_linear.tolist() == [8.5, 8.5, 0.5]


def test_a_series_as_it_stands_is_not_bridged():
    found = as_they_stand([5.0, NAN, 5.0])
    assert (found.known_h, found.missing_h, found.bridged_h) == (2, 1, 0)


def test_no_hours_change_nothing():
    state = advance(begun((2,)), np.full((30, 2), 5.0))
    _assert_same_bits(advance(state, np.empty((0, 2))), state)
    assert advance(begun((0,)), np.empty((5, 0))).seen_h == 5


def test_a_state_is_its_own_whatever_becomes_of_the_hours_given():
    c = np.full((30, 2), 5.0)
    state = advance(begun((2,)), c)
    saved = to_plain(state)
    c[:] = 20.0
    advance(state, c)
    assert to_plain(state) == saved


def test_hours_of_other_sensors_or_beyond_the_model_are_refused():
    state = begun((2,))
    with pytest.raises(ValueError, match=r"The state is for \(2,\), the hours for"):
        advance(state, [5.0, 5.0])
    with pytest.raises(ValueError, match="holds from -60 to 70 °C"):
        advance(state, [[5.0, 70.1]])
    assert advance(state, [[-60.0, 70.0]]).known_h.tolist() == [1, 1]


@given(SPELLS, CUTS)
def test_a_saved_winter_goes_on_as_if_it_had_never_been_put_away(spells, cuts):
    c = np.stack([_hours(spells), _hours(spells)[::-1]], axis=1)
    state = begun((2,))
    for part in np.split(c, cuts):
        text = json.dumps(to_plain(state), allow_nan=False)
        state = advance(from_plain(json.loads(text)), part)
    _assert_same_bits(state, advance(begun((2,)), c))


def test_a_winter_saved_by_another_version_is_refused():
    saved = to_plain(begun((2,)))
    with pytest.raises(ValueError, match=r"this version reads .*: count it anew"):
        from_plain({**saved, "layout": LAYOUT + 1})
    for broken in ({"x": [1.0]}, {"sensors": None}, {"utah": ["much", 1.0]}):
        with pytest.raises(ValueError, match=r"damaged .*: count it anew"):
            from_plain({**saved, **broken})
    del saved["open_h"]
    with pytest.raises(ValueError, match=r"damaged .'open_h'.: count it anew"):
        from_plain(saved)
