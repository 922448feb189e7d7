"""Bringing a log in by the browser: looked at first, held for one session alone."""

import io
import os
from datetime import timedelta

import pytest
from django.core.files.storage import default_storage
from django.test import Client as Browser
from django.urls import reverse
from django.utils import timezone

from tests import make
from tests.ingest.bringing import PREVIEW, send
from wintering.climate.models import LogImport, Sensor
from wintering.ingest import waiting

START, REPORT, LEAVE = (
    "/climate/import/",
    "/climate/import/report/",
    "/climate/import/leave/",
)
LOG = """time,R1 (°C),A1 (°C),battery (V)
2025-01-19 10:00,0.4,-3.2,3.1
2025-01-19 11:00,0.5,-2.9,3.1
2025-01-19 12:00,0.6,-2.0,3.1
"""


@pytest.fixture(autouse=True)
def _january(time_machine):
    time_machine.move_to("2025-01-20 12:00:00+00:00")


@pytest.fixture
def frame(db):
    frame = make.frame(name="Long Frame", slug="long-frame", time_zone="Europe/Oslo")
    make.microclimate(frame=frame, name="floor", slug="floor")
    return frame


def browser_of(person) -> Browser:
    browser = Browser()
    browser.force_login(person)
    return browser


@pytest.fixture
def helper(frame) -> Browser:
    return browser_of(make.helper())


def log(text=LOG, name="frame.csv"):
    file = io.BytesIO(text.encode())
    file.name = name
    return file


def upload(browser, frame, text=LOG):
    return browser.post(START, {"log": log(text), "frame": frame.pk})


def words(answer) -> str:
    return " ".join(answer.content.decode().split())


def mapping(**fields):
    """Both columns taken: R1 in the root zone of the floor, A1 in the air."""
    sent = {
        "import": "yes",
        "zone": "Europe/Oslo",
        "column-0-is_taken": "on",
        "column-0-sensor": "R1",
        "column-0-place": "root",
        "column-0-microclimate": "floor",
        "column-1-is_taken": "on",
        "column-1-sensor": "A1",
        "column-1-place": "air",
    }
    together = {**sent, **fields}
    return {name: text for name, text in together.items() if text is not None}


def waiting_files() -> list[str]:
    if not default_storage.exists(waiting.FOLDER):
        return []
    return default_storage.listdir(waiting.FOLDER)[1]


def test_a_log_is_looked_at_before_anything_is_stored(helper, frame):
    answer = upload(helper, frame)
    assert answer.url == PREVIEW
    page = words(helper.get(PREVIEW))
    assert "3 readings for the Long Frame." in page
    assert "Between the columns</dt><dd>comma</dd>" in page
    assert "2025-01-19 10:00" in page
    assert "battery" in page
    assert 'name="column-0-sensor"' in page
    assert "column-2-sensor" not in page
    assert not Sensor.objects.exists()
    assert len(waiting_files()) == 1


def test_what_the_file_leaves_open_is_asked(helper, frame):
    upload(helper, frame)
    answer = helper.get(PREVIEW)
    assert answer.context["seen"].about == "zone"
    assert answer.context["seen"].question in answer.content.decode()
    answer = send(helper, mapping(zone=None))
    assert answer.status_code == 200
    assert not Sensor.objects.exists()


def test_the_question_quotes_the_file_and_is_put_once(helper, frame):
    upload(helper, frame, LOG.replace("2025-01-19", "19.01.2025"))
    for page in (helper.get(PREVIEW), send(helper, mapping(zone=None))):
        assert words(page).count("without saying their zone") == 1
        assert "times such as 19.01.2025 10:00 without" in words(page)


def test_the_next_question_is_asked_beside_what_was_answered(helper, frame):
    hour = "".join(f"03/11/2024 01:{m:02d},{m},0.4,3.1\n" for m in (5, 20, 40))
    upload(helper, frame, LOG.splitlines()[0] + "\n" + hour)
    assert helper.get(PREVIEW).context["seen"].about == "date_order"
    answer = send(helper, mapping(zone="America/New_York", date_order="dmy"))
    assert answer.context["seen"].about == "repeated_hour"
    page = answer.content.decode()
    assert 'name="repeated_hour"' in page
    assert "could be day first or month first" not in page
    assert not Sensor.objects.exists()


