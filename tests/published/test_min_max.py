"""Hours rebuilt from minimum and maximum, against hours computed from the equations."""

import re
from datetime import date

import numpy as np

from tests.published.rows import Row, rows_of
from wintering.science.min_max import DailyExtremes, reconstruct
from wintering.science.sun import daylength_h, equation_of_time_min

LATITUDE = 45.0

DAYS = DailyExtremes(
    first=date(2025, 1, 14),
    min_c=np.array([-3.0, -2.0, -4.0]),
    max_c=np.array([5.0, 6.0, np.nan]),
)

ON_THE_HOUR = -15 * (0.5 + float(equation_of_time_min(15)) / 60)
"""A longitude at which the middle of a clock hour is a whole solar hour."""


def _at_solar_hour(hour: int) -> float:
    """What is rebuilt for a solar hour of the middle day."""
    found = reconstruct(DAYS, latitude_deg=LATITUDE, longitude_deg=ON_THE_HOUR)
    midnight = (date(2025, 1, 15) - date(1970, 1, 1)).days * 24
    return float(found.curve_c[midnight + hour - found.first_hour])


@rows_of("Linvill reconstruction day 15")
def test_hours_of_the_day(row: Row):
    row.check(_at_solar_hour(int(re.search(r"hour=(\d+)", row.series)[1])))


@rows_of("Linvill reconstruction: sunrise day 15")
def test_sunrise(row: Row):
    row.check(12 - float(daylength_h(LATITUDE, 15)) / 2)


@rows_of("Linvill reconstruction: temperature at sunset day 15")
def test_sunset_holds_through_the_hour_after_it(row: Row):
    sunset_h = 12 + float(daylength_h(LATITUDE, 15)) / 2
    assert 16 < sunset_h < 17
    row.check(_at_solar_hour(17))
