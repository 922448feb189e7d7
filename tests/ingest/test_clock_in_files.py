"""A clock that is put back, in files: told by the rows around it, or asked about."""

import io
from datetime import UTC, datetime, timedelta

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from wintering.ingest.clock import to_utc, zone_of
from wintering.ingest.opening import Answers, OpenLog
from wintering.ingest.reading import read_log
from wintering.ingest.refusals import LogQuestion
from wintering.ingest.surveying import survey_log

NEW_YORK = zone_of("America/New_York")
# The night of 2 to 3 November 2024, when New York puts its clocks back at 06:00 UTC.
EVENING = datetime(2024, 11, 3, 3, tzinfo=UTC)


def text_of(instants, *, names=("",), backwards=False):
    """A log of local times, a row for each name at each instant."""
    rows = [
        f"{at.astimezone(NEW_YORK):%Y-%m-%d %H:%M},{name},{i % 50 / 10}"
        for i, at in enumerate(instants)
        for name in names
    ]
    return "\n".join(["time,sensor,air_c", *(rows[::-1] if backwards else rows), ""])


def every(minutes, hours=6, first=EVENING):
    return [first + timedelta(minutes=m) for m in range(0, hours * 60, minutes)]


def seconds_read(text, *, block_bytes=1 << 20, **said):
    seen = survey_log(
        io.BytesIO(text.encode()), name="log", columns=None, block_bytes=block_bytes
    )
    log = OpenLog(seen, Answers.of(zone="America/New_York", **said))
    found = {}
    for part in log.parts():
        found.setdefault(part.which, []).extend(part.seconds.tolist())
    return found


@settings(deadline=None)
@given(
    st.sampled_from([10, 15, 30, 60]),
    st.integers(30, 400),
    st.booleans(),
    st.sampled_from([("P1",), ("P1", "P2")]),
)
def test_it_makes_no_difference_where_blocks_of_lines_end(
    minutes, block_bytes, backwards, names
):
    instants = every(minutes)
    text = text_of(instants, names=names, backwards=backwards)
    expected = [int(at.timestamp()) for at in instants]
    found = seconds_read(text, block_bytes=block_bytes)
    assert list(found) == list(range(len(names)))
    for seconds in found.values():
        assert seconds == (expected[::-1] if backwards else expected)


# One pass was logged, and both neighbours fit either.
UNTOLD = (
    "time,air_c",
    *(f"2024-11-0{day} {hour:02}:00,1" for day in (2, 3) for hour in range(24)),
)


def test_a_single_pass_that_fits_both_ways_is_asked_about():
    with pytest.raises(LogQuestion) as asked:
        seconds_read("\n".join(UNTOLD))
    assert asked.value.about == "repeated_hour"
    assert "row 27 says 2024-11-03 01:00, an hour that the clocks" in str(asked.value)


@pytest.mark.parametrize(("repeated_hour", "hour"), [("first", 5), ("second", 6)])
def test_the_answer_places_it(repeated_hour, hour):
    found = seconds_read("\n".join(UNTOLD), repeated_hour=repeated_hour)[0]
    assert found[25] == int(datetime(2024, 11, 3, hour, tzinfo=UTC).timestamp())


def test_the_answer_does_not_change_what_the_rows_tell():
    text = text_of(every(15))
    expected = [int(at.timestamp()) for at in every(15)]
    for repeated_hour in ("first", "second"):
        assert seconds_read(text, repeated_hour=repeated_hour)[0] == expected


def test_a_gap_from_one_pass_into_the_other_is_asked_about():
    instants = [at for at in every(10) if not 5.5 <= at.hour + at.minute / 60 < 6.6]
    with pytest.raises(LogQuestion, match="the rows around it do not tell"):
        seconds_read(text_of(instants))


def test_a_clock_put_back_more_often_than_once_is_asked_about():
    shown = ["00:30", "01:00", "01:30", "01:00", "01:30", "01:00", "01:30", "02:00"]
    rows = [f"2024-11-03 {at},1" for at in shown]
    with pytest.raises(LogQuestion, match="row 3 says 2024-11-03 01:00"):
        seconds_read("\n".join(["time,air_c", *rows]))


@pytest.mark.parametrize("block_bytes", [100, 1 << 20])
@pytest.mark.parametrize("repeated_hour", [None, "first"])
def test_rows_sorted_by_their_times_are_left_out_where_nobody_can_tell(
    block_bytes, repeated_hour
):
    head, *rows = text_of(every(15)).splitlines()
    text = "\n".join([head, *sorted(rows)])
    seen = survey_log(io.BytesIO(text.encode()), name="log", block_bytes=block_bytes)
    told = Answers.of(zone="America/New_York", repeated_hour=repeated_hour)
    log = OpenLog(seen, told)
    found = [s for part in log.parts() for s in part.seconds.tolist()]
    start = int(EVENING.timestamp()) + 2 * 3600  # 01:00, for the first time
    expected = {int(at.timestamp()) for at in every(15)}
    assert set(found) == expected - set(range(start, start + 2 * 3600))
    assert log.rejections.count == 8
    assert "01:00 stands there twice running" in log.rejections.first[0].reason
    assert "as the logger wrote it" in log.rejections.first[0].reason


def test_a_fixed_offset_asks_nothing():
    file = io.BytesIO("\n".join(UNTOLD).encode())
    log = read_log(file, name="log", answers=Answers.of(zone="-05:00"))
    assert (np.diff(log.seconds) == 3600).all()
    assert not log.warnings


@pytest.mark.parametrize(
    "above",
    [
        ["Time zone: +02:00"],
        ["# timezone,UTC+2", "station,7"],
        ["TimeZone;Africa/Cairo"],
        ["Logger 3", "Time zone = Africa/Cairo (local)"],
    ],
)
def test_a_zone_stated_above_the_readings_wins(above):
    lines = [*above, "time,air_c", "2024-11-30 14:00,1.5", "2024-11-30 15:00,1.5"]
    file = io.BytesIO("\n".join(lines).encode())
    log = read_log(file, name="log", answers=Answers.of(zone="-05:00"))
    assert log.seconds[0] == int(datetime(2024, 11, 30, 12, tzinfo=UTC).timestamp())
    assert not log.is_naive


def test_a_zone_in_the_heading_of_the_time_wins():
    lines = ["Time (Europe/Oslo),air_c", "2024-11-30 14:00,1.5"]
    file = io.BytesIO("\n".join(lines).encode())
    log = read_log(file, name="log", answers=Answers.of(zone="-05:00"))
    assert log.seconds[0] == int(datetime(2024, 11, 30, 13, tzinfo=UTC).timestamp())


def test_a_word_that_is_no_zone_states_none():
    lines = ["Time zone: local", "time,air_c", "2024-11-30 14:00,1.5"]
    with pytest.raises(LogQuestion, match="without saying their zone"):
        read_log(io.BytesIO("\n".join(lines).encode()), name="log", answers=Answers())


def test_rows_that_cannot_be_told_are_marked_unsure():
    local = np.arange(0, 24 * 3600, 3600, dtype=np.int64)
    local += int(datetime(2024, 11, 3, tzinfo=UTC).timestamp())
    placed = to_utc(local, NEW_YORK)
    assert np.flatnonzero(placed.is_unsure).tolist() == [1]
