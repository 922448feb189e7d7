from datetime import date, time, timedelta

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from wintering.science import chill
from wintering.science.min_max import (
    DailyExtremes,
    MinMaxReading,
    chill_of,
    extremes,
    reconstruct,
)
from wintering.science.series import Hourly
from wintering.science.sun import daylength_h

NAN = np.nan
FIRST = date(2025, 12, 1)
MORNING, EVENING = time(8), time(18)


def _days(min_c: list[float], max_c: list[float], first: date = FIRST) -> DailyExtremes:
    return DailyExtremes(first, np.array(min_c), np.array(max_c))


def _hour(day: date) -> int:
    return (day - date(1970, 1, 1)).days * 24


@st.composite
def some_days(draw: st.DrawFn, least: int = 1) -> DailyExtremes:
    size = draw(st.integers(least, 12))
    low = draw(st.lists(st.floats(-25, 15), min_size=size, max_size=size))
    range_k = draw(st.lists(st.floats(0, 20), min_size=size, max_size=size))
    first = date(2024, 1, 1) + timedelta(days=draw(st.integers(0, 800)))
    return _days(low, list(np.add(low, range_k)), first)


places = st.tuples(st.floats(-90, 90), st.floats(-180, 180))


@given(some_days(), places)
def test_nothing_rebuilt_lies_outside_what_was_read(days, place):
    latitude, longitude = place
    found = reconstruct(days, latitude_deg=latitude, longitude_deg=longitude)
    c = found.curve_c[~np.isnan(found.curve_c)]
    assert np.all(c >= days.min_c.min() - 1e-6)
    assert np.all(c <= days.max_c.max() + 1e-6)


@given(some_days(), places)
def test_there_is_an_hour_for_every_hour_of_the_days(days, place):
    latitude, longitude = place
    found = reconstruct(days, latitude_deg=latitude, longitude_deg=longitude)
    # the equation of time moves midnight by less than half a minute a day
    assert abs(found.curve_c.size - 24 * days.min_c.size) <= 1
    turn_h = longitude / 15
    assert abs(found.first_hour - (_hour(days.first) - turn_h)) < 1


@given(some_days(least=3), st.floats(-55, 55), st.floats(-180, 180))
def test_minimum_and_maximum_come_back(days, latitude, longitude):
    found = reconstruct(days, latitude_deg=latitude, longitude_deg=longitude)
    # solar time to within the 17 minutes of the equation of time
    solar_h = found.first_hour + 0.5 + np.arange(found.curve_c.size) + longitude / 15
    for index in range(1, days.min_c.size - 1):
        day = days.first + timedelta(days=index)
        low, high = days.min_c[index], days.max_c[index]
        peak = found.curve_c[abs(solar_h - _hour(day) - 14) <= 1]
        assert peak.max() == pytest.approx(high, abs=0.02 * (high - low) + 1e-6)
        daylength = float(daylength_h(latitude, day.timetuple().tm_yday))
        sunrise = _hour(day) + 12 - daylength / 2
        dawn = found.curve_c[abs(solar_h - sunrise) <= 1.3]
        eve = np.array([days.min_c[index - 1], days.max_c[index - 1]])
        # the last hour of the shortest of these nights falls by a twelfth of its fall
        near = np.abs(eve - low).max() / 12 + 1e-6
        assert np.abs(dawn - low).min() <= near


def test_the_sun_sets_the_hours_and_no_time_zone_does():
    days = _days([0.0] * 3, [10.0] * 3)
    peaks = {}
    for longitude in (-75.0, 0.0, 135.0):
        found = reconstruct(days, latitude_deg=45, longitude_deg=longitude)
        middle = found.curve_c[24:48]
        peaks[longitude] = (found.first_hour + 24 + int(np.nanargmax(middle))) % 24
    # 14:00 solar time; in early December the sun is ten minutes ahead
    assert peaks == {-75.0: 18, 0.0: 13, 135.0: 4}


def test_the_first_night_and_the_last_are_unknown():
    found = reconstruct(_days([0.0], [10.0]), latitude_deg=45, longitude_deg=0)
    known = np.flatnonzero(~np.isnan(found.curve_c))
    # from sunrise at 7:31 to sunset at 16:29 solar time, without a hole
    assert known.size == 9
    assert np.all(np.diff(known) == 1)


