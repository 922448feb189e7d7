"""Batches: stored, then acknowledged; repeated ones change nothing."""

import sqlite3
from datetime import UTC, datetime
from decimal import Overflow

import pytest
from django.db import OperationalError

from tests import make
from wintering.api import mqtt_batches
from wintering.api.mqtt import Message, Reader
from wintering.api.mqtt_address import Topics
from wintering.api.mqtt_batches import Batches
from wintering.climate.models import ConflictDay, Logger, LogImport, Sensor
from wintering.climate.queries import readings
from wintering.climate.services.heard import LoggerEnded, bridge_of, last_heard

NOW = datetime(2026, 11, 25, 12, tzinfo=UTC)
NOW_S = NOW.timestamp()

pytestmark = pytest.mark.django_db


@pytest.fixture
def logger():
    return bridge_of(frame=make.frame(), name="MQTT", at=NOW)


@pytest.fixture
def acknowledged():
    return []


@pytest.fixture
def batches(logger, acknowledged):
    return begun(logger, acknowledged)


def begun(logger, acknowledged):
    """A bridge that has just started."""

    def acknowledge(message):
        acknowledged.append(message.mid)

    reader = Reader([Topics("#", "Cel")])
    return Batches(logger=logger, reader=reader, acknowledge=acknowledge)


def number(mid, text, topic="floor", **fields):
    return Message(topic, text.encode(), mid, received_s=NOW_S + mid, **fields)


def stored():
    return {
        sensor.name: [round(value * 1000) for value in readings(sensor).value]
        for sensor in Sensor.objects.all()
    }


def test_batch_is_stored_and_then_acknowledged(batches, acknowledged, logger):
    batches.take(number(1, "1.5"))
    batches.take(number(2, "81", "roof"))
    assert acknowledged == []
    assert batches.store()
    assert acknowledged == [1, 2]
    assert stored() == {"floor": [1500], "roof": [81_000]}
    came = LogImport.objects.get()
    assert (came.kind, came.logger, came.rows) == ("mqtt", logger, 2)
    assert came.report["added"] == 2
    logger.refresh_from_db()
    assert logger.heard_at is not None
    assert last_heard(logger.frame, "MQTT") == logger.heard_at


def test_repeated_message_changes_nothing_even_after_a_new_start(
    batches, acknowledged, logger
):
    """Killed between storing and acknowledging, the bridge is given it again."""
    batches.take(number(1, "1.5"))
    batches.store()
    again = begun(logger, acknowledged)
    repeated = Message("floor", b"1.5", 1, is_repeated=True, received_s=NOW_S + 60)
    again.take(repeated)
    assert again.store()
    assert acknowledged == [1, 1]
    assert stored() == {"floor": [1500]}
    assert again.counts.repeated == 1
    assert again.counts.added == 0
    assert not ConflictDay.objects.exists()


def test_repeated_message_changes_nothing_in_another_connection(batches, acknowledged):
    batches.take(number(1, "1.5"))
    batches.store()
    batches.take(Message("floor", b"1.5", 1, is_repeated=True, received_s=NOW_S + 60))
    batches.store()
    assert acknowledged == [1, 1]
    assert stored() == {"floor": [1500]}


def test_message_repeated_before_it_was_stored_counts_once(batches, acknowledged):
    batches.take(number(1, "1.5"))
    batches.take(Message("floor", b"1.5", 1, is_repeated=True, received_s=NOW_S + 9))
    batches.store()
    assert acknowledged == [1, 1]
    assert stored() == {"floor": [1500]}


def test_message_that_looks_the_same_but_is_not_sent_again_is_stored(
    batches, acknowledged
):
    """A broker uses a number again once it is acknowledged; the probe is just calm."""
    for minute in (0, 1):
        at = NOW_S + 60 * minute
        batches.take(Message("floor", b"1.5", 1, received_s=at))
        batches.store()
    assert acknowledged == [1, 1]
    assert stored() == {"floor": [1500, 1500]}
    assert batches.counts.repeated == 0


def test_repeated_message_that_was_never_stored_is_stored(batches):
    batches.take(number(1, "1.5", is_repeated=True))
    batches.store()
    assert stored() == {"floor": [1500]}


def test_numbers_given_anew_by_the_broker_are_new_messages(batches):
    batches.take(number(1, "1.5"))
    batches.store()
    batches.forget_deliveries()
    batches.take(Message("floor", b"1.5", 1, is_repeated=True, received_s=NOW_S + 60))
    batches.store()
    assert stored() == {"floor": [1500, 1500]}


def test_database_that_is_away_is_waited_for_without_acknowledging(
    batches, acknowledged, monkeypatch, caplog
):
    with monkeypatch.context() as away:
        away.setattr(mqtt_batches, "keep_heard", _locked)
        batches.take(number(1, "1.5"))
        assert not batches.store()
        assert not batches.store()
    assert acknowledged == []
    assert not batches.is_empty
    assert not batches.is_due()  # not tried again at once
    assert batches.store()
    assert acknowledged == [1]
    assert stored() == {"floor": [1500]}
    told = [record.message for record in caplog.records]
    assert sum("cannot be written to" in line for line in told) == 1
    assert "The database is there again." in told


def _locked(**_):
    raise OperationalError("database is locked") from sqlite3.OperationalError()


