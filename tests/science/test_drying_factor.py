import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.special import ndtr

from wintering.science.drying_factor import (
    CHANGE_SD,
    CHECK,
    DRY,
    GRID,
    MOIST,
    NOT_DRY,
    REACH_SD,
    SOFTNESS,
    Belief,
    _below,
    aged,
    found,
    unsettled,
    weighed,
)

beliefs = st.builds(Belief, st.floats(-1.5, 1.5), st.floats(0.05, 1.0))
words = st.sampled_from([MOIST, CHECK, DRY, NOT_DRY])
PRIOR = Belief(0.0, 0.5)


@given(beliefs, st.floats(0.01, 2), st.floats(0.01, 3), st.floats(0.001, 0.1))
def test_a_weighing_never_widens_the_belief(belief, reckoned, lost, sd):
    assert weighed(belief, reckoned, lost, sd).sd <= belief.sd


def chance(belief, reckoned, what):
    """How likely the belief holds a word, by SciPy's normal distribution."""
    ln = belief.mean + np.linspace(-REACH_SD, REACH_SD, GRID) * belief.sd
    low, high = ((bound - np.exp(ln) * reckoned) / SOFTNESS for bound in what)
    weight = np.exp(-0.5 * ((ln - belief.mean) / belief.sd) ** 2)
    return np.average(ndtr(high) - ndtr(low), weights=weight)


@given(beliefs, st.floats(0, 5), words)
def test_a_word_that_was_likely_never_widens_the_belief(belief, reckoned, what):
    if chance(belief, reckoned, what) >= 0.2:
        assert found(belief, reckoned, what).sd <= belief.sd


def test_a_word_that_contradicts_leaves_more_doubt():
    firm = Belief(0.0, 0.1)
    # reckoned wet as on the first day, found dry: the belief moves, and is less firm
    after = found(firm, 0.5, DRY)
    assert chance(firm, 0.5, DRY) < 0.2
    assert after.mean > 0


@given(beliefs, words)
def test_one_slip_never_breaks_the_belief(belief, what):
    # at most 1.2 standard deviations however absurd the word
    for reckoned in (1e-6, 50.0):
        after = found(belief, reckoned, what)
        assert abs(after.mean - belief.mean) <= 1.2 * belief.sd
        assert 0.9 * belief.sd < after.sd < 1.6 * belief.sd


@given(beliefs, st.floats(0.05, 2))
def test_moist_never_hastens_and_dry_never_slows(belief, reckoned):
    for what in (MOIST, NOT_DRY):
        assert found(belief, reckoned, what).mean <= belief.mean + 1e-9
    assert found(belief, reckoned, DRY).mean >= belief.mean - 1e-9


def test_a_word_of_the_round_teaches_less_than_one_of_the_test():
    assert found(PRIOR, 0.5, MOIST).mean < found(PRIOR, 0.5, NOT_DRY).mean < 0


@given(beliefs)
def test_quantiles_are_in_order(belief):
    assert belief.factor(0.1) < belief.likely < belief.factor(0.9)
    assert belief.factor(0.5) == pytest.approx(belief.likely)


@pytest.mark.parametrize(("lost", "is_seen"), [(0.0424, False), (0.0426, True)])
def test_a_loss_within_the_scatter_of_the_scale_teaches_nothing(lost, is_seen):
    # one weighing scatters by 0.03/1.41 = 0.0212 kg
    assert (weighed(PRIOR, 0.1, lost, 0.03) != PRIOR) is is_seen


def test_a_gain_teaches_nothing():
    assert weighed(PRIOR, 0.1, -0.5, 0.03) == PRIOR
    assert weighed(PRIOR, 0.0, 0.5, 0.03) == PRIOR


def test_a_belief_widens_with_time_up_to_what_it_was_at_first():
    narrow = Belief(0.2, 0.2)
    assert aged(narrow, 7, 0.5).sd == pytest.approx(math.sqrt(0.05))
    assert aged(narrow, 1000, 0.5) == Belief(0.2, 0.5)
    assert aged(narrow, 0, 0.5) == narrow


def test_a_change_never_sharpens_a_belief():
    assert unsettled(Belief(0.1, 0.2)) == Belief(0.1, CHANGE_SD)
    assert unsettled(Belief(0.1, 0.6)) == Belief(0.1, 0.6)


def test_findings_lead_to_the_true_factor():
    # a tree that dries twice as fast as reckoned, its words without error
    belief = PRIOR
    for reckoned in np.tile([0.1, 0.2, 0.3, 0.45], 6):
        gone = 2.0 * reckoned
        what = MOIST if gone < 0.35 else DRY if gone > 0.65 else CHECK
        belief = found(belief, reckoned, what)
    assert belief.likely == pytest.approx(2.0, rel=0.2)
    assert belief.sd < 0.15


def test_the_normal_distribution_is_that_of_scipy():
    z = np.concatenate([np.linspace(-9, 9, 20001), [-np.inf, np.inf, 0.0]])
    np.testing.assert_allclose(_below(z), ndtr(z), rtol=0, atol=1.5e-7)
