"""The invented winter's humidity: wet where a shut frame is, dry where it is not."""

import numpy as np

from wintering.science.vapour import dew_point_c, vapour_kpa
from wintering.web.demo.damp import WETTEST_PCT, humidity_pct
from wintering.web.demo.indoors import VENTS_START_C
from wintering.web.demo.outdoors import outside_c
from wintering.web.demo.shaping import STEPS, hours_of_day, step_of
from wintering.web.demo.weather import readings


def test_nights_are_wet_and_noons_drier():
    rh, hour = readings()["H1"], hours_of_day()
    night, noon = rh[hour < 6], rh[(hour > 11) & (hour < 15)]
    assert np.median(night) > 93
    assert 75 < np.median(noon) < 90
    assert rh.min() > 55
    assert rh.max() <= WETTEST_PCT


def test_open_vents_dry_the_air():
    air, rh = readings()["A1"], readings()["H1"]
    vented = air > VENTS_START_C + 0.5
    shut = (air > VENTS_START_C - 1.5) & (air < VENTS_START_C - 0.5)
    assert rh[vented].mean() < rh[shut].mean() - 3


def test_sun_after_the_power_cut_dries_the_air_before_the_pots():
    rh = readings()["H1"]
    assert rh[step_of(1, 21, 7)] > 95
    assert rh[step_of(1, 21, 12)] < 75


def test_the_dew_point_stays_between_outside_and_the_wet_pots():
    air, rh = readings()["A1"], readings()["H1"]
    dew_c = dew_point_c(vapour_kpa(air, rh))
    assert (dew_c < air + 0.1).all()
    cold = outside_c() < air - 5
    assert (dew_c[cold] > outside_c()[cold] - 3).all()


def test_air_that_keeps_its_temperature_grows_as_wet_as_its_pots():
    # Neither panes colder than the air nor leaks from drier air: 1.0 of outside.
    still = np.full(STEPS, 4.0)
    settled = humidity_pct(still, still)[1000:]
    assert 93 < settled.mean() < 98
    assert settled.std() < 1


def test_it_is_the_same_every_time():
    air = readings()["A1"]
    again = humidity_pct(air, outside_c())
    assert again.tobytes() == readings()["H1"].tobytes()
