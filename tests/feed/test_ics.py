"""Events as text, held against RFC 5545 and RFC 7986."""

import os
import subprocess
import sys
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

import icalendar
import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from tests.feed.reading import read, unfolded
from wintering.feed.ics import Entry, one_line, render, text

CHANGED = datetime(2025, 1, 20, 12, 0, 0, 654321, tzinfo=UTC)
BERLIN, NEW_YORK = ZoneInfo("Europe/Berlin"), ZoneInfo("America/New_York")
DAY, HOUR = timedelta(days=1), timedelta(hours=1)

WHOLE_DAY = Entry(
    uid="watering-1@calendar.wintering.invalid",
    sequence=3,
    changed_at=CHANGED,
    start=date(2025, 1, 21),
    end=date(2025, 1, 22),
    summary="Check moisture: Long Frame, 12 trees",
    description="N1-01f T-001 Acer palmatum\nN1-01b T-002 Larix",
    location="Long Frame",
    categories=("Watering",),
    remind_before=timedelta(hours=6),
)
NIGHT = replace(
    WHOLE_DAY,
    uid="cold-2@calendar.wintering.invalid",
    start=datetime(2025, 1, 20, 18, tzinfo=NEW_YORK),
    end=datetime(2025, 1, 21, 8, tzinfo=NEW_YORK),
    categories=("Alert", "Frost"),
    remind_before=timedelta(hours=3),
)
NASTY = 'Comma, semicolon; back\\slash "quote"\r\nCR\rLF\nNUL\x00BEL\x07 \u2028 盆栽 🌲'


def event_of(entry):
    [event] = read(render("Wintering", [entry])).named("VEVENT")
    return event


class TestTheWhole:
    def test_its_bytes_are_these(self):
        assert render("Wintering", [WHOLE_DAY]).decode() == "\r\n".join(
            [
                "BEGIN:VCALENDAR",
                "VERSION:2.0",
                "PRODID:-//Wintering//Wintering calendar 1//EN",
                "NAME:Wintering",
                "X-WR-CALNAME:Wintering",
                "COLOR:darkolivegreen",
                "REFRESH-INTERVAL;VALUE=DURATION:PT6H",
                "X-PUBLISHED-TTL:PT6H",
                "BEGIN:VEVENT",
                "SUMMARY:Check moisture: Long Frame\\, 12 trees",
                "DTSTART;VALUE=DATE:20250121",
                "DTEND;VALUE=DATE:20250122",
                "DTSTAMP:20250120T120000Z",
                "UID:watering-1@calendar.wintering.invalid",
                "SEQUENCE:3",
                "CATEGORIES:Watering",
                "DESCRIPTION:N1-01f T-001 Acer palmatum\\nN1-01b T-002 Larix",
                "LAST-MODIFIED:20250120T120000Z",
                "LOCATION:Long Frame",
                "STATUS:CONFIRMED",
                "TRANSP:TRANSPARENT",
                "BEGIN:VALARM",
                "ACTION:DISPLAY",
                "DESCRIPTION:Check moisture: Long Frame\\, 12 trees",
                "TRIGGER:-PT6H",
                "END:VALARM",
                "END:VEVENT",
                "END:VCALENDAR",
                "",
            ]
        )

    def test_two_processes_with_other_hash_seeds_write_the_same(self):
        written = {_in_a_process_of_its_own(seed) for seed in ("1", "4021")}
        assert written == {render("Wintering", [WHOLE_DAY, NIGHT])}

    def test_the_order_of_the_entries_does_not_matter(self):
        both = [WHOLE_DAY, NIGHT]
        assert render("Wintering", both) == render("Wintering", both[::-1])

    def test_it_holds_nothing_that_some_programs_stumble_over(self):
        calendar = read(render("Wintering", [WHOLE_DAY, NIGHT]))
        for name in ("METHOD", "UID", "SOURCE", "IMAGE", "X-WR-TIMEZONE"):
            assert name not in calendar
        assert {part.name for part in calendar.parts} == {"VEVENT"}
        for event in calendar.parts:
            assert "RRULE" not in event
            assert "TZID" not in str(event.lines)
            for name in ("ORGANIZER", "ATTENDEE", "URL", "DURATION"):
                assert name not in event

    def test_the_name_is_one_escaped_line_of_at_most_80_characters(self):
        calendar = read(render("A, B; " + "x" * 100 + "\nC", [WHOLE_DAY]))
        assert calendar.text("NAME") == "A, B; " + "x" * 74
        assert calendar["NAME"] == calendar["X-WR-CALNAME"]

    def test_a_lenient_reader_finds_no_fault_either(self):
        calendar = icalendar.Calendar.from_ical(render("W", [WHOLE_DAY, NIGHT]))
        assert all(not part.errors for part in calendar.walk())
        assert len(calendar.events) == 2


