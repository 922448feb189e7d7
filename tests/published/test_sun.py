"""The sun against published tables, NREL's algorithm in pvlib, and printed examples."""

import re

import numpy as np
import pandas as pd
import pytest
from pvlib import iam, irradiance, solarposition

from tests.published import physics
from tests.published.rows import Row, rows_of
from wintering.science.sun import (
    GLASS_ABSORBS_PER_M,
    GLASS_INDEX,
    GLASS_THICK_M,
    HORIZON_REFRACTION_DEG,
    SunPosition,
    daylength_h,
    declination_rad,
    equation_of_time_min,
    glass_angle_factor,
    glass_reflects,
    incidence_deg,
    plane_irradiance,
    sun_position,
)

STATED_DEG = 0.013
"""What sun_position states as its accuracy against NREL's algorithm."""

LATITUDES = (-65.0, -35.0, 0.5, 35.0, 44.5, 52.0, 60.0, 70.0)


def _number(name: str, text: str) -> float:
    return float(re.search(rf"{name}=(-?[\d.]+)", text)[1])


def _day_and_latitude(row: Row) -> tuple[float, float]:
    return _number("lat", row.series), _number("day", row.series)


@rows_of("solar declination (Spencer 1971)")
def test_declination(row: Row):
    day = _number("day of year", row.series)
    row.check(float(np.degrees(declination_rad(day))))


@rows_of("daylength, sun altitude -0.83 deg")
def test_daylength(row: Row):
    row.check(float(daylength_h(*_day_and_latitude(row))))


@rows_of("daylength clamp")
def test_daylength_beyond_the_polar_circle(row: Row):
    row.check(float(daylength_h(*_day_and_latitude(row))))


@rows_of("daylength")
def test_daylength_as_an_encyclopedia_prints_it(row: Row):
    found = float(daylength_h(*_day_and_latitude(row)))
    kind, hours = re.match(
        r"(about|more than|less than) (\d+) h", row.expected
    ).groups()
    within, _ = re.match(r"([\d.]+) h (or inequality)", row.tolerance).groups()
    holds = {
        "about": abs(found - float(hours)) <= float(within),
        "more than": found > float(hours),
        "less than": found < float(hours),
    }
    assert holds[kind], row.source


@rows_of(
    "sunrise 1 January, local mean solar time = 12 - E/60 - daylength/2 "
    "(E = equation of time in minutes)"
)
def test_sunrise_of_a_printed_table(row: Row):
    latitude, day = _day_and_latitude(row)
    noon_min = 12 * 60 - float(equation_of_time_min(day))
    found_min = noon_min - 30 * float(daylength_h(latitude, day))
    hours, minutes = row.expected.split(":")
    within = float(row.tolerance.removesuffix(" min"))
    expected_min = 60 * int(hours) + int(minutes)
    assert found_min == pytest.approx(expected_min, abs=within), row.source


def _noons(since: str, until: str) -> pd.DatetimeIndex:
    return pd.date_range(since, until, freq="D", tz="UTC")


@pytest.mark.parametrize(
    ("latitude", "within_h"), [(0, 0.1), (30, 0.1), (45, 0.1), (52, 0.1), (60, 0.13)]
)
def test_daylength_of_an_ephemeris_over_four_years(latitude: float, within_h: float):
    days = _noons("2024-01-01", "2027-12-31")
    events = solarposition.sun_rise_set_transit_spa(days, latitude, 0.0)
    expected = (events.sunset - events.sunrise).dt.total_seconds() / 3600
    found = daylength_h(latitude, days.day_of_year)
    assert np.abs(found - expected).max() < within_h


def test_equation_of_time_of_an_ephemeris_over_four_years():
    days = _noons("2024-01-01 12:00", "2027-12-31 12:00")
    expected = solarposition.spa_python(days, 0.0, 0.0).equation_of_time
    assert np.abs(equation_of_time_min(days.day_of_year) - expected).max() < 1.0


def _seconds(times: pd.DatetimeIndex) -> np.ndarray:
    return (times - pd.Timestamp("1970-01-01", tz="UTC")).total_seconds().to_numpy()


def _of_nrel(times: pd.DatetimeIndex, latitude: float, longitude: float):
    return solarposition.spa_python(
        times, latitude, longitude, pressure=101_325, temperature=10
    )