def test_temperatures_are_shown_as_they_are_understood(frame):
    american = make.helper()
    american.units = american.Units.FAHRENHEIT
    american.save()
    browser = browser_of(american)
    upload(browser, frame)
    sent = mapping(**{"import": None, "unit": ""})
    assert "3 values, 32.7 °F to 33.1 °F" in words(send(browser, sent))
    upload(browser, frame, LOG.replace("0.4", "NAN").replace("(°C)", "(°F)"))
    assert "2 values, 0.5 °F to 0.6 °F" in words(send(browser, sent))


def test_a_file_and_a_sensor_that_are_in_already_are_said_to_be(helper, frame):
    upload(helper, frame)
    page = words(helper.get(PREVIEW))
    assert "is in already" not in page
    assert "is there already" not in page
    send(helper, mapping())
    upload(helper, frame)
    page = words(helper.get(PREVIEW))
    assert "This very file is in already: it came in" in page
    assert "Sensor R1 is there already (root zone): its readings go on." in page


def test_the_frames_own_zone_is_chosen_by_a_button(helper, frame):
    upload(helper, frame)
    assert "The clock kept Europe/Oslo time</button>" in words(helper.get(PREVIEW))
    sent = mapping(**{"import": None, "zone": "", "own_zone": "yes"})
    answer = send(helper, sent)
    assert answer.context["seen"].zone == "Europe/Oslo"
    assert not answer.context["seen"].question
    assert answer.context["answers"]["zone"].value() == "Europe/Oslo"


def test_an_answer_is_tried_by_looking_again(helper, frame):
    upload(helper, frame)
    sent = mapping(**{"import": None, "again": "yes"})
    page = words(send(helper, sent))
    assert "From Sun 19 Jan 2025, 10:00 to Sun 19 Jan 2025, 12:00" in page
    assert not Sensor.objects.exists()


def test_an_import_stores_reports_and_removes_the_file(helper, frame):
    upload(helper, frame)
    answer = send(helper, mapping())
    assert answer.url == REPORT
    root = Sensor.objects.get(name="R1")
    assert (root.place, root.microclimate.slug) == ("root", "floor")
    page = words(helper.get(REPORT))
    assert "6 of 6 values added to the Long Frame." in page
    assert "−3.2 °C" in page
    assert LogImport.objects.get().by.role == "helper"
    assert waiting_files() == []


def test_a_column_that_is_not_taken_stays_out(helper, frame):
    upload(helper, frame)
    send(helper, mapping(**{"column-1-is_taken": None}))
    assert list(Sensor.objects.values_list("name", flat=True)) == ["R1"]


def test_the_next_log_is_suggested_as_the_last_one_was_read(helper, frame):
    upload(helper, frame)
    send(helper, mapping(**{"column-0-sensor": "probe by the wall"}))
    upload(helper, frame, LOG.replace("01-19", "01-20"))
    answer = helper.get(PREVIEW)
    assert answer.context["seen"].zone == "Europe/Oslo"
    assert not answer.context["seen"].question
    first = answer.context["columns"][0]
    assert first["sensor"].value() == "probe by the wall"
    assert (first["place"].value(), first["microclimate"].value()) == ("root", "floor")


def test_a_second_import_of_the_same_file_says_that_nothing_is_new(helper, frame):
    for _ in range(2):
        upload(helper, frame)
        send(helper, mapping())
    page = words(helper.get(REPORT))
    assert "0 of 6 values added" in page
    assert "6 were there already." in page


def test_other_values_and_unreadable_rows_are_listed(helper, frame):
    upload(helper, frame)
    send(helper, mapping())
    changed = LOG.replace("0.5,-2.9", "9.5,-2.9") + "soon,1,1,1\n"
    upload(helper, frame, changed)
    send(helper, mapping())
    page = words(helper.get(REPORT))
    assert "the stored ones stay until a keeper chooses." in page
    assert "1 value differs: choose" in page
    log = LogImport.objects.order_by("pk").last()
    beside = reverse("ingest:log-conflicts", args=[log.pk])
    assert f'href="{beside}">See them side by side' in page
    assert "T11:00:00+00:00" not in page
    assert "Row 5:" in page


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        ("", "frame.csv"),
        ("\x00\x01\x02\x00\x03" * 400, "frame.csv"),
        ("R1 (°C),A1 (°C)\n0.4,-3.2\n", "frame.csv"),
    ],
)
def test_a_file_that_is_no_log_is_refused_beside_its_field(
    helper, frame, text, sentence
):
    answer = upload(helper, frame, text)
    (refusal,) = answer.context["form"].errors["log"]
    assert sentence in refusal
    assert waiting_files() == []


