"""The bridge against a real broker: what the broker kept is stored, each once."""

import json
from datetime import UTC, datetime

from tests.broker.conftest import LONG_S
from wintering.climate.models import ConflictDay, Logger, LogImport, Sensor
from wintering.climate.queries import readings

START = 1_700_000_000  # a second long past, in UTC
CHANNELS = 10
LONG_AGO = datetime(2026, 1, 1, tzinfo=UTC)


def pack(number, start=START):
    """One timed reading of one of ten channels; its value tells its number."""
    record = {
        "n": f"urn:dev:box:{number % CHANNELS}",
        "u": "Cel",
        "v": number / 1000,
        "t": start + number,
    }
    return "frame/box", json.dumps([record])


def stored():
    """Every stored reading by name, as (second, thousandths)."""
    found = {}
    for sensor in Sensor.objects.all():
        of_sensor = readings(sensor)
        thousandths = [round(value * 1000) for value in of_sensor.value]
        found[sensor.name] = list(
            zip(of_sensor.seconds.tolist(), thousandths, strict=True)
        )
    return found


def expected(count):
    found = {}
    for number in range(count):
        name = f"urn:dev:box:{number % CHANNELS}"
        found.setdefault(name, []).append((START + number, number))
    return found


LAST = ("frame/last", '[{"n":"end","u":"Cel","v":1,"t":1700000000}]')


def test_plain_numbers_and_packs_become_readings(mosquitto, listen):
    bridge = listen("frame/+/temp=c", "frame/+/rh=pct", "frame/box")
    bridge.wait_for("Listening")
    mosquitto.publish(
        [("frame/floor/temp", "-1.25"), ("frame/floor/rh", " 81 "), pack(3)]
    )
    bridge.wait_for("3 messages taken in all")
    counts = bridge.end()
    assert (counts.messages, counts.added, counts.not_understood) == (3, 3, 0)
    sensors = {s.name: (s.place, s.unit) for s in Sensor.objects.all()}
    assert sensors == {
        "frame/floor/temp": ("unknown", "c"),
        "frame/floor/rh": ("unknown", "pct"),
        "urn:dev:box:3": ("unknown", "c"),
    }
    found = stored()
    assert [value for _, value in found["frame/floor/temp"]] == [-1250]
    assert [value for _, value in found["frame/floor/rh"]] == [81_000]
    assert found["urn:dev:box:3"] == [(START + 3, 3)]


def test_burst_is_stored_each_once(mosquitto, listen):
    bridge = listen("frame/#")
    bridge.wait_for("Listening")
    mosquitto.publish([pack(number) for number in range(5_000)])
    bridge.wait_for("5000 messages taken in all")
    assert bridge.end().added == 5_000
    assert stored() == expected(5_000)


def test_command_killed_in_a_burst_loses_nothing(mosquitto, command):
    bridge = command()
    bridge.wait_for("Listening")
    mosquitto.publish([pack(number) for number in range(2_000)])
    bridge.wait_for("messages taken in all")
    bridge.process.kill()
    bridge.process.wait(LONG_S)
    # the broker goes on listening for the bridge that is away
    mosquitto.publish([pack(number) for number in range(2_000, 2_500)] + [LAST])
    again = command("--format", "json")
    while "frame/last/end" not in stored():
        again.wait_for("messages taken in all")
    code, out = again.end()
    found = stored()
    del found["frame/last/end"]
    assert found == expected(2_500)
    assert not ConflictDay.objects.exists()
    told = json.loads(out)
    assert code == 0
    assert told["messages"] >= 501
    assert told["conflicts"] == told["not_understood"] == 0


def test_broker_started_again_is_found_again_with_what_it_kept(mosquitto, listen):
    bridge = listen("frame/#")
    bridge.wait_for("Listening")
    mosquitto.publish([pack(0)])
    bridge.wait_for("1 messages taken in all")
    mosquitto.stop()
    bridge.wait_for("is gone")
    mosquitto.start()
    bridge.wait_for("Listening")
    mosquitto.publish([pack(1)])
    bridge.wait_for("2 messages taken in all")
    assert stored() == expected(2)


