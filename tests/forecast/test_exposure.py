"""Where the local days of a tree begin."""

from datetime import date, timedelta
from zoneinfo import ZoneInfo

import pytest

from wintering.forecast.queries.exposure import midnight_hour
from wintering.science.days import local_days


@pytest.mark.parametrize(
    ("zone", "hour"),
    [
        # midnight is 03:30 UTC there: the first clock hour that begins in the day
        ("America/St_Johns", 482356),
        ("Asia/Kolkata", 482347),
        ("America/New_York", 482357),
        ("UTC", 482352),
    ],
)
def test_a_day_begins_with_the_same_hour_wherever_it_is_counted(zone, hour):
    day = date(2025, 1, 10)
    days = local_days(day, day + timedelta(days=1), ZoneInfo(zone))
    assert midnight_hour(day, ZoneInfo(zone)) == days.first_hour == hour
