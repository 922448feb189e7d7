"""Warm afternoons after the chill is fulfilled, and what they do to the watch value."""

from datetime import date
from zoneinfo import ZoneInfo

import numpy as np
import pytest

from wintering.science.acclimation import RAISED_FOR, watch_raise
from wintering.science.days import local_days
from wintering.science.series import Hourly

ZONE = ZoneInfo("Europe/Berlin")
FEBRUARY = local_days(date(2027, 2, 1), date(2027, 3, 10), ZONE)
FULFILLED = date(2027, 2, 2)


def afternoons(*warm, c=13.0, at=14):
    """Air of 3 °C, and on some days of February one warmer hour."""
    hours = np.full(FEBRUARY.end_hour - FEBRUARY.first_hour, 3.0)
    for day in warm:
        hours[int(FEBRUARY.starts[day - 1]) - FEBRUARY.first_hour + at] = c
    return Hourly.measured(FEBRUARY.first_hour, hours)


def raised(air, *, fulfilled_on=FULFILLED, on):
    return watch_raise(air, FEBRUARY, fulfilled_on=fulfilled_on, on=on)


def test_two_warm_afternoons_raise_the_watch_value_for_ten_days():
    air = afternoons(10, 13)
    assert raised(air, on=date(2027, 2, 12)).raise_k == 0.0
    found = raised(air, on=date(2027, 2, 13))
    assert found.raise_k == 5.0
    assert found.until == date(2027, 2, 13) + RAISED_FOR == date(2027, 2, 23)
    assert found.afternoons == (date(2027, 2, 10), date(2027, 2, 13))
    assert raised(air, on=date(2027, 2, 22)).raise_k == 5.0
    assert raised(air, on=date(2027, 2, 23)).raise_k == 0.0
    assert "watch 5 K earlier before 23 February" in found.because


@pytest.mark.parametrize(
    "air",
    [
        afternoons(10),
        afternoons(10, 11, c=12.0),
        afternoons(10, 11, at=9),
        afternoons(10, 11, at=18),
        afternoons(1, 2),
        afternoons(5, 16),
    ],
    ids=["one", "not above", "morning", "evening", "before chill", "too far apart"],
)
def test_less_than_that_raises_nothing(air):
    found = raised(air, on=date(2027, 2, 16))
    assert found.raise_k == 0.0
    assert found.until is None


@pytest.mark.parametrize(
    ("air", "counted"),
    [
        (afternoons(), "0 afternoons above 12 °C since"),
        (afternoons(10), "1 afternoon above 12 °C since"),
        (afternoons(10, 11), "2 afternoons above 12 °C since"),
    ],
)
def test_one_afternoon_is_told_in_the_singular(air, counted):
    assert raised(air, on=date(2027, 2, 12)).because.startswith(counted)


def test_a_third_afternoon_begins_the_ten_days_anew():
    found = raised(afternoons(10, 11, 19), on=date(2027, 2, 25))
    assert found.until == date(2027, 3, 1)


def test_before_the_chill_is_fulfilled_nothing_counts():
    found = raised(afternoons(10, 11), fulfilled_on=None, on=date(2027, 2, 12))
    assert (found.raise_k, found.afternoons) == (0.0, ())
    assert "not fulfilled yet" in found.because


def test_afternoons_without_readings_are_counted_as_unknown():
    air = afternoons(10)
    hours = air.c.copy()
    start = int(FEBRUARY.starts[11]) - FEBRUARY.first_hour
    hours[start + 13] = np.nan
    found = raised(Hourly.measured(air.first_hour, hours), on=date(2027, 2, 13))
    assert (found.raise_k, found.unknown) == (0.0, 1)
