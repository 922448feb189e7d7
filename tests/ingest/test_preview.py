import io

import pytest

from tests import make
from wintering.climate.models import Sensor
from wintering.ingest.channels import Channel
from wintering.ingest.intake import import_log
from wintering.ingest.preview import preview
from wintering.ingest.refusals import LogRefused

pytestmark = pytest.mark.django_db

LINES = (
    "time,Air (°C),rh_pct",
    "03/11/2024 10:00,1.5,88",
    "03/11/2024 10:10,soon,88",
    "03/11/2024 10:20,-0.5,88",
)


def look(frame=None, *, lines=LINES, **said):
    file = io.BytesIO("\n".join(lines).encode())
    return preview(file=file, file_name="log.csv", frame=frame, **said)


def test_what_is_understood_is_shown_with_the_first_question():
    seen = look()
    assert (seen.about, seen.is_naive, seen.row_count) == ("date_order", True, 3)
    assert "day first or month first" in seen.question
    assert seen.rows[0] == ("03/11/2024 10:00", "1.5", "88")
    assert [(c.name, c.quantity, c.unit, c.values) for c in seen.columns] == [
        ("Air (°C)", "temperature", "°C", 2),
        ("rh_pct", "humidity", "%", None),
    ]
    assert seen.rejected[0].row == 3
    assert (seen.first, seen.last) == (None, None)


def test_an_answer_leads_to_the_next_question_and_then_to_the_span():
    seen = look(date_order="dmy")
    assert seen.about == "zone"
    seen = look(date_order="dmy", zone="-05:00")
    assert (seen.question, seen.about) == ("", "")
    assert seen.first.isoformat() == "2024-11-03T15:00:00+00:00"
    assert seen.last.isoformat() == "2024-11-03T15:20:00+00:00"


def test_nothing_is_stored():
    frame = make.frame()
    look(frame, date_order="dmy", zone="UTC")
    frame.refresh_from_db()
    assert not Sensor.objects.exists()
    assert frame.log_habits == {}


def test_what_the_frame_remembers_is_suggested():
    frame = make.frame()
    channel = Channel("Air (°C)", "A1", "air")
    import_log(
        file=io.BytesIO("\n".join(LINES).encode()),
        file_name="log.csv",
        frame=frame,
        by=None,
        mapping=[channel],
        zone="-05:00",
        date_order="dmy",
    )
    seen = look(frame)
    assert (seen.question, seen.zone, seen.date_order) == ("", "-05:00", "dmy")
    assert [column.suggested for column in seen.columns] == [channel, None]


def test_a_broken_file_is_refused():
    with pytest.raises(LogRefused, match="is empty"):
        look(lines=("",))


def test_a_share_in_percent_is_offered_and_the_rest_is_said_to_be_left_out():
    lines = ("time,Air (°C),Feuchte [%],Battery (V)", "2024-11-30T10:00Z,1,88,3")
    seen = look(lines=lines)
    assert [(c.name, c.quantity, c.unit) for c in seen.columns] == [
        ("Air (°C)", "temperature", "°C"),
        ("Feuchte [%]", "unknown", "%"),
        ("Battery (V)", "other", ""),
    ]
    assert seen.left_out == ["Battery (V)"]


@pytest.mark.parametrize(
    ("broken", "count"),
    [
        (("2026-13-45 99:99,error",), 1),
        (("2026-13-45 99:99,error", "soon,1.5"), 2),
        (("local time,deg C",), 0),
        (("local time,deg C", "2026-13-45 99:99,error"), 1),
    ],
)
def test_a_bad_row_right_under_the_heading_is_told_of(broken, count):
    good = ("2024-11-30T10:00Z,1", "2024-11-30T10:10Z,1.5")
    seen = look(lines=("time,Air (°C)", *broken, *good))
    assert seen.heading == ("time", "Air (°C)")
    assert (seen.row_count, seen.rejected_count) == (2, count)
    last = len(broken) + 1
    assert [one.row for one in seen.rejected] == [*range(last - count + 1, last + 1)]


def test_a_bad_first_row_is_no_heading():
    lines = ("2026-13-45 99:99,error", *(f"2024-11-30T1{n}:00Z,1" for n in range(3)))
    seen = look(lines=lines)
    assert seen.heading == ()
    assert [one.row for one in seen.rejected] == [1]
