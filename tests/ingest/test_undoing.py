"""Taking imports back, and reading kept files again with other settings."""

import gzip
import io
from datetime import UTC, datetime, timedelta

import pytest
from django.core.exceptions import ValidationError

from tests import make
from wintering.climate.models import LogImport
from wintering.climate.queries import traced
from wintering.climate.queries.conflicts import conflicts_of
from wintering.climate.queries.imports import coming_back, shares_of
from wintering.forecast.models import Judging
from wintering.ingest.channels import Channel
from wintering.ingest.intake import import_log
from wintering.ingest.refusals import LogRefused
from wintering.ingest.settling import settle
from wintering.ingest.undoing import (
    read_again,
    readers_after,
    senders_after,
    take_back,
)

DAY = datetime(2025, 1, 19, tzinfo=UTC)


OWN = [Channel("R1 (°C)", "R1")]
BARE = [Channel("R1", "R1")]  # a file that does not state its unit


def lines(values, *, start=0, column="R1 (°C)"):
    rows = [f"2025-01-19 {start + i:02d}:00Z,{v}" for i, v in enumerate(values)]
    return "\n".join([f"time,{column}", *rows, ""]).encode()


@pytest.fixture
def frame(db):
    return make.frame(name="Long Frame", slug="long-frame", time_zone="Europe/Oslo")


@pytest.fixture
def keeper(db):
    return make.keeper()


def bring(frame, content, *, name="a.csv", mapping=OWN, **answers):
    file = io.BytesIO(content)
    import_log(
        file=file, file_name=name, frame=frame, by=None, mapping=mapping, **answers
    )
    return LogImport.objects.order_by("pk").last()