@pytest.mark.parametrize("latitude", LATITUDES)
def test_position_is_as_near_to_nrel_as_it_states(latitude: float):
    times = pd.date_range("1950-01-01", "2049-12-31", periods=2501, tz="UTC")
    for longitude in (-105.0, 10.0, 139.0):
        expected = _of_nrel(times, latitude, longitude)
        found = sun_position(_seconds(times), latitude, longitude)
        # where the disc touches the horizon refraction begins: not to be compared
        seen = np.abs(expected.elevation + 0.8334) > 0.1
        off = np.abs(found.elevation_deg - expected.apparent_elevation)[seen]
        assert off.max() < STATED_DEG
        turned = (found.azimuth_deg - expected.azimuth + 180) % 360 - 180
        aside = np.abs(turned) * np.cos(np.radians(expected.elevation))
        assert aside.max() < STATED_DEG


def test_refraction_follows_the_air_as_nrels_does():
    """A low sun through the thin cold air of a mountain winter, and through thick."""
    times = pd.date_range("2026-01-10 13:00", periods=40, freq="3min", tz="UTC")
    for pressure_hpa, air_c in ((700.0, -25.0), (1040.0, -25.0), (1013.25, 35.0)):
        expected = solarposition.spa_python(
            times, 46.5, 8.0, pressure=100 * pressure_hpa, temperature=air_c
        )
        found = sun_position(
            _seconds(times), 46.5, 8.0, pressure_hpa=pressure_hpa, air_c=air_c
        )
        plain = expected.apparent_elevation - expected.elevation
        off = np.abs(found.elevation_deg - expected.apparent_elevation)
        assert plain.max() > 0.05
        assert off.max() < STATED_DEG


NREL_S = pd.Timestamp("2003-10-17 12:30:30-07:00").timestamp()
NREL_PLACE = 39.742476, -105.1786

ZENITH, AZIMUTH = physics.row("O01"), physics.row("O02")
INCIDENCE, RULE_AT_NOON = physics.row("O03"), physics.row("O04")
FAO_DAYLENGTH = physics.row("O05")


def test_nrels_example_is_reached_within_the_stated_accuracy_and_by_pvlib_exactly():
    """The printed figures carry more digits than low-precision formulas can reach."""
    exact = solarposition.spa_python(
        pd.DatetimeIndex([pd.Timestamp(NREL_S, unit="s", tz="UTC")]),
        *NREL_PLACE,
        altitude=1830.14,
        pressure=82_000,
        temperature=11,
        delta_t=67.0,
    ).iloc[0]
    ZENITH.check(exact.apparent_zenith)
    AZIMUTH.check(exact.azimuth)
    pane = irradiance.aoi(30, 170, exact.apparent_zenith, exact.azimuth)
    INCIDENCE.check(float(pane))
    found = sun_position(NREL_S, *NREL_PLACE, pressure_hpa=820, air_c=11)
    low = {
        ZENITH: 90 - found.elevation_deg,
        AZIMUTH: found.azimuth_deg,
        INCIDENCE: incidence_deg(found, 30, 170),
    }
    for row, value in low.items():
        expected = pytest.approx(float(row.expected), rel=0, abs=STATED_DEG)
        assert float(value) == expected, f"{row.check_id}: {row.source}"


def test_noon_of_the_winter_solstice_by_the_rule_of_thumb():
    at = pd.Timestamp("2024-12-21 12:00", tz="UTC").timestamp()
    RULE_AT_NOON.check(float(sun_position(at, 44.5, 0.0).elevation_deg))


def test_faos_daylength_is_short_by_the_refraction_it_leaves_out():
    # the row means the centre of the disc, lifted by refraction
    centre = float(daylength_h(44.5, 356, horizon_deg=-HORIZON_REFRACTION_DEG))
    FAO_DAYLENGTH.check(centre)
    # without refraction the rest is the rounding of FAO's declination
    assert float(daylength_h(44.5, 356, horizon_deg=0.0)) == pytest.approx(
        float(FAO_DAYLENGTH.expected), abs=0.02
    )


def _day_of_positions() -> tuple[SunPosition, pd.DataFrame]:
    times = pd.date_range("2026-01-10", "2026-01-12", freq="10min", tz="UTC")
    expected = _of_nrel(times, 44.5, -68.7)
    sun = SunPosition(
        expected.apparent_elevation.to_numpy(), expected.azimuth.to_numpy()
    )
    return sun, expected