def test_message_that_the_database_refuses_holds_up_no_other(
    batches, acknowledged, logger, caplog
):
    make.sensor(frame=logger.frame, name="thermometer", is_min_max=True)
    batches.take(number(1, "1.5"))
    batches.take(number(2, "2.5", "thermometer"))
    batches.take(number(3, "3.5"))
    assert batches.store()
    assert acknowledged == [1, 2, 3]
    assert stored()["floor"] == [1500, 3500]
    assert batches.counts.not_understood == 1
    assert LogImport.objects.get().report["not_understood"] == 1
    assert "thermometer is read by hand here" in caplog.text


def test_message_that_is_not_understood_is_told_and_acknowledged(
    batches, acknowledged, caplog
):
    batches.take(number(1, "warm"))
    assert batches.store()
    assert acknowledged == [1]
    assert "floor b'warm'" in caplog.text
    assert LogImport.objects.get().report["not_understood"] == 1


def test_message_that_breaks_the_reckoning_holds_up_no_other(
    batches, acknowledged, caplog
):
    vast = '[{"n":"a","u":"Cel","v":1e99999999999999999999}]'
    batches.take(number(1, vast))
    batches.take(number(2, "1.5"))
    assert batches.store()
    assert acknowledged == [1, 2]
    assert stored() == {"floor": [1500]}
    assert batches.counts.not_understood == 1
    assert "too large an exponent" in caplog.text


def test_reader_that_cannot_reckon_with_a_number_stops_nothing(logger, acknowledged):
    class Faulty(Reader):
        def read(self, message):
            raise Overflow

    batches = Batches(
        logger=logger,
        reader=Faulty([]),
        acknowledge=lambda message: acknowledged.append(message.mid),
    )
    batches.take(number(1, "1.5"))
    assert batches.store()
    assert acknowledged == [1]
    assert batches.counts.not_understood == 1


def test_values_without_a_time_are_kept_in_the_report(batches, caplog):
    batches.take(number(1, "1", waited_s=600))
    batches.take(number(2, "2", waited_s=600))
    batches.take(number(3, "3", is_retained=True))
    batches.store()
    assert stored() == {}
    kept = LogImport.objects.get().report["untimed"]
    assert [(one["name"], one["value"]) for one in kept] == [
        ("floor", "1"),
        ("floor", "2"),
    ]
    assert (batches.counts.untimed, batches.counts.retained) == (2, 1)
    warned = [r for r in caplog.records if r.levelname == "WARNING"]
    assert len(warned) == 1


LONG = "x" * 300


@pytest.mark.parametrize(
    ("topic", "payload", "why"),
    [
        (LONG, "1.5", "1 to 200"),
        (LONG[:100], "1.5", "at most 80 characters"),
        ("floor", "warm", "neither"),
    ],
)
def test_what_becomes_no_reading_is_kept_in_the_report(batches, topic, payload, why):
    batches.take(number(1, payload, topic))
    batches.take(number(2, payload, topic, is_retained=True))
    batches.store()
    (kept,) = LogImport.objects.get().report["set_aside"]
    assert kept.pop("why").count(why) == 1
    assert kept == {"topic": topic, "payload": payload, "received_s": NOW_S + 1}


@pytest.mark.parametrize(
    "payload", [b"\0", b"\xff\xfe", b'[{"\\u0000_":1}]', b'[{"\\ud800_":1}]']
)
def test_signs_that_no_database_takes_are_kept_in_writing(
    batches, acknowledged, payload
):
    batches.take(Message("floor", payload, 1, received_s=NOW_S))
    assert batches.store()
    assert acknowledged == [1]
    (kept,) = LogImport.objects.get().report["set_aside"]
    assert "\0" not in str(kept.values())
    assert str(kept).encode()


def test_no_flood_of_messages_makes_a_report_without_end(batches):
    for mid in range(1_200):
        batches.take(number(mid, "w" * 5_000))
        if mid % 100 == 99:
            batches.store()
    report = LogImport.objects.get().report
    assert report["not_understood"] == 1_200
    assert len(report["set_aside"]) == 1_000
    assert {len(one["payload"]) for one in report["set_aside"]} == {1_000}


def test_logger_that_was_ended_keeps_and_acknowledges_nothing(
    batches, acknowledged, logger
):
    Logger.objects.filter(pk=logger.pk).update(ended_at=NOW)
    batches.take(number(1, "1.5"))
    with pytest.raises(LoggerEnded, match="taken out of use"):
        batches.store()
    assert acknowledged == []
    assert stored() == {}
    with pytest.raises(LoggerEnded, match="another name"):
        bridge_of(frame=logger.frame, name="MQTT", at=NOW)


def test_sensor_that_a_keeper_named_first_is_used_in_its_own_unit(batches, logger):
    make.sensor(frame=logger.frame, name="floor", unit="f", place="root")
    batches.take(number(1, "10"))
    batches.store()
    assert Sensor.objects.count() == 1
    assert [round(v, 3) for v in readings(Sensor.objects.get()).value] == [10.0]


def test_only_what_the_broker_does_not_keep_is_let_go_and_counted(
    batches, monkeypatch, caplog
):
    monkeypatch.setattr(mqtt_batches, "MOST_WAITING", 2)
    for mid in range(4):
        batches.take(number(mid, "1", qos=0))
    batches.take(number(9, "9", qos=1))
    batches.store()
    assert batches.counts.lost == 2
    assert stored() == {"floor": [1000, 1000, 9000]}
    assert caplog.text.count("are lost") == 1
