"""Numbers that a person read off: which unit, and whether to look again."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from wintering.science.by_hand import is_far, is_other_unit_likely
from wintering.science.units import TemperatureUnit, f_to_c

C, F, K = TemperatureUnit.CELSIUS, TemperatureUnit.FAHRENHEIT, TemperatureUnit.KELVIN
EITHER = st.floats(20, 50)


@pytest.mark.parametrize(
    ("value", "unit", "expected_c", "is_asked"),
    [
        (34, C, 1.5, True),  # 34 °F in a frame just above freezing
        (34, C, 33.0, False),
        (34, F, 1.5, False),
        (34, F, 30.0, True),  # a hot day, read off as °C
        (34, C, None, True),
        (34, F, None, False),
        (19.9, C, -6.0, False),
        (20, C, -6.7, True),
        (50, C, 10.0, True),
        (50.1, C, 10.0, False),
        (34, K, 1.5, False),
        (1, F, 1.3, True),  # read off the other scale: -17 °C is not 1.3 °C
        (-3, F, 1.3, True),
        (1, F, -16.0, False),  # a hard frost
        (15, F, -9.0, False),
        (1, F, None, False),
        (60, F, 16.0, False),
        (18, F, 16.0, True),
    ],
)
def test_only_numbers_of_both_units_are_asked_about(value, unit, expected_c, is_asked):
    assert is_other_unit_likely(value, unit, expected_c) is is_asked


@given(EITHER)
def test_a_number_that_fits_in_fahrenheit_is_asked_about_in_celsius(value):
    assert is_other_unit_likely(value, C, f_to_c(value))
    assert not is_other_unit_likely(value, F, f_to_c(value))


@given(st.floats(-60, 150), st.sampled_from([C, F]), st.floats(-3, 3))
def test_what_agrees_with_its_surroundings_is_never_asked_about(value, unit, off_k):
    assert not is_other_unit_likely(value, unit, unit.to_c(value) + 0.99 * off_k)


@given(st.floats(-25, 50), st.floats(-2.9, 2.9))
def test_celsius_read_off_a_thermometer_of_fahrenheit_is_asked_about(value, off_k):
    assert is_other_unit_likely(value, F, value + off_k)


def test_three_kelvin_are_not_far_and_a_little_more_is():
    assert not is_far(4.1, 1.1)
    assert is_far(4.11, 1.1)
    assert is_far(-2.0, 1.1)