@pytest.mark.parametrize("tilt", [0.0, 30.0, 62.0, 90.0])
@pytest.mark.parametrize("faces", [90.0, 165.0, 180.0, 270.0])
def test_incidence_and_plane_of_pvlib(tilt: float, faces: float):
    sun, expected = _day_of_positions()
    aoi = irradiance.aoi(tilt, faces, expected.apparent_zenith, expected.azimuth)
    np.testing.assert_allclose(incidence_deg(sun, tilt, faces), aoi, atol=1e-5)
    up = sun.elevation_deg > 0
    beam, diffuse = np.where(up, 700.0, 0.0), np.where(up, 80.0, 0.0)
    level = beam * np.sin(np.radians(sun.elevation_deg)) + diffuse
    theirs = irradiance.get_total_irradiance(
        tilt,
        faces,
        expected.apparent_zenith,
        expected.azimuth,
        beam,
        level,
        diffuse,
        albedo=0.7,
        model="isotropic",
    )
    ours = plane_irradiance(
        sun, tilt, faces, beam_wm2=beam, diffuse_wm2=diffuse, albedo=0.7
    )
    pairs = [
        (ours.beam_wm2, theirs["poa_direct"]),
        (ours.sky_wm2, theirs["poa_sky_diffuse"]),
        (ours.ground_wm2, theirs["poa_ground_diffuse"]),
        (ours.total_wm2, theirs["poa_global"]),
    ]
    for found, wanted in pairs:
        np.testing.assert_allclose(found, wanted, rtol=1e-9, atol=1e-7)


ANGLES = np.arange(0.0, 90.0, 2.5)


def test_one_face_of_glass_lets_through_what_pvlib_says():
    """pvlib's cover is glued to a cell, so it has one face to the air."""
    across, along = glass_reflects(ANGLES)
    inside = np.sqrt(1 - (np.sin(np.radians(ANGLES)) / GLASS_INDEX) ** 2)
    passed = (1 - (across + along) / 2) * np.exp(
        -GLASS_ABSORBS_PER_M * GLASS_THICK_M / inside
    )
    expected = iam.physical(
        ANGLES, n=GLASS_INDEX, K=GLASS_ABSORBS_PER_M, L=GLASS_THICK_M
    )
    np.testing.assert_allclose(passed / passed[0], expected, rtol=0, atol=2e-6)


def test_two_covers_of_glass_as_in_a_textbook():
    """Duffie & Beckman, examples 5.1.1 and 5.1.2 (from memory).

    Glass of index 1.526: one face reflects 0.0434 square on and 0.093 at 60°, two
    covers without absorption pass 0.85 square on and 0.76 at 60°.
    """
    across, along = glass_reflects([0.0, 60.0])
    np.testing.assert_allclose((across + along) / 2, [0.0434, 0.093], atol=6e-4)
    passed = np.mean([(1 - r) / (1 + 3 * r) for r in (across, along)], axis=0)
    np.testing.assert_allclose(passed, [0.85, 0.76], atol=0.0055)
    inside = np.sqrt(1 - (np.sin(np.radians(60.0)) / GLASS_INDEX) ** 2)
    longer_way = 2 * GLASS_ABSORBS_PER_M * GLASS_THICK_M * (1 / inside - 1)
    factor = float(glass_angle_factor(60.0, sheets=2))
    assert factor == pytest.approx(passed[1] / passed[0] * np.exp(-longer_way))


def test_a_free_sheet_is_the_sum_of_all_its_reflections():
    """Light followed face by face, each polarisation by itself."""
    for angle in (0.0, 45.0, 60.0, 70.0, 80.0):
        through = []
        for r in glass_reflects(angle):
            bounces = (1 - r) * r ** (2 * np.arange(200)) * (1 - r)
            through.append(bounces.sum())
        if angle == 0.0:
            square_on = np.mean(through)
        inside = np.sqrt(1 - (np.sin(np.radians(angle)) / GLASS_INDEX) ** 2)
        longer_way = GLASS_ABSORBS_PER_M * GLASS_THICK_M * (1 / inside - 1)
        expected = np.mean(through) / square_on * np.exp(-longer_way)
        assert float(glass_angle_factor(angle)) == pytest.approx(expected, rel=1e-9)
    # both faces of a free sheet turn light away, so it passes less than a glued one
    slanting = np.array([60.0, 70.0, 80.0])
    less = iam.physical(slanting, L=GLASS_THICK_M) - glass_angle_factor(slanting)
    np.testing.assert_allclose(less, [0.03, 0.07, 0.14], atol=0.006)
