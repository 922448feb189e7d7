import numpy as np
import pytest

from wintering.science import moist_air, vapour

CELSIUS = np.linspace(-40, 50, 181)
PERCENT = np.linspace(0.5, 100, 200)[:, np.newaxis]
COLD = CELSIUS[CELSIUS < 0]


def test_a_deficit_is_never_below_zero():
    kpa = vapour.vapour_kpa(CELSIUS, PERCENT)
    for colder_k in (-10.0, 0.0, 10.0):
        assert (vapour.deficit_kpa(kpa, CELSIUS - colder_k) >= 0).all()


def test_drier_air_never_lacks_less():
    lacking = vapour.deficit_kpa(vapour.vapour_kpa(CELSIUS, PERCENT), CELSIUS)
    assert (np.diff(lacking, axis=0) <= 0).all()


def test_dew_and_frost_points_undo_saturation():
    c = np.linspace(-90, 60, 601)
    assert vapour.dew_point_c(vapour.over_water_kpa(c)) == pytest.approx(c, abs=1e-9)
    assert vapour.frost_point_c(vapour.surface_kpa(c)) == pytest.approx(c, abs=1e-9)


def test_frost_comes_before_dew():
    kpa = vapour.vapour_kpa(COLD, PERCENT)
    assert (vapour.dew_point_c(kpa) < vapour.frost_point_c(kpa)).all()


def test_hoar_frost_is_no_drying_signal():
    # saturated over ice at -5 °C, a sensor reads 95 %; the formula for water alone
    # would see a deficit of 0.02 kPa
    rh = 100 * vapour.over_ice_kpa(-5.0) / vapour.over_water_kpa(-5.0)
    assert 95 < rh < 95.5
    assert vapour.deficit_kpa(vapour.vapour_kpa(-5.0, rh), -5.0) == pytest.approx(0)
    assert vapour.deficit_kpa(vapour.vapour_kpa(-5.0, 100.0), -5.0) == 0


def test_air_without_vapour_has_no_dew_point():
    assert np.isnan(vapour.dew_point_c([0.0, -0.1])).all()
    assert np.isnan(vapour.frost_point_c(0.0))


def test_a_missing_hour_stays_missing():
    kpa = vapour.vapour_kpa([np.nan, 5.0, 5.0], [80.0, np.nan, 80.0])
    for values in (kpa, vapour.dew_point_c(kpa), vapour.deficit_kpa(kpa, 5.0)):
        assert np.isnan(values).tolist() == [True, True, False]


def test_no_hours_give_no_hours():
    assert vapour.frost_point_c(vapour.vapour_kpa([], [])).size == 0


def test_vapour_by_mass_and_by_pressure_are_one():
    kpa = np.linspace(0.001, 7.0, 100)
    ratio = moist_air.humidity_ratio(kpa)
    assert moist_air.ratio_vapour_kpa(ratio) == pytest.approx(kpa)


def test_a_wet_bulb_as_warm_as_the_air_means_saturation():
    saturated = moist_air.humidity_ratio(vapour.surface_kpa(CELSIUS))
    assert moist_air.wet_bulb_ratio(CELSIUS, CELSIUS) == pytest.approx(
        saturated, rel=1e-3
    )
