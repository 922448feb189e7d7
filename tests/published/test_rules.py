"""The rules for gaps, clocks, duplicates and faults, row by row of the table."""

import re
from datetime import date, timedelta
from zoneinfo import ZoneInfo

import numpy as np
import pytest

from tests.published.rows import Row, rows_named
from wintering.science import chill
from wintering.science.days import local_days
from wintering.science.dynamic import portions
from wintering.science.forcing import daily_means
from wintering.science.screening import Quality, judge
from wintering.science.series import Hourly, bridge, hourly_means
from wintering.science.units import f_to_c

HOUR_S = 3600
BERLIN = ZoneInfo("Europe/Berlin")


@rows_named("EDGE-GAP1")
def test_one_missing_hour_is_bridged(row: Row):
    hourly = bridge(hourly_means([0, HOUR_S, 3 * HOUR_S], [6.0, 6.0, 6.0]))
    assert hourly.c.tolist() == [6, 6, 6, 6], row.source
    assert hourly.bridged.tolist() == [False, False, True, False]
    found = chill.totals(hourly)
    assert (found.chill_hours_0_7, found.bridged_hours, found.gap_hours) == (4, 1, 0)


@rows_named("EDGE-GAP2")
def test_five_missing_hours_stay_missing_and_hold_the_intermediate(row: Row):
    c = np.concatenate([np.full(10, 6.0), np.full(5, np.nan), np.full(10, 6.0)])
    found = chill.totals(bridge(Hourly.measured(0, c)))
    assert (found.hours, found.gap_hours) == (20, 5), row.source
    assert found.chill_hours_0_7 == 20
    assert found.chill_hours_0_7_high == 25
    assert portions(c).state.x == portions(np.full(20, 6.0)).state.x


@rows_named("EDGE-DST1", "EDGE-DST2")
def test_a_day_of_a_clock_change_is_whole_with_the_hours_it_has(row: Row):
    day = date.fromisoformat(re.search(r"\d{4}-\d\d-\d\d", row.series)[0])
    hours = int(row.expected.split()[0])
    assert hours == {10: 25, 3: 23}[day.month]
    days = local_days(day, day + timedelta(days=1), BERLIN)
    hourly = Hourly.measured(days.first_hour, np.full(hours, 5.0))
    assert days.end_hour - days.first_hour == hours, row.source
    assert daily_means(hourly, days).tolist() == [5.0]
    assert chill.totals(hourly).chill_hours_0_7 == hours


@rows_named("EDGE-DUP")
def test_identical_rows_count_once(row: Row):
    twice = hourly_means([0, 0, 600, 600], [4.0, 4.0, 8.0, 8.0])
    once = hourly_means([0, 600], [4.0, 8.0])
    assert twice.c.tolist() == once.c.tolist() == [6.0], row.source


@rows_named("EDGE-10MIN")
def test_ten_minute_readings_around_the_limit_count_as_their_mean(row: Row):
    hourly = hourly_means(np.arange(6) * 600, [6.9, 7.0, 7.1, 7.3, 7.4, 7.5])
    assert hourly.c.tolist() == [7.2], row.source
    assert chill.totals(hourly).chill_hours_0_7 == 1


@rows_named("EDGE-ORDER")
def test_the_order_of_readings_does_not_matter(row: Row):
    rng = np.random.default_rng(7)
    seconds, c = np.arange(2000) * 600, rng.normal(5, 4, 2000)
    shuffled = rng.permutation(2000)
    found = chill.totals(hourly_means(seconds[shuffled], c[shuffled]))
    assert found == chill.totals(hourly_means(seconds, c)), row.source


@rows_named("EDGE-SPLIT")
def test_portions_of_two_accounts_do_not_add_up_to_one(row: Row):
    assert portions(np.full(20, 5.0)).total[-1] == 0
    joined = portions(np.full(40, 5.0)).total[-1]
    assert joined == pytest.approx(0.841314, rel=0, abs=5e-7), row.source
    assert "0.841314" in row.expected


@rows_named("EDGE-F")
def test_forty_five_fahrenheit_is_just_over_the_limit_in_celsius(row: Row):
    assert f_to_c(45.0) == pytest.approx(7.2222, abs=5e-5), row.source
    assert chill.chill_hours_0_7(f_to_c(45.0)) == 0


@rows_named("EDGE-ERR")
def test_values_that_probes_write_for_no_value_are_set_aside(row: Row):
    found = judge([0, 600, 1200, 1800], [4.0, 85.0, -127.0, 4.0])
    code = Quality.CODE_VALUE
    assert found.tolist() == [Quality.GOOD, code, code, Quality.GOOD], row.source
