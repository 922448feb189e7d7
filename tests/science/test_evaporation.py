from datetime import date
from zoneinfo import ZoneInfo

import numpy as np
import pytest

from wintering.science import evaporation as ev
from wintering.science.days import local_days

CELSIUS = np.linspace(-40, 50, 91)
PERCENT = np.linspace(0.5, 100, 100)[:, np.newaxis]
SUN = np.linspace(0, 400, 41)[:, np.newaxis]
BERLIN = ZoneInfo("Europe/Berlin")
NAN = np.nan


@pytest.mark.parametrize("net", [0.0, 30.0, 400.0])
def test_drier_air_never_asks_for_less(net):
    found = ev.frame_hours_mm(CELSIUS, PERCENT, net)
    assert (np.diff(found, axis=0) <= 0).all()
    assert (found >= 0).all()


@pytest.mark.parametrize("rh", [0.5, 60.0, 100.0])
def test_more_sun_never_asks_for_less(rh):
    found = ev.frame_hours_mm(CELSIUS, rh, SUN)
    assert (np.diff(found, axis=0) >= 0).all()


def test_saturated_air_in_the_dark_asks_for_nothing():
    assert (ev.frame_demand_mm_d(CELSIUS, 0.0, 0.0) == 0).all()


def test_demand_vanishes_as_air_and_sun_do():
    shrinking = 10.0 ** -np.arange(6)
    found = ev.frame_demand_mm_d(3.0, 0.2 * shrinking, 20 * shrinking)
    np.testing.assert_allclose(found / found[0], shrinking)


def test_a_fan_dries_and_still_air_keeps():
    fan, usual, still = (
        ev.frame_demand_mm_d(5.0, 0.2, 0.0, resistance_s_m=resistance)
        for resistance in (ev.FAN_S_M, ev.USUAL_S_M, ev.STILL_S_M)
    )
    assert fan == pytest.approx(2 * usual)
    assert still == pytest.approx(usual * 2 / 3)


def test_a_frame_in_winter_asks_for_tenths_of_a_millimetre_a_day():
    # 3 °C, 85 %, sixty W/m² for six hours
    net = np.where(np.arange(24) // 6 == 2, ev.net_sun_wm2(60.0, 0.3), 0.0)
    assert 0.2 < ev.frame_hours_mm(np.full(24, 3.0), np.full(24, 85.0), net).sum() < 0.6


def test_still_wind_counts_as_half_a_metre_a_second():
    calm, least = ev.reference_daily_mm(15.0, 5.0, lacking_kpa=0.5, wind_ms=[0.0, 0.5])
    assert calm == least


def test_drier_air_never_asks_for_less_in_the_open():
    deficit = np.linspace(0, 3, 50)
    for reference in (ev.reference_daily_mm, ev.reference_hourly_mm):
        found = reference(20.0, 1.0, lacking_kpa=deficit, wind_ms=2.0)
        assert (np.diff(found) > 0).all()


def test_a_missing_hour_stays_missing():
    found = ev.frame_hours_mm([NAN, 5, 5, 5], [80, NAN, 80, 80], [0, 0, NAN, 0])
    assert np.isnan(found).tolist() == [True, True, True, False]


@pytest.mark.parametrize("part", [-0.1, 1.1])
def test_shade_is_a_share(part):
    with pytest.raises(ValueError, match="between 0 and 1"):
        ev.net_sun_wm2(100.0, part)


def test_a_day_needs_twenty_hours():
    days = local_days(date(2026, 12, 1), date(2026, 12, 4), BERLIN)
    hours = np.full(72, 0.02)
    hours[2:6] = NAN  # four of the first day
    hours[30:35] = NAN  # five of the second
    found = ev.daily_demand_mm(hours, days)
    np.testing.assert_allclose(found, [0.48, NAN, 0.48])


def test_a_day_of_a_clock_change_has_the_hours_it_has():
    days = local_days(date(2026, 10, 25), date(2026, 10, 26), BERLIN)
    np.testing.assert_allclose(ev.daily_demand_mm(np.full(25, 0.02), days), [0.5])


def test_hours_must_be_those_of_the_days():
    days = local_days(date(2026, 12, 1), date(2026, 12, 2), BERLIN)
    with pytest.raises(ValueError, match="23 hours for days of 24"):
        ev.daily_demand_mm(np.zeros(23), days)
