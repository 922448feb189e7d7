"""The invented winter's days, moved to today."""

from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from wintering.web.demo.story import Story

NARROWS = ZoneInfo("America/New_York")


def story_at(*when: int) -> Story:
    return Story.at(datetime(*when, tzinfo=NARROWS))


@pytest.mark.parametrize(
    "today",
    [
        (2026, 11, 23, 0, 5),
        (2026, 11, 25, 6),
        (2026, 11, 29, 23, 55),
        (2027, 7, 14, 12),
    ],
)
def test_today_lies_in_the_week_of_the_freeze(today):
    story = story_at(*today)
    monday = story.day("2025-01-20")
    assert monday.weekday() == 0
    assert monday <= story.now.date() < monday + timedelta(days=7)


def test_days_keep_their_weekday():
    story = story_at(2026, 11, 25, 6)
    assert story.shift == timedelta(weeks=96)
    assert story.day("2024-11-09") == date(2026, 9, 12)
    assert story.day("2024-11-09").weekday() == date(2024, 11, 9).weekday()


def test_moments_keep_the_frames_wall_clock_across_a_change_of_clocks():
    story = story_at(2026, 11, 25, 6)  # clocks went back on 1 November 2026
    before, after = story.moment("2024-11-19T17:10"), story.moment("2025-01-04T11:30")
    assert (before.hour, before.utcoffset()) == (17, timedelta(hours=-4))
    assert (after.hour, after.utcoffset()) == (11, timedelta(hours=-5))


def test_the_day_is_the_frames_and_not_the_servers():
    # 03:00 UTC on Monday is still Sunday at the frame.
    story = Story.at(datetime(2026, 11, 30, 3, tzinfo=ZoneInfo("UTC")))
    assert story.day("2025-01-20") == date(2026, 11, 23)


def test_what_lies_ahead_has_not_come():
    story = story_at(2026, 11, 24, 9)  # the morning after the freeze, 09:00
    assert story.has_come("2025-01-21T08:05")
    assert not story.has_come("2025-01-21T09:20")


def test_days_in_texts_move_along():
    story = story_at(2026, 11, 25, 6)
    assert story.words("Clear on {2024-11-16}.") == "Clear on 19 September 2026."
    assert story.words("Nothing to move.") == "Nothing to move."
