from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import numpy as np
import pytest

from wintering.science.days import local_days
from wintering.science.forcing import daily_means
from wintering.science.series import Hourly

NEW_YORK = ZoneInfo("America/New_York")


def _hour(*when: int) -> int:
    return int(datetime(*when, tzinfo=UTC).timestamp()) // 3600


def test_days_begin_at_local_midnight():
    days = local_days(date(2026, 11, 25), date(2026, 11, 27), NEW_YORK)
    assert len(days) == 2
    assert days.first_hour == _hour(2026, 11, 25, 5)
    assert days.end_hour == _hour(2026, 11, 27, 5)
    assert days.day(1) == date(2026, 11, 26)
    assert days.last_hours.tolist() == [23, 47]


# clocks of New York in 2026: forward on 8 March, back on 1 November (tz database)
@pytest.mark.parametrize(
    ("day", "hours"), [(date(2026, 3, 8), 23), (date(2026, 11, 1), 25)]
)
def test_the_days_of_a_clock_change_have_an_hour_less_or_more(day: date, hours: int):
    days = local_days(day - timedelta(days=1), day + timedelta(days=2), NEW_YORK)
    assert np.diff(days.starts).tolist() == [24, hours, 24]


def test_a_zone_half_an_hour_off_has_whole_days_too():
    days = local_days(date(2026, 1, 1), date(2026, 1, 3), ZoneInfo("Asia/Kolkata"))
    assert days.first_hour == _hour(2025, 12, 31, 19)
    assert np.diff(days.starts).tolist() == [24, 24]


def test_no_days_have_no_sums():
    days = local_days(date(2026, 1, 1), date(2026, 1, 1), UTC)
    assert len(days) == 0
    assert daily_means(Hourly.measured(0, []), days).size == 0
    assert len(local_days(date(2026, 1, 2), date(2026, 1, 1), UTC)) == 0


def test_a_day_that_lacks_an_hour_is_missing():
    days = local_days(date(2026, 1, 1), date(2026, 1, 4), UTC)
    c = np.repeat([1.0, 2.0, 3.0], 24)
    c[30] = np.nan
    found = daily_means(Hourly.measured(days.first_hour, c), days)
    np.testing.assert_array_equal(found, [1, np.nan, 3])
    late = Hourly.measured(days.first_hour + 1, c)
    assert np.isnan(daily_means(late, days)[0])
