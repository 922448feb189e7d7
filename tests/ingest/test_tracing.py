"""One reading back to its line, and what a preview says that it rests on."""

import gzip
import hashlib
import io
from pathlib import Path

import pytest
from django.conf import settings
from django.test import Client as Browser

from tests import make
from tests.ingest.bringing import (
    LOG,
    NOON,
    OTHER,
    OWN,
    bring,
    browser_of,
    page,
    send,
    words,
)
from wintering.ingest.intake import import_log
from wintering.ingest.kept import line_of


@pytest.fixture(autouse=True)
def _january(time_machine):
    time_machine.move_to(NOON)


@pytest.fixture
def frame(db):
    frame = make.frame(name="Long Frame", slug="long-frame", time_zone="Europe/Oslo")
    make.microclimate(frame=frame, name="floor", slug="floor")
    return frame


@pytest.fixture
def helper(frame) -> Browser:
    return browser_of(make.helper())


def origin(browser, frame, at):
    sensor = frame.sensors.get()
    return words(browser.get(f"/climate/sensors/{sensor.pk}/readings/", {"at": at}))


@pytest.mark.parametrize("at", ["2025-01-19T11:00", "2025-01-19T10:00:00Z"])
def test_a_reading_is_traced_to_its_line(helper, frame, at):
    log = bring(frame)
    text = origin(helper, frame, at)
    assert f'href="{page(log)}">a.csv</a>, row 3' in text
    assert '<code class="raw-line">2025-01-19 11:00,0.5</code>' in text
    assert "<strong>0.5 °C</strong>" in text


def test_the_other_value_at_an_instant_is_shown_too(helper, frame):
    bring(frame)
    log = bring(frame, OTHER, name="b.csv")
    text = origin(helper, frame, "2025-01-19T11:00")
    assert (
        f'9.5 °C from <a class="row-link" href="{page(log)}">b.csv</a>, row 3' in text
    )
    assert "not settled yet" in text


def test_the_nearest_reading_is_said_to_be_the_nearest(helper, frame):
    bring(frame)
    assert "this is the nearest" in origin(helper, frame, "2025-01-19T11:10")
    assert "No reading within two days" in origin(helper, frame, "2025-03-19T11:10")


def test_a_reading_set_aside_says_why(helper, frame):
    bring(frame, LOG.replace("0.5", "85.0"))
    text = origin(helper, frame, "2025-01-19T11:00")
    assert "<strong>no, set aside</strong>" in text
    assert "a value that loggers and probes write when they have none" in text


def test_half_a_time_is_refused(helper, frame):
    bring(frame)
    assert "Write the time like" in origin(helper, frame, "noon")


@pytest.mark.parametrize("encoding", ["utf-8-sig", "utf-16", "cp1252"])
def test_a_line_is_read_in_the_files_own_letters(helper, frame, encoding):
    text = LOG.replace("\n", "\r\n").replace("R1 (°C)", "R1 (°C),note")
    text = text.replace("0.5", "0.5,Tür auf")
    import_log(
        file=io.BytesIO(text.encode(encoding)),
        file_name="a.csv",
        frame=frame,
        by=None,
        mapping=OWN,
        zone="Europe/Oslo",
    )
    assert ">2025-01-19 11:00,0.5,Tür auf</code>" in origin(
        helper, frame, "2025-01-19T11:00"
    )


def test_a_time_that_clocks_showed_twice_gives_both_readings(helper, frame):
    text = "time,R1 (°C)\n2024-10-27 00:30Z,1\n2024-10-27 01:30Z,2\n"
    bring(frame, text)
    found = origin(helper, frame, "2024-10-27T02:30")
    assert "UTC+02:00" in found
    assert "UTC+01:00" in found


def test_the_preview_tells_what_each_thing_rests_on(helper, frame):
    file = io.BytesIO(
        "time;R1 (°C)\n19.01.2025 10:00;0,4\n20.01.2025 11:00;0,5\n".encode()
    )
    file.name = "a.csv"
    helper.post("/climate/import/", {"log": file, "frame": frame.pk})
    told = {
        one.label: one
        for one in helper.get("/climate/import/preview/").context["seen"].understood
    }
    assert told["Decimal mark"].words == "comma"
    assert told["Between the columns"].words == "semicolon"
    assert told["Form"].words == "a column a sensor"
    assert told["Times"].words == "from column time"
    assert told["Time zone"].whence == "the file does not say it"
    answer = send(helper, {"again": "yes", "zone": "-05:00"})
    told = {one.label: one for one in answer.context["seen"].understood}
    assert (told["Time zone"].words, told["Time zone"].whence) == (
        "-05:00",
        "as you said",
    )
    assert told["Dates"].whence == "the dates in the file leave no other way"


def test_an_hour_that_clocks_show_twice_is_asked_for_and_answered(helper, frame):
    text = "time,R1 (°C)\n2024-10-27 02:10,0.1\n2024-10-27 02:50,0.2\n"
    file = io.BytesIO(text.encode())
    file.name = "a.csv"
    helper.post("/climate/import/", {"log": file, "frame": frame.pk})
    sent = {"again": "yes", "zone": "Europe/Oslo"}
    answer = send(helper, sent)
    assert answer.context["seen"].about == "repeated_hour"
    assert 'name="repeated_hour"' in words(answer)
    sent["repeated_hour"] = "second"
    answer = send(helper, sent)
    assert answer.context["seen"].first.isoformat() == "2024-10-27T01:10:00+00:00"


@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
def test_each_line_of_a_long_file_is_found_by_its_number(frame, end):
    """The file is read in blocks of a megabyte; lines at their seams count too."""
    rows = [
        f"2025-01-19 10:00:{n % 60:02d}Z,{n / 1000:.3f},{'x' * 20}"
        for n in range(60_000)
    ]
    text = end.join(["time,R1 (°C),note", *rows])
    digest = hashlib.sha256(text.encode()).hexdigest()
    log = make.log_import(frame=frame, sha256=digest, kept=f"logs/{digest}.gz")
    place = Path(settings.MEDIA_ROOT) / log.kept
    place.parent.mkdir(parents=True, exist_ok=True)
    place.write_bytes(gzip.compress(text.encode(), 1))
    for row in (1, 2, 18_000, 23_830, 23_831, 23_832, 47_661, 60_001):
        assert line_of(log, row) == text.split(end)[row - 1]
    assert line_of(log, 60_002) is None


@pytest.mark.parametrize(
    "at", ["0001-01-01T00:00", "1969-06-01T00:00", "9999-12-31T23:59"]
)
def test_a_time_at_which_nothing_is_measured_is_refused(helper, frame, at):
    bring(frame)
    assert "lie between 1970 and 2100" in origin(helper, frame, at)
