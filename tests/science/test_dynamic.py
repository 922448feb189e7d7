"""The Dynamic model against an integration of its equations, and its properties."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from wintering.science.dynamic import portions

# stated here again on purpose: constants of Erez & Fishman 1998, from memory
E0, E1, A0, A1, SLOPE, HALF = 4153.5, 12888.8, 1.395e5, 2.567e18, 1.6, 277.0


def _winter(seed: int, hours: int = 3600) -> np.ndarray:
    """A hundred and fifty days of weather: season, nights, spells and noise."""
    rng = np.random.default_rng(seed)
    h = np.arange(hours)
    season = rng.uniform(3, 9) - rng.uniform(2, 12) * np.sin(np.pi * h / hours)
    night = rng.uniform(1, 7) * np.sin(2 * np.pi * (h - 9) / 24)
    spells = np.repeat(rng.normal(0, 4, hours // 96 + 1), 96)[:hours]
    return season + night + spells + rng.normal(0, 0.5, hours)


def _integrated(c: np.ndarray) -> np.ndarray:
    """dx/dt = k0 - k1 x by an adaptive solver; x is tested at the end of each hour."""
    x, total = np.zeros(c.shape[1]), np.zeros(c.shape[1])
    for kelvin in c + 273.0:
        k0, k1 = A0 * np.exp(-E0 / kelvin), A1 * np.exp(-E1 / kelvin)
        hour = solve_ivp(
            lambda _, x, k0=k0, k1=k1: k0 - k1 * x,
            (0.0, 1.0),
            x,
            method="DOP853",
            rtol=1e-11,
            atol=1e-13,
        )
        x = hour.y[:, -1]
        share = 1 / (1 + np.exp(-SLOPE * HALF * (kelvin - HALF) / kelvin))
        fixed = np.where(x >= 1, share * x, 0)
        x, total = x - fixed, total + fixed
    return total


def test_it_is_what_integrating_the_equations_gives():
    winters = np.stack([_winter(seed) for seed in range(1, 8)], axis=1)
    found, integrated = portions(winters).total[-1], _integrated(winters)
    assert integrated.min() > 10
    np.testing.assert_allclose(found, integrated, rtol=1e-6)


def _by_hand(c: np.ndarray) -> list[float]:
    """The closed form of one hour at a time, in plain Python."""
    x, total, running = 0.0, 0.0, []
    for value in c.tolist():
        if value == value:
            kelvin = value + 273.0
            k0, k1 = A0 * np.exp(-E0 / kelvin), A1 * np.exp(-E1 / kelvin)
            x = k0 / k1 - (k0 / k1 - x) * np.exp(-k1)
            if x >= 1:
                share = 1 / (1 + np.exp(-SLOPE * HALF * (kelvin - HALF) / kelvin))
                total, x = total + share * x, x - share * x
        running.append(total)
    return running


SERIES = st.lists(
    st.one_of(st.integers(-600, 700).map(lambda tenths: tenths / 10), st.just(np.nan)),
    min_size=1,
    max_size=120,
).map(np.array)

COLD = st.lists(st.sampled_from([-8.0, 0.0, 4.0, 6.0, 12.0, 24.0, np.nan]), max_size=9)


def _spells(values: list[float]) -> np.ndarray:
    return np.repeat(np.array(values, dtype=float), 31)


@given(SERIES)
def test_it_is_the_closed_form_hour_by_hour(c):
    np.testing.assert_allclose(portions(c).total, _by_hand(c), rtol=1e-12, atol=1e-14)


@given(COLD)
def test_portions_never_fall(values):
    total = portions(_spells(values)).total
    assert np.all(np.diff(total, prepend=0.0) >= 0)


@given(COLD, st.integers(0, 300), st.booleans())
def test_a_run_in_two_parts_is_the_run_in_one_to_the_last_bit(values, cut, hold):
    c = _spells(values)
    whole = portions(c, hold_in_frost=hold)
    first = portions(c[:cut], hold_in_frost=hold)
    then = portions(c[cut:], first.state, hold_in_frost=hold)
    np.testing.assert_array_equal(
        np.concatenate([first.total, then.total]), whole.total
    )
    np.testing.assert_array_equal(then.released_after_frost, whole.released_after_frost)
    np.testing.assert_array_equal(then.state.x, whole.state.x)
    np.testing.assert_array_equal(then.state.since_frost_h, whole.state.since_frost_h)


@given(COLD, st.integers(1, 200))
def test_missing_hours_change_nothing_whenever_they_come(values, gap):
    c = _spells(values)
    holed = np.insert(c, c.size // 2, np.full(gap, np.nan))
    np.testing.assert_array_equal(portions(holed).state.x, portions(c).state.x)
    np.testing.assert_array_equal(portions(holed).state.total, portions(c).state.total)


def test_sensors_side_by_side_are_each_as_alone():
    winters = np.stack([_winter(seed, 960) for seed in range(6)], axis=1)
    together = portions(winters.reshape(960, 2, 3)).total
    assert together.shape == (960, 2, 3)
    for index in range(6):
        alone = portions(winters[:, index]).total
        np.testing.assert_allclose(
            together.reshape(960, 6)[:, index], alone, rtol=1e-14
        )


def test_no_hours_give_no_portions():
    found = portions(np.empty(0))
    assert found.total.size == 0
    assert found.state.total == 0
    assert portions(np.empty((0, 3))).total.shape == (0, 3)


def test_the_ends_of_validity_hold_and_a_step_beyond_is_refused():
    assert np.isfinite(portions([-60.0, 70.0]).total).all()
    for beyond in (-60.1, 70.1):
        with pytest.raises(ValueError, match="holds from -60 to 70 °C"):
            portions([5.0, beyond])


def test_a_state_for_other_sensors_or_another_variant_is_refused():
    state = portions(np.full((4, 2), 5.0)).state
    with pytest.raises(ValueError, match="The state is for"):
        portions(np.full(4, 5.0), state)
    with pytest.raises(ValueError, match="variant it was begun in"):
        portions(np.full((4, 2), 5.0), state, hold_in_frost=True)


# 240 h or 1000 h at -8 °C and then mild: the published model fixes at once what grew
# in the frost, 3.44 and 9.23 portions (computed: rows DM-S46, DM-S47 of the table)
@pytest.mark.parametrize(
    ("frost_h", "mild_h", "fixed"), [(240, 1, 3.444781), (1000, 24, 9.228769)]
)
def test_portions_that_come_out_of_frost_are_told_apart(frost_h, mild_h, fixed):
    c = np.repeat([-8.0, 5.0], [frost_h, mild_h])
    found = portions(c)
    assert found.total[-1] == pytest.approx(fixed, abs=5e-7)
    assert found.released_after_frost == found.total[-1]
    assert portions(c, hold_in_frost=True).total[-1] == 0


def test_the_conservative_variant_holds_below_two_degrees_of_frost_only():
    c = np.repeat([-2.0, 5.0], [240, 24])
    as_published = portions(c).total
    assert as_published[-1] > 2
    held = portions(c, hold_in_frost=True).total
    np.testing.assert_array_equal(held, as_published)
    assert portions(c - 1e-6, hold_in_frost=True).total[-1] < 1


def test_what_is_fixed_a_day_after_frost_is_ordinary_chill():
    mild = np.full(400, 6.0)
    assert portions(mild).released_after_frost == 0
    found = portions(np.concatenate([[-2.1], mild]))
    assert found.total[-1] > 10
    assert found.released_after_frost == 0
    at_the_limit = portions(np.concatenate([np.full(40, -2.0), mild]))
    assert at_the_limit.released_after_frost == 0


@pytest.mark.parametrize(("unknown_h", "counts"), [(23, True), (24, False)])
def test_what_comes_out_of_frost_is_told_apart_for_a_day(unknown_h, counts):
    c = [*[-8.0] * 240, *[np.nan] * unknown_h, 5.0]
    found = portions(c)
    assert found.total[-1] > 3
    assert (found.released_after_frost > 3) == counts
