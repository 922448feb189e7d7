"""Nights run from sunset to sunrise, whatever the window."""

import numpy as np
import pandas as pd
import pvlib
import pytest
from hypothesis import given
from hypothesis import strategies as st

from wintering.science.nights import nights

DAY_S = 86_400
JANUARY = 1_736_899_200  # 15 January 2025, 00:00 UTC
JUNE = 1_750_464_000  # 21 June 2025, 00:00 UTC


@pytest.mark.parametrize(
    ("latitude", "longitude"), [(44.9, -93.3), (59.9, 10.7), (36.0, 139.5)]
)
def test_sunset_and_sunrise_agree_with_a_solar_library(latitude, longitude):
    """Against pvlib's NREL algorithm, within a minute."""
    found = nights(JANUARY, JANUARY + 10 * DAY_S, latitude, longitude)
    days = pd.date_range("2025-01-14", "2025-01-26", tz="UTC")
    sun = pvlib.solarposition.sun_rise_set_transit_spa(days, latitude, longitude)
    sets = sun["sunset"].map(lambda at: at.timestamp()).to_numpy()
    rises = sun["sunrise"].map(lambda at: at.timestamp()).to_numpy()
    inner = found[1:-1]
    assert len(inner) >= 8
    assert max(np.abs(sets - s).min() for s in inner[:, 0]) < 60
    assert max(np.abs(rises - r).min() for r in inner[:, 1]) < 60


def test_beyond_the_polar_circle_a_summer_has_no_night_and_a_winter_only_one():
    assert len(nights(JUNE, JUNE + 3 * DAY_S, 70.0, 25.0)) == 0
    december = JUNE + 183 * DAY_S
    assert nights(december, december + DAY_S, 75.0, 25.0).tolist() == [
        [december, december + DAY_S]
    ]


def test_no_time_has_no_night():
    assert nights(JANUARY, JANUARY, 50.0, 0.0).shape == (0, 2)


@given(
    start=st.integers(JANUARY - 400 * DAY_S, JANUARY),
    length=st.integers(1, 20 * DAY_S),
    latitude=st.floats(0, 90),
    longitude=st.floats(-180, 180),
)
def test_nights_lie_in_order_within_what_was_asked(start, length, latitude, longitude):
    edges = nights(start, start + length, latitude, longitude).ravel()
    assert np.all(np.diff(edges) >= 0)
    assert np.all((edges >= start) & (edges <= start + length))