def test_what_came_while_the_bridge_was_stopped_is_stored(mosquitto, listen):
    bridge = listen("frame/#")
    bridge.wait_for("Listening")
    bridge.end()
    mosquitto.publish([pack(number) for number in range(20)])
    mosquitto.stop()  # what the broker kept outlasts it
    mosquitto.start()
    listen("frame/#").wait_for("20 messages taken in all")
    assert stored() == expected(20)


def test_message_that_is_not_understood_holds_up_nothing(mosquitto, listen):
    bridge = listen("frame/#")
    bridge.wait_for("Listening")
    mosquitto.publish(
        [
            ("frame/a", "warm"),
            ("frame/a", '[{"n":"a"}]'),
            ("frame/a", "21.5"),  # without a unit
            ("frame/a", '[{"n":"a","u":"Cel","v":1e99999999999999999999}]'),
            ("frame/" + "x" * 300, '[{"n":"a","u":"Cel","v":1}]'),
            ("frame/" + "x" * 100, '[{"n":"a","u":"Cel","v":1}]'),
            pack(0),
        ]
    )
    bridge.wait_for("7 messages taken in all")
    counts = bridge.end()
    assert (counts.not_understood, counts.added) == (6, 1)
    kept = LogImport.objects.get().report["set_aside"]
    assert [len(one["topic"]) for one in kept] == [7, 7, 7, 7, 306, 106]
    assert all(one["payload"] and one["why"] for one in kept)
    assert "frame/a b'warm'. It is neither" in "".join(bridge.seen)
    assert stored() == expected(1)
    # acknowledged: a bridge that starts again is not given them once more
    bridge = listen("frame/#")
    bridge.wait_for("Listening")
    mosquitto.publish([pack(1)])
    bridge.wait_for("1 messages taken in all")
    assert stored() == expected(2)


def test_retained_number_has_no_known_time_and_a_retained_pack_has_its_own(
    mosquitto, listen
):
    mosquitto.publish([("frame/floor", "-3.5"), pack(0)], retain=True)
    bridge = listen("frame/floor=c", "frame/box")
    bridge.wait_for("2 messages taken in all")
    counts = bridge.end()
    assert (counts.retained, counts.added) == (1, 1)
    told = [line for line in bridge.seen if "its time is not known" in line]
    assert len(told) == 1
    assert stored() == expected(1)
    assert not Sensor.objects.filter(name="frame/floor").exists()


def test_number_that_waited_long_is_no_reading_and_the_next_one_is(mosquitto, listen):
    bridge = listen("frame/#=c")
    bridge.wait_for("Listening")
    bridge.end()
    Logger.objects.update(added_at=LONG_AGO)
    mosquitto.publish([("frame/floor", "-3.5"), ("frame/floor", "-2.5"), pack(0)])
    bridge = listen("frame/#=c")
    bridge.wait_for("waited at the broker for up to")
    bridge.wait_for("what comes now is new")
    mosquitto.publish([("frame/floor", "1.5")])
    bridge.wait_for("4 messages taken in all")
    assert (bridge.end().untimed, bridge.counts.added) == (2, 2)
    kept = LogImport.objects.get().report["untimed"]
    assert [one["value"] for one in kept] == ["-3.5", "-2.5"]
    assert [value for _, value in stored()["frame/floor"]] == [1500]


def test_wrong_password_is_one_clear_line_and_changes_nothing(mosquitto, command):
    mosquitto.ask_for_password("bridge", "right")
    refused = command(user="bridge@", WINTERING_MQTT_PASSWORD="wrong")
    (line,) = refused.rest().splitlines()
    assert refused.process.wait(LONG_S) == 1
    assert "lets nobody in with this user name and password" in line
    assert "wrong" not in line
    assert not Logger.objects.exists()


def test_right_password_lets_in(mosquitto, listen):
    mosquitto.ask_for_password("bridge", "right")
    bridge = listen("frame/#", user="bridge", password="right")
    assert "frame/#" in bridge.wait_for("Listening")