class TestText:
    @pytest.mark.parametrize("field", ["summary", "description", "location"])
    @pytest.mark.parametrize("words", [NASTY, NASTY * 8, "🌲" * 500, "，盆" * 250])
    def test_any_words_are_escaped_and_folded(self, field, words):
        body = render("Wintering", [replace(WHOLE_DAY, **{field: words})])
        [event] = read(body).named("VEVENT")
        shown = event.text(field.upper())
        assert shown.startswith(words[:5])
        assert "\x00" not in shown
        [same] = icalendar.Calendar.from_ical(body).events
        assert str(same[field]) == shown

    def test_line_ends_become_newlines_in_descriptions_and_spaces_in_titles(self):
        event = event_of(replace(WHOLE_DAY, summary=NASTY, description=NASTY))
        assert event.text("DESCRIPTION") == (
            'Comma, semicolon; back\\slash "quote"\nCR\nLF\nNULBEL \n 盆栽 🌲'
        )
        assert event.text("SUMMARY") == (
            'Comma, semicolon; back\\slash "quote" CR LF NULBEL 盆栽 🌲'
        )

    def test_titles_and_descriptions_have_their_longest(self):
        event = event_of(replace(WHOLE_DAY, summary="s" * 500, description="d" * 5000))
        assert len(event.text("SUMMARY")) == 120
        assert len(event.text("DESCRIPTION")) == 2000

    @example("\ufeff", "")
    @example("", "\ufeff")
    @given(st.text(max_size=400), st.text(max_size=400))
    def test_no_words_break_the_format(self, summary, description):
        entry = replace(WHOLE_DAY, summary=summary, description=description)
        event = event_of(entry)
        assert event.text("SUMMARY") == one_line(summary, 120)
        if text(description, 2000):
            assert event.text("DESCRIPTION") == text(description, 2000)
        else:
            assert "DESCRIPTION" not in event

    def test_a_tab_stays(self):
        assert text("a\tb", 10) == "a\tb"

    def test_lines_are_folded_at_75_octets(self):
        lines = render("W", [replace(WHOLE_DAY, summary="楡" * 60)]).split(b"\r\n")
        assert max(len(line) for line in lines) <= 75
        assert any(len(line) > 70 for line in lines)
        assert "SUMMARY:" + "楡" * 60 in unfolded(
            render("W", [replace(WHOLE_DAY, summary="楡" * 60)])
        )


