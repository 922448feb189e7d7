"""Vapour pressures and moist air against FAO-56, the ASHRAE tables and psychrolib."""

from pathlib import Path

import numpy as np
import pytest

from tests.published.physics import row
from wintering.science import moist_air, vapour

A = {n: row(f"A{n:02}") for n in (1, 4, 5, 6, 7, 25)}
P = {n: row(f"P{n:02}") for n in (*range(9, 14), *range(20, 24))}

TABLE_KPA = {"P01": -20.0, "P02": -5.0, "P03": 5.0, "P04": 25.0, "P05": 50.0}
TABLE_RATIO = {"P06": -5.0, "P07": 5.0, "P08": 25.0}
STANDARD = {"P14": 500.0, "P15": 1000.0}
SATURATION = {"A02": 24.5, "A03": 15.0, "A08": 20.0, "A09": 25.0, "A10": 30.0}
FROST_POINTS = {"P16": (5, 90), "P17": (10, 90), "P18": (2, 80), "P19": (-5, 80)}


# --- FAO-56 worked examples ---------------------------------------------------------


def test_the_psychrometric_constant_falls_with_altitude():
    A[1].check(vapour.psychrometric_kpa_k(vapour.pressure_kpa(1800)))


@pytest.mark.parametrize(
    ("taken", "air_c"), [(row(check_id), c) for check_id, c in SATURATION.items()]
)
def test_saturation_over_water(taken, air_c):
    taken.check(vapour.saturation_kpa(air_c))


def test_a_day_is_saturated_at_the_mean_of_both_ends():
    A[4].check(vapour.mean_saturation_kpa(15.0, 24.5))
    assert vapour.mean_saturation_kpa(15.0, 24.5) > vapour.saturation_kpa(19.75)


def test_a_ventilated_wet_bulb():
    A[5].check(vapour.wet_bulb_vapour_kpa(25.6, 19.5, vapour.pressure_kpa(1200)))


def test_vapour_of_a_day_and_what_it_lacks():
    found = vapour.day_vapour_kpa(18.0, 25.0, rh_at_low=82, rh_at_high=54)
    A[6].check(found)
    A[7].check(vapour.mean_saturation_kpa(18.0, 25.0) - found)


def test_the_formula_for_water_is_too_high_for_ice():
    A[25].check(vapour.saturation_kpa(-5.0) - vapour.over_ice_kpa(-5.0))


# --- ASHRAE tables and Example 1 ----------------------------------------------------


@pytest.mark.parametrize(
    ("taken", "c"), [(row(check_id), c) for check_id, c in TABLE_KPA.items()]
)
def test_saturation_at_a_surface(taken, c):
    taken.check(1000 * vapour.surface_kpa(c))


@pytest.mark.parametrize(
    ("taken", "c"), [(row(check_id), c) for check_id, c in TABLE_RATIO.items()]
)
def test_saturated_air_by_mass(taken, c):
    taken.check(moist_air.humidity_ratio(vapour.surface_kpa(c)))


def test_air_of_forty_degrees_with_a_wet_bulb_of_twenty():
    found = moist_air.wet_bulb_ratio(40.0, 20.0)
    kpa = moist_air.ratio_vapour_kpa(found)
    P[9].check(found)
    P[10].check(vapour.dew_point_c(kpa))
    P[11].check(kpa / vapour.over_water_kpa(40.0))
    P[12].check(moist_air.enthalpy_kj_kg(40.0, found))
    P[13].check(moist_air.volume_m3_kg(40.0, found))


@pytest.mark.parametrize(
    ("taken", "altitude_m"), [(row(check_id), m) for check_id, m in STANDARD.items()]
)
def test_pressure_of_the_standard_atmosphere(taken, altitude_m):
    taken.check(1000 * moist_air.standard_pressure_kpa(altitude_m))


# the rows' humidity is relative to the surface: to ice below 0 °C
@pytest.mark.parametrize(
    ("taken", "c", "rh"), [(row(key), *at) for key, at in FROST_POINTS.items()]
)
def test_frost_point(taken, c, rh):
    taken.check(vapour.frost_point_c(vapour.surface_kpa(c) * rh / 100))


