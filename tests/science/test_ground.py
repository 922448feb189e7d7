import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from wintering.science.evidence import Evidence
from wintering.science.ground import (
    LEAST_M2D,
    MOST_M2D,
    SOILS,
    USUAL_M2D,
    SurfaceYear,
    damping_depth_m,
    ground_c,
    ground_range_c,
    lag_d,
)

YEAR = np.arange(1, 366)
SURFACE = SurfaceYear(mean_c=8.0, swing_k=13.0, coldest_day=30)

surfaces = st.builds(
    SurfaceYear, st.floats(-10, 25), st.floats(0, 30), st.floats(1, 365)
)
diffusivities = st.floats(0.005, 0.1)
depths = st.floats(0, 10)


@given(surfaces, diffusivities)
def test_the_surface_is_coldest_by_its_full_swing_on_its_coldest_day(
    surface: SurfaceYear, diffusivity: float
):
    coldest = float(ground_c(0.0, surface.coldest_day, surface, diffusivity))
    assert coldest == pytest.approx(surface.mean_c - surface.swing_k)


@given(surfaces, diffusivities, st.tuples(depths, depths))
def test_the_swing_falls_and_the_lag_grows_with_depth(
    surface: SurfaceYear, diffusivity: float, two: tuple[float, float]
):
    shallow, deep = sorted(two)
    above, below = (ground_c(z, YEAR, surface, diffusivity) for z in (shallow, deep))
    # days are a step apart, so the top of a wave is missed by up to half a day
    assert np.ptp(below) <= np.ptp(above) + 2e-4 * surface.swing_k
    assert lag_d(deep, diffusivity) >= lag_d(shallow, diffusivity)


@given(surfaces, diffusivities, depths)
def test_the_year_repeats_and_its_mean_is_that_of_the_surface(
    surface: SurfaceYear, diffusivity: float, depth: float
):
    year = ground_c(depth, YEAR, surface, diffusivity)
    assert year.mean() == pytest.approx(surface.mean_c, abs=1e-9)
    again = ground_c(depth, YEAR + 365, surface, diffusivity)
    np.testing.assert_allclose(again, year, atol=1e-9)


@given(surfaces, diffusivities, st.floats(0.1, 5))
def test_a_depth_is_coldest_a_lag_after_the_surface(
    surface: SurfaceYear, diffusivity: float, depth: float
):
    turn = surface.coldest_day + float(lag_d(depth, diffusivity))
    around = ground_c(depth, turn + np.array([-1.0, 0.0, 1.0]), surface, diffusivity)
    assert around[1] <= around[[0, 2]].min() + 1e-12


def test_half_a_year_apart_the_two_halves_of_the_earth_agree():
    south = SurfaceYear(8.0, 13.0, 30 + 182.5)
    np.testing.assert_allclose(
        ground_c(0.6, YEAR + 182.5, south), ground_c(0.6, YEAR, SURFACE)
    )


def test_ground_under_a_frame_is_warmer_in_winter_than_its_surface():
    # what makes a sunk bed worth digging: 15 January, half a metre down
    assert ground_c(0.5, 15, SURFACE) > ground_c(0.0, 15, SURFACE) + 2


@given(surfaces, depths, st.integers(1, 366), st.floats(LEAST_M2D, MOST_M2D))
def test_the_range_holds_every_usual_soil(
    surface: SurfaceYear, depth: float, day: int, diffusivity: float
):
    low, high = ground_range_c(depth, day, surface)
    c = float(ground_c(depth, day, surface, diffusivity))
    # between the soils that were tried it may lie a hair outside
    hair = 0.01 * surface.swing_k + 1e-9
    assert low - hair <= c <= high + hair


def test_the_range_keeps_the_shapes_of_depths_and_days():
    low, high = ground_range_c([[0.3], [1.0]], [15, 46, 74], SURFACE)
    assert low.shape == high.shape == (2, 3)
    assert np.all(low < high)


def test_an_unknown_depth_stays_unknown():
    assert np.isnan(ground_c(np.nan, 45, SURFACE))


def test_what_cannot_be_is_refused():
    with pytest.raises(ValueError, match="0 m or more"):
        ground_c(-0.1, 45, SURFACE)
    with pytest.raises(ValueError, match="above 0 m²/d"):
        damping_depth_m(0.0)
    with pytest.raises(ValueError, match="0 K or more"):
        SurfaceYear(8.0, -1.0, 30)


def test_the_usual_soil_lies_among_those_that_were_measured():
    assert LEAST_M2D < USUAL_M2D < MOST_M2D
    moist = [soil for soil in SOILS if soil.name in ("sand, wet", "clay, wet")]
    assert all(LEAST_M2D < soil.diffusivity_m2d <= MOST_M2D for soil in moist)
    for soil in SOILS:
        named = soil.evidence is Evidence.PUBLISHED and "/" in soil.source
        assert named or soil.evidence is Evidence.FROM_MEMORY