class TestTimes:
    def test_whole_days_end_on_the_day_after(self):
        event = event_of(WHOLE_DAY)
        assert event.parameters("DTSTART") == {"VALUE": "DATE"}
        assert (event["DTSTART"], event["DTEND"]) == ("20250121", "20250122")

    @pytest.mark.parametrize(
        ("start", "end", "written"),
        [
            (date(2028, 2, 28), date(2028, 2, 29), ("20280228", "20280229")),
            (date(2028, 2, 29), date(2028, 3, 1), ("20280229", "20280301")),
            (date(2024, 12, 31), date(2025, 1, 1), ("20241231", "20250101")),
        ],
    )
    def test_leap_days_and_years_change_as_the_calendar_does(self, start, end, written):
        event = event_of(replace(WHOLE_DAY, start=start, end=end))
        assert (event["DTSTART"], event["DTEND"]) == written

    @pytest.mark.parametrize(
        ("start", "written"),
        [
            # Clocks go forward at 02:00 on 29 March 2026: 02:30 is skipped.
            (datetime(2026, 3, 29, 2, 30, tzinfo=BERLIN), "20260329T013000Z"),
            (datetime(2026, 3, 29, 1, 30, tzinfo=BERLIN), "20260329T003000Z"),
            (datetime(2026, 3, 29, 3, 30, tzinfo=BERLIN), "20260329T013000Z"),
            # They go back at 03:00 on 25 October 2026: 02:30 comes twice.
            (datetime(2026, 10, 25, 2, 30, tzinfo=BERLIN), "20261025T003000Z"),
            (datetime(2026, 10, 25, 2, 30, tzinfo=BERLIN, fold=1), "20261025T013000Z"),
            (datetime(2025, 3, 9, 2, 30, tzinfo=NEW_YORK), "20250309T073000Z"),
            (datetime(2024, 11, 3, 1, 30, tzinfo=NEW_YORK), "20241103T053000Z"),
        ],
    )
    def test_instants_are_utc_on_both_nights_of_clock_change(self, start, written):
        end = start.astimezone(UTC) + HOUR
        event = event_of(replace(WHOLE_DAY, start=start, end=end))
        assert event["DTSTART"] == written
        assert event.parameters("DTSTART") == {}

    def test_the_stamp_is_the_time_of_change_in_whole_seconds(self):
        event = event_of(WHOLE_DAY)
        assert event["DTSTAMP"] == event["LAST-MODIFIED"] == "20250120T120000Z"

    @pytest.mark.parametrize(
        "change",
        [
            {"end": date(2025, 1, 21)},
            {"end": date(2025, 1, 20)},
            {"end": CHANGED + 9 * DAY},
        ],
    )
    def test_an_end_that_is_none_is_refused(self, change):
        with pytest.raises(ValueError, match="must end after it starts"):
            event_of(replace(WHOLE_DAY, **change))

    def test_an_instant_without_a_zone_is_refused(self):
        naive = datetime(2025, 1, 20, 18)  # noqa: DTZ001 - the mistake under test
        with pytest.raises(ValueError, match="names no time zone"):
            event_of(replace(WHOLE_DAY, start=naive, end=naive + HOUR))


class TestCancelledAndReminders:
    def test_what_is_cancelled_says_so_and_reminds_of_nothing(self):
        event = event_of(replace(WHOLE_DAY, is_cancelled=True, is_tentative=True))
        assert event["STATUS"] == "CANCELLED"
        assert event.text("SUMMARY").startswith("Cancelled: Check moisture")
        assert event.parts == []

    def test_what_may_still_go_away_is_tentative(self):
        assert event_of(replace(WHOLE_DAY, is_tentative=True))["STATUS"] == "TENTATIVE"

    def test_nobody_is_made_busy(self):
        assert event_of(NIGHT)["TRANSP"] == "TRANSPARENT"

    def test_there_is_one_reminder_and_it_comes_before(self):
        [alarm] = event_of(NIGHT).parts
        assert alarm.name == "VALARM"
        assert alarm["TRIGGER"] == "-PT3H"
        assert {name for name, _, _ in alarm.lines} == {
            "ACTION",
            "DESCRIPTION",
            "TRIGGER",
        }

    def test_a_reminder_afterwards_is_refused(self):
        with pytest.raises(ValueError, match="comes before"):
            event_of(replace(WHOLE_DAY, remind_before=-HOUR))

    def test_several_categories_are_a_list(self):
        assert event_of(NIGHT)["CATEGORIES"] == "Alert,Frost"


def _in_a_process_of_its_own(seed: str) -> bytes:
    script = (
        "import sys; from wintering.feed.ics import render; "
        "from tests.feed.test_ics import NIGHT, WHOLE_DAY; "
        "sys.stdout.buffer.write(render('Wintering', [NIGHT, WHOLE_DAY]))"
    )
    environment = {**os.environ, "PYTHONHASHSEED": seed}
    root = Path(__file__).parent.parent.parent
    return subprocess.run(
        [sys.executable, "-c", script],
        cwd=root,
        env=environment,
        check=True,
        capture_output=True,
    ).stdout