def standing(frame):
    """Hour, value and the name of the file of each reading that stands."""
    found = traced(frame.sensors.get(), DAY, DAY + timedelta(days=1))
    names = {pk: one.file_name for pk, one in found.imports.items()}
    hours = ((found.seconds - int(DAY.timestamp())) // 3600).tolist()
    sources = [names[pk] for pk in found.source.tolist()]
    return list(zip(hours, found.value.round(3).tolist(), sources, strict=True))


def test_what_a_longer_copy_held_as_well_stands_as_its_own(frame, keeper):
    first = bring(frame, lines([1, 2, 3]))
    bring(frame, lines([1, 2, 3, 4, 5]), name="b.csv")
    assert [source for _, _, source in standing(frame)] == ["a.csv"] * 3 + ["b.csv"] * 2
    assert take_back(log_import=first, by=keeper, reason="wrong frame") == 3
    assert standing(frame) == [(h, h + 1, "b.csv") for h in range(5)]
    found = traced(frame.sensors.get(), DAY, DAY + timedelta(days=1))
    assert found.row.tolist() == [2, 3, 4, 5, 6]


def test_a_file_is_read_again_with_the_settings_it_was_read_with(frame, keeper):
    content = b"time,R1\n03.02.2025 10:00,33\n04.02.2025 10:00,34\n"
    answers = {"zone": "-05:00", "date_order": "dmy", "unit": "f"}
    mapping = [Channel("R1", "root by the door", "root")]
    first = bring(frame, content, mapping=mapping, **answers)
    longer = content + b"05.02.2025 10:00,35\n"
    bring(frame, longer, name="b.csv", mapping=mapping, **answers)
    sensor = frame.sensors.get()
    take_back(log_import=first, by=keeper, reason="twice")
    found = traced(
        sensor, datetime(2025, 2, 3, tzinfo=UTC), datetime(2025, 2, 6, tzinfo=UTC)
    )
    assert found.seconds[0] == datetime(2025, 2, 3, 15, tzinfo=UTC).timestamp()
    assert found.value.round(2).tolist() == [0.56, 1.11, 1.67]
    assert {one.file_name for one in found.imports.values()} == {"b.csv"}


def test_of_two_later_copies_the_older_gets_the_readings(frame, keeper):
    first = bring(frame, lines([1, 2]))
    bring(frame, lines([1, 2, 3]), name="b.csv")
    bring(frame, lines([1, 2, 3, 4]), name="c.csv")
    take_back(log_import=first, by=keeper, reason="why")
    assert [source for _, _, source in standing(frame)] == ["b.csv"] * 3 + ["c.csv"]


def test_nothing_is_taken_back_if_a_later_copy_cannot_be_read(frame, keeper, settings):
    first = bring(frame, lines([1, 2]))
    other = bring(frame, lines([1, 2, 3]), name="b.csv")
    (settings.MEDIA_ROOT / other.kept).write_bytes(gzip.compress(b"something else"))
    with pytest.raises(
        ValidationError, match=r"b\.csv held some of these readings too"
    ):
        take_back(log_import=first, by=keeper, reason="why")
    first.refresh_from_db()
    assert first.undone_at is None
    assert len(standing(frame)) == 3


def test_a_sensor_renamed_meanwhile_is_the_same(frame, keeper):
    first = bring(frame, lines([1, 2]))
    bring(frame, lines([1, 2, 3]), name="b.csv")
    frame.sensors.update(name="root zone")
    take_back(log_import=first, by=keeper, reason="why")
    assert [source for _, _, source in standing(frame)] == ["b.csv"] * 3


def test_an_earlier_file_keeps_what_was_read_again_and_taken_back(frame, keeper):
    first = bring(frame, lines([1, 2, 3]))
    bring(frame, lines([1, 2, 3, 4, 5]), name="b.csv")
    again, _ = read_again(log_import=first, by=keeper, mapping=OWN)
    take_back(log_import=again, by=keeper, reason="why")
    assert [source for _, _, source in standing(frame)] == ["b.csv"] * 5


def test_reading_again_in_the_same_way_changes_no_value(frame, keeper):
    first = bring(frame, lines([1]))
    second = bring(frame, lines([2]), name="b.csv")
    read_again(log_import=first, by=keeper, mapping=OWN)
    assert [(value, source) for _, value, source in standing(frame)] == [(1.0, "a.csv")]
    assert second.conflict_days.get().count == 1


def test_a_file_that_held_nothing_known_is_not_read_again(frame):
    first = bring(frame, lines([1, 2]))
    bring(frame, lines([3, 4], start=2), name="b.csv")
    longer = bring(frame, lines([1, 2, 3, 4, 5]), name="c.csv")
    assert readers_after(first) == [longer]


def test_a_value_that_a_keeper_set_aside_does_not_come_back(frame, keeper):
    first = bring(frame, lines([1, 2, 3]))
    second = bring(frame, lines([1, 9, 3, 4]), name="b.csv")
    sensor = frame.sensors.get()
    settle(log_import=second, sensor=sensor, take_new=False, reason="wet", by=keeper)
    take_back(log_import=first, by=keeper, reason="why")
    assert standing(frame) == [(0, 1, "b.csv"), (2, 3, "b.csv"), (3, 4, "b.csv")]


def test_flags_are_judged_after_an_import_is_taken_back(frame, keeper):
    first = bring(frame, lines([1, 2]))
    take_back(log_import=first, by=keeper, reason="why")
    assert Judging.objects.filter(frame=frame).exists()


@pytest.mark.parametrize("person", [make.helper, lambda: make.user("client")])
def test_only_a_keeper_takes_back_and_reads_again(frame, person):
    first = bring(frame, lines([1, 2]))
    by = person()
    with pytest.raises(ValidationError, match="Only a keeper"):
        take_back(log_import=first, by=by, reason="why")
    with pytest.raises(ValidationError, match="Only a keeper"):
        read_again(log_import=first, by=by, mapping=OWN)
    assert len(standing(frame)) == 2


def test_a_file_read_again_in_another_unit_replaces_its_first_reading(frame, keeper):
    content = lines([50, 59, 68], column="R1")
    wrong = bring(frame, content, mapping=BARE, unit="c")
    came, report = read_again(log_import=wrong, by=keeper, mapping=BARE, unit="f")
    wrong.refresh_from_db()
    assert wrong.undone_because == "Read again with other settings."
    assert (came.sha256, report.added) == (wrong.sha256, 3)
    assert [value for _, value, _ in standing(frame)] == [10, 15, 20]
    assert came.habits["unit"] == "f"


def test_an_import_that_was_taken_back_can_be_read_again(frame, keeper):
    first = bring(frame, lines([1, 2]))
    take_back(log_import=first, by=keeper, reason="why")
    came, _ = read_again(log_import=first, by=keeper, mapping=OWN)
    assert came.pk != first.pk
    assert [value for _, value, _ in standing(frame)] == [1, 2]


def test_a_refused_new_reading_changes_nothing(frame, keeper):
    first = bring(frame, lines([1, 2]))
    frame.sensors.update(place="air")
    with pytest.raises(LogRefused, match="is known as air"):
        read_again(
            log_import=first, by=keeper, mapping=[Channel("R1 (°C)", "R1", "root")]
        )
    first.refresh_from_db()
    assert first.undone_at is None
    assert standing(frame) == [(0, 1, "a.csv"), (1, 2, "a.csv")]
    assert LogImport.objects.count() == 1


def test_where_a_later_copy_differs_from_the_new_reading_it_waits(frame, keeper):
    content = lines([50, 59, 68], column="R1")
    wrong = bring(frame, content, mapping=BARE, unit="c")
    longer = content + b"2025-01-19 03:00Z,70\n"
    later = bring(frame, longer, name="b.csv", mapping=BARE, unit="c")
    read_again(log_import=wrong, by=keeper, mapping=BARE, unit="f")
    assert [(v, s) for _, v, s in standing(frame)] == [
        (10, "a.csv"),
        (15, "a.csv"),
        (20, "a.csv"),
        (70, "b.csv"),
    ]
    (told,) = conflicts_of(later)
    assert (told.is_open, told.count) == (True, 3)


def test_a_choice_for_the_new_values_is_counted_in_the_report(frame, keeper):
    bring(frame, lines([1, 2, 3]))
    second = bring(frame, lines([1, 8, 9]), name="b.csv")
    sensor = frame.sensors.get()
    settle(log_import=second, sensor=sensor, take_new=True, reason="wet", by=keeper)
    second.refresh_from_db()
    assert second.report["replaced"] == 2
    assert second.report["sensors"]["R1"]["replaced"] == 2


def test_what_taking_back_does_is_told_before(frame):
    first = bring(frame, lines([1, 2, 3]))
    other = bring(frame, lines([5, 2], start=0), name="b.csv")
    (share,) = shares_of(first)
    assert (share.sensor.name, share.count) == ("R1", 3)
    assert (share.first, share.last) == (DAY, DAY + timedelta(hours=2))
    (back,) = coming_back(first)
    assert (back.log_import, back.count) == (other, 1)


def test_a_replaced_value_comes_back_to_the_import_it_was_of(frame, keeper):
    first = bring(frame, lines([1, 2, 3]))
    second = bring(frame, lines([1, 8, 9]), name="b.csv")
    sensor = frame.sensors.get()
    settle(log_import=second, sensor=sensor, take_new=True, reason="wet", by=keeper)
    (back,) = coming_back(second)
    assert (back.log_import, back.count) == (first, 2)
    take_back(log_import=second, by=keeper, reason="why")
    assert standing(frame) == [(0, 1, "a.csv"), (1, 2, "a.csv"), (2, 3, "a.csv")]


def test_loggers_days_that_may_have_sent_the_same_are_named(frame):
    first = bring(frame, lines([1, 2]))
    logger = make.logger(frame=frame)
    sent = make.log_import(
        frame=frame,
        kind="http",
        logger=logger,
        received_on=first.at.date(),
        at=first.at + timedelta(hours=1),
        sha256="",
        kept="",
    )
    assert senders_after(first) == [sent]
    assert readers_after(first) == []


def test_a_later_file_of_other_sensors_is_not_named(frame):
    first = bring(frame, lines([1, 2]))
    other = lines([1, 2], column="R2 (°C)")
    longer = lines([1, 2, 3], column="R2 (°C)")
    for content in (other, longer):
        bring(frame, content, name="r2.csv", mapping=[Channel("R2 (°C)", "R2")])
    assert readers_after(first) == []
    shared = bring(frame, lines([1, 2, 3]), name="r1.csv")
    assert readers_after(first) == [shared]


def test_a_file_whose_sensors_are_not_known_is_named(frame):
    first = bring(frame, lines([1, 2]))
    later = bring(frame, lines([1, 2, 3]), name="r1.csv")
    later.habits.pop("sensors")
    later.save(update_fields=["habits"])
    assert readers_after(first) == [later]
    later.report.pop("sensors")
    later.save(update_fields=["report"])
    assert readers_after(first) == [later]