def test_an_unknown_maximum_leaves_its_day_and_the_night_after_unknown():
    days = _days([0.0] * 4, [10.0, NAN, 10.0, 10.0])
    found = reconstruct(days, latitude_deg=45, longitude_deg=0)
    hours = _hour(FIRST) + 24 - found.first_hour + np.arange(72)
    missing = np.flatnonzero(np.isnan(found.curve_c[hours]))
    # from sunrise of the second day to that of the third, then the last night
    assert missing[0] in (7, 8)
    assert missing.size - (24 - 16) == pytest.approx(24, abs=1)
    assert found.known.tolist() == [True, False, True, True]


def test_an_unknown_minimum_leaves_the_night_before_its_day_unknown_too():
    days = _days([0.0, 0.0, NAN, 0.0], [10.0] * 4)
    found = reconstruct(days, latitude_deg=45, longitude_deg=0)
    hours = _hour(FIRST) + 24 - found.first_hour + np.arange(72)
    missing = np.isnan(found.curve_c[hours])
    assert not missing[9:16].any()
    assert missing[17 : 24 + 24].all()
    # its evening has no sunset temperature either; the next day is known again
    assert not missing[48 + 9 : 48 + 16].any()


def test_no_days_give_no_hours():
    found = reconstruct(_days([], []), latitude_deg=45, longitude_deg=0)
    assert found.curve_c.size == found.known.size == 0
    assert chill_of(found, 0, 24).gap_hours == 24


@pytest.mark.parametrize("first", [date(2025, 6, 15), date(2025, 12, 15)])
def test_where_the_sun_never_sets_or_rises_the_mean_stands_for_all_hours(first: date):
    days = _days([-4.0, -2.0, 0.0], [4.0, 4.0, 4.0], first)
    found = reconstruct(days, latitude_deg=70, longitude_deg=0)
    assert set(found.curve_c.tolist()) == {0.0, 1.0, 2.0}


def test_nights_of_under_an_hour_have_the_mean_of_the_day():
    first = date(2025, 6, 18)
    assert np.all(daylength_h(65.6, [169, 170, 171]) > 23)
    assert np.all(daylength_h(65.6, [169, 170, 171]) < 24)
    found = reconstruct(
        _days([2.0] * 3, [8.0] * 3, first), latitude_deg=65.6, longitude_deg=0
    )
    assert set(found.curve_c.tolist()) == {5.0}


def test_the_night_after_a_day_without_a_curve_has_the_mean_of_the_day_it_leads_to():
    # the first night of more than an hour after the solstice at 65.6° north
    lengths = daylength_h(65.6, np.arange(172, 190))
    day_of_year = 172 + int(np.argmax(lengths < 23))
    first = date(2025, 1, 1) + timedelta(days=day_of_year - 2)
    days = _days([2.0, -6.0, 0.0], [8.0, 4.0, 0.0], first)
    found = reconstruct(days, latitude_deg=65.6, longitude_deg=0)
    night = _hour(first) + 24 - found.first_hour
    # its one hour before sunrise stands between the day before and the first light
    assert found.curve_c[night - 1 : night + 1].tolist() == [5.0, -1.0]
    assert -6.0 < found.curve_c[night + 1] < -4.5


@pytest.mark.parametrize("first", [date(2025, 5, 20), date(2025, 7, 5)])
def test_where_nights_shrink_to_an_hour_nothing_runs_away(first: date):
    """The logarithm of a night of an hour or so divides by next to nothing."""
    count = 30
    days = _days([2.0] * count, [8.0] * count, first)
    for latitude in np.arange(63.0, 69.0, 0.25):
        found = reconstruct(days, latitude_deg=latitude, longitude_deg=0)
        inner = found.curve_c[24:-24]
        assert np.all((inner >= 2.0) & (inner <= 8.0)), latitude


def test_a_minimum_above_the_maximum_is_refused_with_its_day():
    with pytest.raises(ValueError, match="On 2 December 2025 the minimum is above"):
        _days([0.0, 5.0], [5.0, 0.0])
    with pytest.raises(ValueError, match="2 minima and 1 maxima"):
        _days([0.0, 5.0], [5.0])