def test_warm_air_holds_twice_the_water():
    warm, cool = (
        moist_air.humidity_ratio(vapour.surface_kpa((f - 32) / 1.8)) for f in (70, 50)
    )
    P[20].check(warm / cool)


def dew_c(c, rh):
    return vapour.frost_point_c(vapour.surface_kpa(c) * rh / 100)


def test_cold_dry_air_dries_a_frame():
    outside, inside = dew_c(-2.0, 90), dew_c(6.0, 95)
    P[21].check(outside, inside)
    assert outside < inside - 1


def test_a_thaw_wets_cold_pots():
    outside, pot_c = dew_c(9.0, 95), 2.5
    P[22].check(outside)
    assert outside > pot_c


def test_fog_changes_nothing():
    P[23].check(dew_c(8.0, 92), dew_c(7.0, 98))


# --- the reference library over a grid, -40 to 50 °C and 1 to 100 % ------------------


def reference(name):
    """What psychrolib 2.5.0 (MIT) gives, by column; it has no wheel to install."""
    path = Path(__file__).with_name(f"psychrolib_{name}.csv")
    return np.genfromtxt(path, delimiter=",", names=True)


GRID = reference("grid")
GRID_C, GRID_KPA = GRID["air_c"], GRID["saturation_pa"] * GRID["rh_pct"] / 1e5


def test_the_grid_is_whole():
    assert GRID.size == 37 * 21
    assert (GRID_C.min(), GRID_C.max()) == (-40, 50)


def test_saturation_is_that_of_the_reference():
    expected = GRID["saturation_pa"] / 1000
    np.testing.assert_allclose(vapour.surface_kpa(GRID_C), expected, rtol=1e-9)


def test_the_frost_point_is_that_of_the_reference():
    found = vapour.frost_point_c(GRID_KPA)
    # the reference stops its own search at 0.001 K
    np.testing.assert_allclose(found, GRID["frost_point_c"], rtol=0, atol=0.002)


def test_the_deficit_is_that_of_the_reference():
    found = 1000 * vapour.deficit_kpa(GRID_KPA, GRID_C)
    np.testing.assert_allclose(found, GRID["deficit_pa"], rtol=1e-9, atol=1e-6)


def test_moist_air_is_that_of_the_reference():
    expected = GRID["ratio_90kpa"]
    ratio = moist_air.humidity_ratio(GRID_KPA, 90.0)
    # the reference holds no ratio below 1e-7 kg/kg
    np.testing.assert_allclose(ratio, expected, rtol=1e-6, atol=1e-7)
    heat = 1000 * moist_air.enthalpy_kj_kg(GRID_C, expected)
    np.testing.assert_allclose(heat, GRID["enthalpy_j_kg"], rtol=1e-9, atol=1e-6)
    volume = moist_air.volume_m3_kg(GRID_C, expected, 90.0)
    np.testing.assert_allclose(volume, GRID["volume_m3_kg"], rtol=1e-6)


def test_the_wet_bulb_is_that_of_the_reference():
    known = reference("wet_bulb")
    found = moist_air.wet_bulb_ratio(known["dry_c"], known["wet_c"])
    humid = found > 1e-5  # below that the reference gives its least ratio
    assert humid.sum() > 60
    np.testing.assert_allclose(found[humid], known["ratio"][humid], rtol=1e-6)


def test_standard_pressure_is_that_of_the_reference():
    known = reference("pressure")
    found = 1000 * moist_air.standard_pressure_kpa(known["altitude_m"])
    np.testing.assert_allclose(found, known["pressure_pa"], rtol=1e-9)


def test_supercooled_water_follows_sonntag():
    # Sonntag 1990, Zeitschrift für Meteorologie 70:340-344; coefficients from memory
    c = np.arange(-40.0, 1.0)
    k = c + 273.15
    ln_hpa = -6096.9385 / k + 16.635794 - 2.711193e-2 * k + 1.673952e-5 * k**2
    expected = np.exp(ln_hpa + 2.433502 * np.log(k)) / 10
    np.testing.assert_allclose(vapour.over_water_kpa(c), expected, rtol=1e-3)
