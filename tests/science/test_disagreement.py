"""Why two records of one sensor differ, where that is clear."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from wintering.science.disagreement import Reason, disagreement
from wintering.science.units import c_to_f

HOUR = 3600
SECONDS = np.arange(48, dtype=np.int64) * HOUR
# A walk, so that no two shifts of it are alike.
STORED = np.round(np.cumsum(np.random.default_rng(4).normal(0, 1.2, 48)), 1)


def differ(new, stored=STORED, seconds=SECONDS, around=None):
    """Only instants at which they do differ are looked at, as conflicts are."""
    apart = np.flatnonzero(new != stored)
    around = around or (seconds, stored)
    return disagreement(
        seconds[apart],
        stored[apart],
        new[apart],
        around_s=around[0],
        around_c=around[1],
    )


@pytest.mark.parametrize(
    ("new", "stored", "reason"),
    [
        (np.round(c_to_f(STORED), 1), STORED, Reason.NEW_IS_F),
        (STORED, np.round(c_to_f(STORED), 1), Reason.STORED_IS_F),
        (np.round(STORED + 273.15, 1), STORED, Reason.NEW_IS_K),
        (STORED, np.round(STORED + 273.15, 1), Reason.STORED_IS_K),
        (STORED + 0.03, STORED, Reason.ROUNDING),
        (STORED + 1.3, STORED, Reason.OFFSET),
    ],
)
def test_a_plain_mistake_is_named(new, stored, reason):
    assert differ(new, stored).reason == reason


@pytest.mark.parametrize("hours", [-6, -1, 1, 2])
def test_a_clock_that_is_off_is_named_with_its_hours(hours):
    """What the new record writes at t was stored at t less the shift."""
    at = SECONDS[8:-8] // HOUR
    new, stored = STORED[at - hours], STORED[at]
    apart = np.flatnonzero(new != stored)
    told = disagreement(
        SECONDS[at][apart],
        stored[apart],
        new[apart],
        around_s=SECONDS,
        around_c=STORED,
    )
    assert (told.reason, told.shift_s) == (Reason.CLOCK, hours * HOUR)


def test_readings_that_differ_without_a_rule_have_no_reason():
    new = STORED + np.random.default_rng(5).normal(0, 4, 48)
    assert differ(new).reason is None


def test_a_few_readings_are_no_reason():
    new = np.where(np.arange(48) < 5, c_to_f(STORED), STORED)
    assert differ(new).reason is None


def test_a_steady_temperature_does_not_tell_a_unit_from_an_offset():
    stored = np.zeros(48)
    assert differ(stored + 32, stored).reason == Reason.OFFSET


def test_a_repeating_day_does_not_settle_how_far_a_clock_is_off():
    """With each day alike, a shift by an hour is as good as one by 25."""
    hours = np.arange(96)
    stored = np.round(5 * np.sin(hours * 2 * np.pi / 24), 1)
    new = np.roll(stored, 1)
    seconds = hours.astype(np.int64) * HOUR
    assert differ(new, stored, seconds).reason is None


def test_the_largest_difference_keeps_its_sign():
    new = STORED.copy()
    new[3], new[4] = STORED[3] - 7, STORED[4] + 2
    told = differ(new)
    assert told.largest_k == pytest.approx(-7)
    assert told.median_k == pytest.approx(-2.5)


@given(st.floats(-30, 30).filter(lambda k: abs(k) > 0.2), st.integers(0, 47))
def test_one_odd_reading_does_not_hide_an_offset(offset_k, odd):
    new = STORED + offset_k
    new[odd] += 40
    told = differ(new)
    assert told.reason in {Reason.OFFSET, Reason.CLOCK}
    assert told.median_k == pytest.approx(offset_k, abs=1e-6)
