"""Local clocks, held against what zoneinfo makes of the same instants."""

from datetime import UTC, datetime, timedelta

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from wintering.ingest.clock import runs_backwards, to_utc, zone_of

# Clocks that change by an hour north and south, by half an hour, and not at all.
ZONES = (
    "America/New_York",
    "Europe/Athens",
    "Australia/Hobart",
    "Australia/Lord_Howe",
    "Asia/Tokyo",
    "UTC",
)
# The night of 2 to 3 November 2024, when New York puts its clocks back at 06:00 UTC.
EVENING = datetime(2024, 11, 2, 22, tzinfo=UTC)


def local_of(seconds, zone):
    """What a clock on the wall shows at each instant."""
    epoch = datetime(1970, 1, 1, tzinfo=UTC)
    shown = (
        (epoch + timedelta(seconds=int(s))).astimezone(zone).replace(tzinfo=UTC)
        for s in seconds
    )
    return np.array([int(at.timestamp()) for at in shown], np.int64)


def instants(first=EVENING, *, step_min, hours=16):
    start = int(first.timestamp())
    return np.arange(start, start + hours * 3600, step_min * 60, dtype=np.int64)


@given(
    st.sampled_from(ZONES),
    st.integers(0, 4 * 366),
    st.sampled_from([5, 10, 15, 20, 30, 60]),
    st.sampled_from([0, 1, 7]),
)
def test_an_unbroken_log_on_a_changing_clock_is_placed_exactly(
    name, day, step_min, odd_min
):
    zone = zone_of(name)
    first = datetime(2022, 1, 1, 0, odd_min, tzinfo=UTC) + timedelta(days=day)
    seconds = instants(first, step_min=step_min, hours=60)
    placed = to_utc(local_of(seconds, zone), zone)
    assert placed.seconds.tolist() == seconds.tolist()
    assert not placed.is_missing.any()


@pytest.mark.parametrize("step_min", [1, 10, 15, 30, 40, 60, 90, 120])
def test_the_night_of_the_change_is_placed_at_every_step(step_min):
    zone = zone_of("America/New_York")
    seconds = instants(step_min=step_min)
    placed = to_utc(local_of(seconds, zone), zone)
    assert placed.seconds.tolist() == seconds.tolist()


@pytest.mark.parametrize("repeated", [None, "first", "second"])
@pytest.mark.parametrize("step_min", [5, 15, 30])
def test_a_repeated_hour_sorted_by_the_clock_is_not_told_apart(step_min, repeated):
    zone = zone_of("America/New_York")
    shown = np.sort(local_of(instants(step_min=step_min), zone))
    placed = to_utc(shown, zone, repeated=repeated)
    assert placed.is_shuffled.sum() == 2 * 60 / step_min
    assert not placed.is_unsure.any()
    alone = placed.seconds[~placed.is_shuffled]
    assert np.isin(alone, instants(step_min=step_min)).all()


def test_one_reading_in_each_pass_stands_side_by_side_by_itself():
    zone = zone_of("America/New_York")
    seconds = instants(step_min=60)
    placed = to_utc(local_of(seconds, zone), zone)
    assert placed.seconds.tolist() == seconds.tolist()
    assert not placed.is_shuffled.any()


def test_some_times_twice_in_a_repeated_hour_are_not_settled():
    zone = zone_of("America/New_York")
    shown = np.sort(local_of(instants(step_min=15), zone))
    twice = np.flatnonzero(np.diff(shown) == 0)
    gone = [twice[1], twice[3], twice[3] + 1]  # 01:15 once, 01:45 altogether
    shown = np.delete(shown, gone)
    assert to_utc(shown, zone).is_unsure.any()


def test_a_clock_put_back_twice_in_one_night_is_not_settled():
    zone = zone_of("America/New_York")
    shown = local_of(instants(step_min=10, hours=12), zone)
    last = np.flatnonzero(np.diff(shown) < 0)[0] + 6  # the last of the second pass
    shown = np.insert(shown, last + 1, shown[last - 5 : last + 1])
    placed = to_utc(shown, zone)
    assert placed.is_unsure.sum() == 18
    assert set(shown[placed.is_unsure]) == set(shown[last - 5 : last + 1])


def test_rows_that_come_twice_anyway_are_not_a_second_pass():
    zone = zone_of("America/New_York")
    seconds = np.repeat(instants(step_min=60)[:6], 2)  # up to the first 01:00
    placed = to_utc(local_of(seconds, zone), zone)
    assert placed.seconds.tolist() == seconds.tolist()


def test_a_log_that_begins_in_the_second_pass_is_joined_to_what_follows():
    zone = zone_of("America/New_York")
    seconds = instants(datetime(2024, 11, 3, 6, tzinfo=UTC), step_min=10)
    placed = to_utc(local_of(seconds, zone), zone)
    assert placed.seconds.tolist() == seconds.tolist()


def test_a_log_that_ends_in_the_first_pass_is_joined_to_what_came_before():
    zone = zone_of("America/New_York")
    seconds = instants(step_min=10, hours=8)
    placed = to_utc(local_of(seconds, zone), zone)
    assert placed.seconds.tolist() == seconds.tolist()


def test_times_that_the_clock_skips_are_told():
    zone = zone_of("America/New_York")
    day = datetime(2024, 3, 10, tzinfo=UTC)
    shown = np.array([int(day.timestamp()) + h * 3600 for h in range(5)], np.int64)
    assert to_utc(shown, zone).is_missing.tolist() == [False, False, True, False, False]


def test_a_fixed_offset_neither_repeats_nor_skips():
    seconds = instants(step_min=30)
    placed = to_utc(seconds - 5 * 3600, zone_of("-05:00"))
    assert placed.seconds.tolist() == seconds.tolist()
    assert not placed.is_missing.any()


def test_no_times_are_no_trouble():
    assert to_utc(np.empty(0, np.int64), zone_of("Europe/Oslo")).seconds.size == 0


@pytest.mark.parametrize(
    ("text", "minutes"),
    [
        ("-05:00", -300),
        ("+0530", 330),
        ("-3", -180),
        ("UTC+2", 120),
        ("\u221205:00", -300),
        ("Z", 0),
        ("utc", 0),
        ("+14:00", 840),
    ],
)
def test_an_offset_is_a_zone(text, minutes):
    offset = zone_of(text).utcoffset(None)
    assert offset == timedelta(minutes=minutes)


@pytest.mark.parametrize("text", ["Mars", "+15:00", "-05:61", "America", "", "../UTC"])
def test_what_is_no_zone_is_refused_with_an_example(text):
    with pytest.raises(ValueError, match=r"Europe/Oslo or -05:00"):
        zone_of(text)


def test_newest_first_is_seen():
    assert runs_backwards(np.array([30, 20, 10]))
    assert not runs_backwards(np.array([10, 20, 5, 30]))
