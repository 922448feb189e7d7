import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from wintering.science.sun import (
    SunPosition,
    daylength_h,
    glass_angle_factor,
    incidence_deg,
    plane_irradiance,
    sun_position,
)

latitudes = st.floats(-90, 90)
days = st.integers(1, 366)
instants = st.integers(0, 2_500_000_000)
tilts = st.floats(0, 90)
azimuths = st.floats(0, 360)

NOON = SunPosition(np.array(30.0), np.array(180.0))


@given(latitudes, days)
def test_a_day_has_up_to_24_hours_whatever_the_place(latitude: float, day: int):
    assert 0 <= float(daylength_h(latitude, day)) <= 24


@given(st.floats(0, 60), days)
def test_north_and_south_share_the_day_but_for_the_lift_of_the_horizon(
    latitude: float, day: int
):
    both = daylength_h([latitude, -latitude], day, horizon_deg=0.0).sum()
    assert both == pytest.approx(24)
    assert daylength_h([latitude, -latitude], day).sum() > 24


def test_december_days_shorten_towards_the_pole():
    lengths = daylength_h(np.arange(0, 90, 5), 355)
    assert np.all(np.diff(lengths) <= 0)
    assert lengths[-1] == 0


def test_a_higher_horizon_shortens_the_day():
    lengths = [float(daylength_h(45, 355, horizon_deg=h)) for h in (-0.83, 5, 20, 30)]
    assert lengths == sorted(lengths, reverse=True)
    assert lengths[-1] == 0


@pytest.mark.parametrize("latitude", [90.5, -91])
def test_a_latitude_beyond_the_poles_is_refused(latitude: float):
    with pytest.raises(ValueError, match="Latitude runs from -90"):
        daylength_h(latitude, 1)
    with pytest.raises(ValueError, match="Latitude runs from -90"):
        sun_position(0, latitude, 0.0)


@given(instants, latitudes, st.floats(-180, 180))
def test_the_sun_is_always_somewhere(at: int, latitude: float, longitude: float):
    sun = sun_position(at, latitude, longitude)
    assert -90 <= float(sun.elevation_deg) <= 90.6
    assert 0 <= float(sun.azimuth_deg) <= 360


@given(instants, latitudes, st.floats(-180, 180))
def test_a_turn_around_the_earth_changes_nothing(at: int, latitude: float, east: float):
    here = sun_position(at, latitude, east)
    there = sun_position(at, latitude, east + 360)
    assert float(here.elevation_deg) == pytest.approx(float(there.elevation_deg))


def test_places_instants_and_gaps_broadcast():
    sun = sun_position([[0.0], [43_200.0], [np.nan]], [10.0, 50.0], 0.0)
    assert sun.elevation_deg.shape == (3, 2)
    assert np.isnan(sun.elevation_deg[2]).all()
    assert not np.isnan(sun.elevation_deg[:2]).any()


def test_the_sun_stands_in_the_south_at_noon_of_the_north_and_the_other_way_round():
    noon = 1_766_318_400  # 21 December 2025, 12:00 UTC
    azimuths = sun_position(noon, [50.0, -50.0], 0.0).azimuth_deg
    assert azimuths[0] == pytest.approx(180, abs=1)
    assert min(azimuths[1], 360 - azimuths[1]) < 2


@given(st.floats(-90, 90), azimuths, tilts, azimuths)
def test_incidence_lies_between_square_on_and_right_behind(
    elevation: float, azimuth: float, tilt: float, faces: float
):
    sun = SunPosition(np.array(elevation), np.array(azimuth))
    angle = float(incidence_deg(sun, tilt, faces))
    assert 0 <= angle <= 180
    flat = float(incidence_deg(sun, 0.0, faces))
    assert flat == pytest.approx(90 - elevation, abs=1e-5)


def test_a_pane_turned_to_the_sun_meets_it_square_on():
    assert float(incidence_deg(NOON, 60, 180)) == pytest.approx(0, abs=1e-5)
    assert float(incidence_deg(NOON, 90, 0)) == pytest.approx(150)


@given(st.lists(st.floats(0, 90), min_size=2, max_size=2), st.integers(1, 3))
def test_glass_passes_less_the_more_aslant(angles: list[float], sheets: int):
    flat, steep = sorted(angles)
    passed = glass_angle_factor([flat, steep], sheets=sheets)
    # from 0 to 20° the factor is flat to the fourth decimal
    assert passed[1] <= passed[0] + 1e-4
    assert np.all((passed >= 0) & (passed <= 1 + 1e-4))


def test_glass_seen_edge_on_or_from_behind_passes_nothing():
    np.testing.assert_allclose(glass_angle_factor([90, 120, 180]), 0, atol=1e-12)
    assert float(glass_angle_factor(0)) == 1


def test_no_sheet_of_glass_is_refused():
    with pytest.raises(ValueError, match="one sheet or more"):
        glass_angle_factor(0, sheets=0)


@given(st.floats(-30, 90), azimuths, tilts, azimuths, st.floats(0, 1000))
def test_a_pane_never_gets_more_beam_than_there_is(
    elevation: float, azimuth: float, tilt: float, faces: float, beam: float
):
    sun = SunPosition(np.array(elevation), np.array(azimuth))
    bare, glazed = (
        plane_irradiance(
            sun, tilt, faces, beam_wm2=beam, diffuse_wm2=50, glass_sheets=sheets
        )
        for sheets in (0, 1)
    )
    assert 0 <= glazed.beam_wm2 <= bare.beam_wm2 * (1 + 1e-4) <= beam * (1 + 2e-4)
    assert bare.sky_wm2 >= 0
    assert bare.ground_wm2 >= 0
    if elevation <= 0:
        assert bare.beam_wm2 == 0


def test_a_flat_pane_gets_what_level_ground_gets():
    found = plane_irradiance(NOON, 0, 180, beam_wm2=500, diffuse_wm2=60)
    assert float(found.total_wm2) == pytest.approx(500 * 0.5 + 60)
    assert found.ground_wm2 == 0


def test_snow_lights_a_steep_pane_more_than_bare_ground():
    steep = [
        plane_irradiance(NOON, 80, 180, beam_wm2=500, diffuse_wm2=60, albedo=albedo)
        for albedo in (0.2, 0.7)
    ]
    assert steep[1].ground_wm2 == pytest.approx(3.5 * steep[0].ground_wm2)


def test_an_unknown_irradiance_stays_unknown():
    found = plane_irradiance(NOON, 60, 180, beam_wm2=np.nan, diffuse_wm2=60)
    assert np.isnan(found.total_wm2)
    assert not np.isnan(found.sky_wm2)


@pytest.mark.parametrize(
    ("beam", "diffuse", "albedo"), [(-1, 0, 0.2), (0, -0.5, 0.2), (0, 0, 1.2)]
)
def test_irradiance_below_zero_is_refused(beam: float, diffuse: float, albedo: float):
    with pytest.raises(ValueError, match="set the small negative values"):
        plane_irradiance(
            NOON, 60, 180, beam_wm2=beam, diffuse_wm2=diffuse, albedo=albedo
        )
