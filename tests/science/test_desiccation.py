from datetime import date
from zoneinfo import ZoneInfo

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from wintering.science.days import local_days
from wintering.science.desiccation import desiccation, dose_kpa_h
from wintering.science.vapour import deficit_kpa, vapour_kpa

BERLIN = ZoneInfo("Europe/Berlin")
NAN = np.nan
celsius, percent = st.floats(-30, 35), st.floats(0.5, 100)


def test_a_frozen_ball_counts_fully_a_cold_one_in_part_a_warm_one_not():
    lacking = float(deficit_kpa(vapour_kpa(4.0, 60.0), 4.0))
    found = dose_kpa_h(4.0, 60.0, [-3.0, 0.0, 0.1, 2.0, 2.1], in_sun=False)
    assert found == pytest.approx([lacking, lacking, 0.3 * lacking, 0.3 * lacking, 0])


def test_sun_on_the_leaf_dries_it():
    found = dose_kpa_h([4.0, 4.0], 60.0, -1.0, in_sun=[False, True])
    assert found[1] == pytest.approx(deficit_kpa(vapour_kpa(4.0, 60.0), 9.0))
    assert found[1] > found[0]


@given(celsius, percent, celsius, celsius, st.booleans())
def test_a_warmer_ball_never_makes_a_tree_thirstier(air_c, rh, ball_c, other, in_sun):
    low, high = sorted((ball_c, other))
    found = dose_kpa_h(air_c, rh, [low, high], in_sun)
    assert found[0] >= found[1] >= 0


def test_what_is_missing_is_missing_unless_the_ball_is_warm():
    found = dose_kpa_h(
        [NAN, 4.0, 4.0, NAN], [60.0, NAN, 60.0, NAN], [-1.0, -1.0, NAN, 5.0], False
    )
    assert np.isnan(found).tolist() == [True, True, True, False]


DAYS = local_days(date(2027, 2, 1), date(2027, 2, 8), BERLIN)


def test_one_bad_day_or_five_middling_ones_flag_an_evergreen():
    day = np.array([5.0, 0, 3.0, 3.0, 3.0, 3.0, 3.0])
    found = desiccation(np.repeat(day / 24, 24), DAYS, is_evergreen=True)
    np.testing.assert_allclose(found.day_kpa_h, day)
    np.testing.assert_allclose(found.five_kpa_h, [5, 5, 8, 11, 14, 12, 15])
    assert found.flagged.tolist() == [True, *[False] * 5, True]
    assert "Shade the tree" in found.because(0)
    assert found.because(1).endswith("frozen or near it.")


def test_a_bare_tree_bears_three_times_as_much():
    day = np.array([14.9, 15.0, 0, 0, 0, 0, 0])
    found = desiccation(np.repeat(day / 24, 24), DAYS, is_evergreen=False)
    assert found.flagged.tolist() == [False, True, *[False] * 5]


def test_missing_hours_are_counted_and_said():
    hours = np.full(168, 0.1)
    hours[:6] = NAN
    found = desiccation(hours, DAYS, is_evergreen=True)
    assert found.missing_h.tolist() == [6, *[0] * 6]
    assert found.day_kpa_h[0] == pytest.approx(1.8)
    assert found.because(0).endswith("6 hours are missing, so it may be more.")


def test_hours_must_be_those_of_the_days():
    with pytest.raises(ValueError, match="167 hours for days of 168"):
        desiccation(np.zeros(167), DAYS, is_evergreen=True)


def test_no_days_have_no_doses():
    days = local_days(date(2027, 2, 1), date(2027, 2, 1), BERLIN)
    assert desiccation(np.empty(0), days, is_evergreen=True).day_kpa_h.size == 0