def _read(*c: tuple[float, float], first: date = FIRST) -> list[MinMaxReading]:
    return [
        MinMaxReading(first + timedelta(days=n), low, high)
        for n, (low, high) in enumerate(c)
    ]


def test_a_maximum_read_in_the_morning_is_that_of_the_day_before():
    found = extremes(_read((9.0, 9.0), (-3.0, 5.0), (-2.0, 6.0)), reset_at=MORNING)
    assert found.first == date(2025, 11, 30)
    np.testing.assert_array_equal(found.min_c, [NAN, NAN, -3.0, -2.0])
    np.testing.assert_array_equal(found.max_c, [NAN, 5.0, 6.0, NAN])


def test_a_maximum_read_from_noon_on_is_that_of_the_day():
    for reset_at in (EVENING, time(12)):
        found = extremes(_read((9.0, 9.0), (-3.0, 5.0), (-2.0, 6.0)), reset_at=reset_at)
        np.testing.assert_array_equal(found.min_c, [NAN, NAN, -3.0, -2.0])
        np.testing.assert_array_equal(found.max_c, [NAN, NAN, 5.0, 6.0])


def test_the_first_reading_and_one_after_a_missed_day_only_set_the_thermometer():
    readings = _read((-1.0, 4.0), (-3.0, 5.0), (-9.0, 9.0), (-2.0, 6.0), (-4.0, 3.0))
    del readings[2]
    found = extremes(readings, reset_at=EVENING)
    np.testing.assert_array_equal(found.min_c, [NAN, NAN, -3.0, NAN, NAN, -4.0])
    np.testing.assert_array_equal(found.max_c, [NAN, NAN, 5.0, NAN, NAN, 3.0])


def test_no_reading_knows_no_day():
    assert extremes([], reset_at=MORNING).min_c.size == 0


def test_a_day_that_only_falls_has_both_at_the_reset():
    found = extremes(_read((9.0, 9.0), (2.2, 8.0), (-5.0, 2.0)), reset_at=MORNING)
    # the minimum read on the 2nd and the maximum read on the 3rd are both of 8:00
    assert (found.min_c[2], found.max_c[2]) == (2.2, 2.2)


def test_a_reading_the_wrong_way_round_is_refused_with_its_day():
    with pytest.raises(ValueError, match="Read on 2 December 2025, the minimum"):
        extremes(_read((1.0, 2.0), (5.0, -3.0)), reset_at=MORNING)


def test_two_readings_of_a_day_are_refused():
    readings = _read((1.0, 2.0), (1.0, 2.0))
    with pytest.raises(ValueError, match="one reading a day"):
        extremes([readings[0], readings[0]], reset_at=MORNING)
    with pytest.raises(ValueError, match="in the order of the days"):
        extremes(readings[::-1], reset_at=MORNING)


@given(some_days(least=3))
def test_chill_of_rebuilt_hours_is_that_of_the_models(days):
    found = reconstruct(days, latitude_deg=50, longitude_deg=10)
    start, end = _hour(days.first) + 24, _hour(days.first) + 24 * days.min_c.size
    totals = chill_of(found, start, end)
    c = Hourly.measured(found.first_hour, found.curve_c).window(start, end).c
    assert totals.hours + totals.gap_hours == end - start
    assert totals.chill_hours_0_7 == chill.chill_hours_0_7(c).sum()
    assert totals.portions == pytest.approx(
        float(chill.portions(c).total[-1]), abs=1e-6
    )
    assert totals.portions <= totals.portions_high


def test_rebuilt_hours_are_no_series_of_readings_and_say_what_they_are_for():
    found = reconstruct(_days([0.0], [10.0]), latitude_deg=45, longitude_deg=0)
    assert not isinstance(found, Hourly)
    # what asks for measured hours reads this name, and finds none
    assert not hasattr(found, "c")
    assert not hasattr(found, "window")
    assert "not measured" in found.use
    assert "No warning of early waking rests on it" in found.use
    assert chill_of(found, 0, 1).use == found.use
