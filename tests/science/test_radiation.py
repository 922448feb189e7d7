import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from wintering.science import radiation

days = st.integers(1, 366)


@given(st.floats(-90, 90), days)
def test_sun_and_daylight_stay_within_a_day(latitude, day):
    assert 0 <= radiation.daylight_h(latitude, day) <= 24
    # the most there can be, the sun at the pole at midsummer nearest the earth:
    # 24 * 60 * 0.082 * 1.033 * sin(0.409) = 48.5
    assert -1e-9 <= radiation.extraterrestrial_mj(latitude, day) < 48.6


def test_the_polar_night_and_day():
    assert radiation.daylight_h([80.0, 80.0, -80.0], [355, 172, 355]).tolist() == [
        0,
        24,
        24,
    ]
    assert radiation.extraterrestrial_mj(80.0, 355) == pytest.approx(0, abs=1e-9)


def test_a_southern_winter_is_a_northern_summer():
    north, south = radiation.daylight_h([45.0, -45.0], 172)
    assert north + south == pytest.approx(24)
    assert north > 15


def test_cloud_and_moist_air_keep_warmth():
    def lost(vapour_kpa, sun):
        return radiation.net_longwave_mj(
            -2.0, 6.0, vapour_kpa=vapour_kpa, sun_mj=sun, clear_mj=10.0
        )

    assert lost(0.4, 10.0) > lost(0.8, 10.0) > lost(0.8, 4.0)
    # more sun than a clear sky can give is the glint of a cloud, no deeper sky
    assert lost(0.4, 12.0) == lost(0.4, 10.0)


def test_a_day_without_range_has_no_sun():
    assert radiation.sun_from_range_mj(5.0, 5.0, 20.0) == 0
    assert np.isnan(radiation.sun_from_range_mj(np.nan, 5.0, 20.0))
