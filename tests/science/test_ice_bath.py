"""What a sensor shows in ice, and what follows."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from wintering.science.ice_bath import drift_k, ice_bath

SHOWN = st.lists(st.integers(-400, 400), min_size=10, max_size=10)


def test_the_offset_is_the_mean_and_the_spread_reaches_from_lowest_to_highest():
    bath = ice_bath([0.3, 0.3, 0.4, 0.4, 0.3, 0.2, 0.3, 0.3, 0.2, 0.3])
    assert bath.offset_k == 0.3
    assert bath.spread_k == 0.2
    assert bath.refusal == ""


@pytest.mark.parametrize("shown", [1.0, -1.0])
def test_one_kelvin_off_is_still_corrected(shown):
    assert ice_bath([shown] * 10).refusal == ""


@pytest.mark.parametrize(("shown", "told"), [(1.01, "+1.01 K"), (-1.2, "-1.20 K")])
def test_a_sensor_further_off_is_to_be_replaced(shown, told):
    refusal = ice_bath([shown] * 10).refusal
    assert told in refusal
    assert "replace the sensor" in refusal


def test_three_tenths_apart_are_taken():
    assert ice_bath([0.1] * 9 + [0.4]).refusal == ""


def test_a_hundredth_more_than_three_tenths_apart_is_too_much():
    assert "had not settled" in ice_bath([0.1] * 9 + [0.41]).refusal


def test_readings_further_apart_were_taken_too_early():
    refusal = ice_bath([0.1] * 9 + [0.5]).refusal
    assert "0.40 K apart" in refusal
    assert "had not settled" in refusal


@pytest.mark.parametrize("count", [0, 9, 11])
def test_fewer_or_more_than_ten_are_refused(count):
    with pytest.raises(ValueError, match=f"there are {count}"):
        ice_bath([0.0] * count)


def test_drift_is_this_check_minus_the_last():
    assert drift_k(1.1, 0.6) == 0.5


@given(SHOWN, st.integers(-300, 300))
def test_a_shifted_sensor_is_off_by_so_much_more_and_scatters_as_before(shown, more):
    bath = ice_bath([one / 1000 for one in shown])
    shifted = ice_bath([(one + more) / 1000 for one in shown])
    assert shifted.offset_k == pytest.approx(bath.offset_k + more / 1000, abs=2e-6)
    assert shifted.spread_k == pytest.approx(bath.spread_k, abs=2e-6)


@given(SHOWN)
def test_the_offset_lies_within_what_was_shown(shown):
    values = [one / 1000 for one in shown]
    assert min(values) - 1e-6 <= ice_bath(values).offset_k <= max(values) + 1e-6