def test_a_file_over_the_limit_is_refused(helper, frame, settings):
    settings.LOG_LIMIT_MB = 0
    answer = upload(helper, frame)
    assert answer.context["form"].errors["log"] == [
        "frame.csv is larger than 0 MB, the most that is read at once. Cut it into "
        "parts."
    ]


def test_a_refused_import_keeps_what_was_said(helper, frame):
    make.sensor(frame=frame, name="R1", place="air", unit="c")
    upload(helper, frame)
    answer = send(helper, mapping())
    assert "Sensor R1 is known as air, not root" in words(answer)
    assert answer.context["columns"][0]["place"].value() == "root"
    assert Sensor.objects.count() == 1
    assert len(waiting_files()) == 1


@pytest.mark.parametrize(
    ("fields", "sentence"),
    [
        ({"zone": "Oslo"}, "No time zone is called &#x27;Oslo&#x27;"),
        ({"column-0-sensor": ""}, "Name the sensor that wrote this column."),
        (
            {"column-0-is_taken": None, "column-1-is_taken": None},
            "Take at least one column.",
        ),
    ],
)
def test_half_an_answer_is_refused(helper, frame, fields, sentence):
    upload(helper, frame)
    assert sentence in words(send(helper, mapping(**fields)))
    assert not Sensor.objects.exists()


def test_the_waiting_file_is_one_sessions_alone(helper, frame):
    upload(helper, frame)
    stranger = browser_of(make.keeper())
    assert stranger.get(PREVIEW).url == START
    assert helper.get(PREVIEW).status_code == 200


def test_leaving_it_removes_the_file(helper, frame):
    upload(helper, frame)
    assert send(helper, {}, LEAVE).url == START
    assert waiting_files() == []
    assert helper.get(PREVIEW).url == START


def test_another_upload_takes_the_place_of_the_one_before(helper, frame):
    upload(helper, frame)
    upload(helper, frame)
    assert len(waiting_files()) == 1


def test_the_last_logs_date_order_is_chosen_beforehand_and_still_asked(helper, frame):
    american = LOG.replace("2025-01-19", "01/19/2025")
    upload(helper, frame, american)
    send(helper, mapping())
    upload(helper, frame, american.replace("01/19/2025", "09.01.2025"))
    answer = helper.get(PREVIEW)
    assert answer.context["seen"].about == "date_order"
    assert answer.context["answers"]["date_order"].value() == "mdy"
    answer = send(helper, mapping(date_order=""))
    assert answer.context["answers"]["date_order"].value() == "mdy"
    assert LogImport.objects.count() == 1


@pytest.mark.parametrize("address", [PREVIEW, LEAVE])
@pytest.mark.parametrize("sends_mark", [True, False])
def test_a_window_left_open_does_nothing_to_the_file_of_another(
    helper, frame, address, sends_mark
):
    upload(helper, frame)
    mark = helper.get(PREVIEW).context["mark"]
    assert f'name="waiting" value="{mark}"' in words(helper.get(PREVIEW))
    upload(helper, frame, LOG.replace("R1", "R7"))
    sent = mapping(waiting=mark if sends_mark else None)
    answer = helper.post(address, sent, follow=True)
    assert "Another file was opened since; read this one again." in words(answer)
    assert not Sensor.objects.exists()
    assert "R7 (°C)" in words(helper.get(PREVIEW))


@pytest.mark.parametrize(("hours", "left"), [(23, 1), (25, 0)])
def test_a_file_left_for_a_day_is_removed(helper, frame, hours, left):
    upload(helper, frame)
    (name,) = waiting_files()
    then = (timezone.now() - timedelta(hours=hours)).timestamp()
    os.utime(default_storage.path(f"{waiting.FOLDER}/{name}"), (then, then))
    waiting.sweep()
    assert len(waiting_files()) == left


@pytest.mark.parametrize("address", [START, PREVIEW, REPORT])
def test_clients_bring_no_logs(frame, address):
    assert browser_of(make.user("client")).get(address).status_code == 404
