"""`POST /api/readings`: what is kept, what is refused, and in which words."""

import json
from datetime import timedelta

import pytest
from django.db import InterfaceError, OperationalError

from tests import make
from tests.api.conftest import ADDRESS, NOW, new_sender, reading, turn_begins
from wintering.api import readings as endpoint
from wintering.climate.models import ConflictDay, LoggerChannel, ReadingDay, Sensor
from wintering.climate.queries import readings
from wintering.climate.services import arrivals
from wintering.climate.services.arrivals import fold_arrivals
from wintering.climate.services.loggers import end_logger, renew_token

CSV = "text/csv"
SENML = "application/senml+json"


def values(name="S0-01f"):
    fold_arrivals(at=NOW + timedelta(days=1))
    return readings(Sensor.objects.get(name=name)).value.tolist()


def written(value):
    """A post whose value is written as it is here."""
    return json.dumps({"readings": [reading()]}).replace("-0.4", value)


def refusal(answer, status):
    """The problem of a refused post, of the one shape that all have."""
    assert answer.status_code == status
    assert answer["Content-Type"] == "application/problem+json"
    told = answer.json()
    assert told.keys() == {"title", "status", "detail", "problems"}
    assert told["status"] == status
    assert told["detail"].endswith(".")
    assert ReadingDay.objects.count() == 0, "nothing of it is kept"
    return told


class TestKept:
    def test_a_new_name_becomes_a_sensor_whose_place_is_not_known(self, sender):
        answer = sender.send(reading(-0.4))
        assert answer.status_code == 200
        assert answer.json() == {
            "accepted": 1,
            "waiting": False,
            "added": 1,
            "unchanged": 0,
            "conflicts": 0,
        }
        sensor = Sensor.objects.get()
        assert sensor.name == "S0-01f"
        assert sensor.frame == sender.logger.frame
        assert sensor.place == Sensor.Place.UNKNOWN
        assert values() == [-0.4]

    def test_the_frames_sensor_of_that_name_is_taken(self, sender):
        sensor = make.sensor(name="S0-01f", frame=sender.logger.frame)
        sender.send(reading())
        assert LoggerChannel.objects.get().sensor == sensor
        assert Sensor.objects.count() == 1

    def test_another_frames_sensor_of_that_name_is_not(self, sender):
        other = make.sensor(name="S0-01f")
        sender.send(reading())
        assert LoggerChannel.objects.get().sensor != other

    def test_the_same_post_again_changes_nothing(self, sender, time_machine):
        sender.send(reading(1.5), reading(2.5, minute=1))
        before = bytes(ReadingDay.objects.get().packed)
        time_machine.move_to(NOW + timedelta(minutes=1), tick=False)
        told = sender.send(reading(1.5), reading(2.5, minute=1)).json()
        assert (told["added"], told["unchanged"], told["conflicts"]) == (0, 2, 0)
        assert bytes(ReadingDay.objects.get().packed) == before

    def test_another_value_at_an_instant_is_kept_beside_the_first(
        self, sender, time_machine
    ):
        sender.send(reading(1.5))
        time_machine.move_to(NOW + timedelta(minutes=1), tick=False)
        told = sender.send(reading(1.75)).json()
        assert (told["added"], told["unchanged"], told["conflicts"]) == (0, 0, 1)
        assert values() == [1.5]
        assert ConflictDay.objects.get().count == 1

    def test_soon_after_the_last_it_waits_and_says_so(self, sender, time_machine):
        begins = turn_begins(sender.logger)
        time_machine.move_to(begins, tick=False)
        sender.send(reading(1.5))
        time_machine.move_to(begins + timedelta(seconds=49), tick=False)
        told = sender.send(reading(2.5, minute=1)).json()
        assert told["accepted"] == 1
        assert told["waiting"]
        assert told["added"] is told["unchanged"] is told["conflicts"] is None
        assert values() == [1.5, 2.5]

    def test_merged_with_others_it_waits_no_more_and_has_no_counts(
        self, sender, time_machine
    ):
        begins = turn_begins(sender.logger)
        for after_s, minute in [(0, 0), (10, 1), (50, 2)]:
            time_machine.move_to(begins + timedelta(seconds=after_s), tick=False)
            told = sender.send(reading(1.5, minute=minute)).json()
        assert ReadingDay.objects.get().count == 3
        assert not told["waiting"]
        assert told["added"] is told["unchanged"] is told["conflicts"] is None

    def test_behind_more_than_is_merged_at_once_it_still_waits(
        self, sender, time_machine, monkeypatch
    ):
        monkeypatch.setattr(arrivals, "_AT_ONCE", 2)
        begins = turn_begins(sender.logger)
        for after_s, minute in [(0, 0), (10, 1), (20, 2), (50, 3)]:
            time_machine.move_to(begins + timedelta(seconds=after_s), tick=False)
            told = sender.send(reading(1.5, minute=minute)).json()
        assert ReadingDay.objects.get().count == 3
        assert told["waiting"]

    @pytest.mark.parametrize(
        ("unit", "value", "kept", "celsius"),
        [
            ("Cel", 21.5, "c", 21.5),
            ("degF", 14.0, "f", -10.0),
            ("K", 273.15, "k", 0.0),
            ("%RH", 87.25, "pct", 87.25),
        ],
    )
    def test_a_new_sensor_keeps_the_unit_that_was_sent(
        self, sender, unit, value, kept, celsius
    ):
        sender.send(reading(value, unit=unit))
        assert Sensor.objects.get().unit == kept
        assert values() == pytest.approx([celsius])

    def test_another_unit_is_turned_into_the_sensors_own(self, sender):
        make.sensor(name="S0-01f", frame=sender.logger.frame, unit="f")
        sender.send(reading(-40, unit="Cel"), reading(273.15, minute=1, unit="K"))
        assert values() == pytest.approx([-40, 0])

    def test_csv_in_any_order_of_columns(self, sender):
        body = (
            "\ufeffSensor,unit,value,at\r\n"
            "S0-01f,Cel,-0.4,2026-11-25T06:10:00+01:00\r\n\r\n"
            '"west, floor",%RH,91,2026-11-25 05:10Z\r\n'
        )
        assert sender.post(body, CSV).json()["accepted"] == 2
        assert values() == [-0.4]
        assert values("west, floor") == [91]
        seconds = {int(readings(s).seconds[0]) for s in Sensor.objects.all()}
        assert seconds == {1_795_583_400}

    # RFC 8428, sections 5.1.1 and 5.1.3, the second with times that lie in the past
    # and the units of one reading.
    def test_the_first_pack_of_rfc_8428(self, sender):
        body = '[{"n":"urn:dev:ow:10e2073a01080063","u":"Cel","v":23.1}]'
        assert sender.post(body, SENML).json()["added"] == 1
        assert values("urn:dev:ow:10e2073a01080063") == [23.1]
        assert readings(Sensor.objects.get()).seconds.tolist() == [NOW.timestamp()]

    def test_a_pack_of_rfc_8428_with_base_fields_and_times(self, sender):
        body = """[
          {"bn":"urn:dev:ow:10e2073a01080063","bt":1.320067464e+09,"bu":"%RH","v":20},
          {"t":60,"v":20.3},
          {"t":120,"v":20.7}
        ]"""
        assert sender.post(body, SENML).json()["added"] == 3
        kept = readings(Sensor.objects.get())
        assert kept.seconds.tolist() == [1320067464, 1320067524, 1320067584]
        assert kept.value.tolist() == [20.0, 20.3, 20.7]

    def test_a_pack_with_a_unit_that_is_not_kept_is_refused_with_its_record(
        self, sender
    ):
        body = (
            '[{"bn":"urn:dev:ow:10e2073a0108006:","n":"temp","u":"Cel","v":3.1},'
            '{"n":"voltage","u":"V","v":120.1}]'
        )
        told = refusal(sender.post(body, SENML), 422)
        assert told["problems"][0]["row"] == 2
        assert Sensor.objects.count() == 0


class TestToken:
    @pytest.mark.parametrize("header", ["", "Bearer", "Bearer x", "Basic eDp5"])
    def test_without_the_right_one_nothing_is_taken(self, sender, header):
        answer = sender.post({"readings": [reading()]}, authorization=header)
        assert "token" in refusal(answer, 401)["detail"]
        assert answer["WWW-Authenticate"] == "Bearer"

    def test_of_an_ended_logger_opens_nothing(self, sender):
        end_logger(logger=sender.logger, by=make.keeper(), at=NOW)
        refusal(sender.send(reading()), 401)

    def test_that_was_renewed_opens_nothing(self, sender):
        new = renew_token(logger=sender.logger, by=make.keeper())
        refusal(sender.send(reading()), 401)
        sender.token = new
        assert sender.send(reading()).status_code == 200

    def test_is_asked_for_before_anything_is_read(self, sender):
        sender.token = "wrong"
        refusal(sender.post("x" * 2_000_000, "text/plain"), 401)

    def test_of_one_logger_keeps_nothing_in_the_frame_of_another(self, sender):
        other = new_sender(name="other")
        other.send(reading())
        assert Sensor.objects.get().frame == other.logger.frame


class TestRefused:
    def test_a_body_of_another_kind(self, sender):
        told = refusal(sender.post("<r/>", "application/xml"), 415)
        assert "application/senml+json" in told["detail"]

    def test_another_encoding_and_a_compressed_body(self, sender):
        kind = "text/csv; charset=utf-16"
        assert "UTF-8" in refusal(sender.post("x", kind), 415)["detail"]
        answer = sender.post("x", CSV, **{"content-encoding": "gzip"})
        assert "not compressed" in refusal(answer, 415)["detail"]

    def test_a_body_that_is_too_long(self, sender):
        told = refusal(sender.post("x" * 1_000_001), 413)
        assert "1,000,000 bytes" in told["detail"]

    def test_one_bad_reading_keeps_out_the_good_ones(self, sender):
        told = refusal(
            sender.send(reading(), reading(unit="V"), reading(), reading(unit="")), 422
        )
        assert [one["row"] for one in told["problems"]] == [2, 4]
        assert told["detail"] == (
            "Nothing was kept. Row 2: The unit 'V' is not known: send Cel, K, degF, "
            "%RH. 1 more."
        )
        assert Sensor.objects.count() == 0

    def test_only_the_first_of_many_problems_are_told(self, sender):
        told = refusal(sender.send(*[reading(unit="V")] * 50), 422)
        assert len(told["problems"]) == 20
        assert told["detail"].endswith("49 more.")

    @pytest.mark.parametrize(
        ("body", "words"),
        [
            (" ", "no JSON: line 1, column 2"),
            ("[1", "no JSON"),
            ("[]", 'list of "readings"'),
            ('{"readings": {}}', 'list of "readings"'),
            ('{"readings": [], "x": 1}', 'nothing beside "readings"'),
            ('{"readings": []}', "send at least one"),
            ('{"readings": [1]}', "object of sensor, at, value and unit"),
            ('{"readings": [{"sensor": "a"}]}', "and nothing else"),
            ('{"a": 1, "a": 2}', "twice"),
            ('{"readings": NaN}', "NaN is not a number"),
            ("[" * 100_000, "too deeply nested"),
            (b"\xff", "Byte 1 is not UTF-8"),
            ('{"readings": [1e99999999999999999999999]}', "too large an exponent"),
            ('{"readings": [1e-99999999999999999999999]}', "too large an exponent"),
        ],
    )
    def test_json_that_is_no_list_of_readings(self, sender, body, words):
        assert words in refusal(sender.post(body), 422)["detail"]

    @pytest.mark.parametrize(
        ("change", "words"),
        [
            ({"sensor": 7}, '"sensor" must be a text'),
            ({"sensor": " "}, "Name the sensor"),
            ({"sensor": "a\u0000b"}, "Name the sensor"),
            ({"sensor": "a\u202eb"}, "Name the sensor"),
            ({"sensor": "a\u200bb"}, "Name the sensor"),
            ({"sensor": "a" * 201}, "Name the sensor"),
            ({"sensor": "a" * 81}, "at most 80 characters"),
            ({"value": None}, "leave out what was not measured"),
            ({"value": "1.5"}, '"value" must be a number'),
            ({"value": True}, '"value" must be a number'),
            ({"value": 1_000_001}, "must be a number from"),
            ({"unit": "C"}, "send Cel, K, degF, %RH"),
            ({"unit": None}, '"unit" must be a text'),
            ({"at": 1795583400}, '"at" must be a text'),
            ({"at": "yesterday"}, "write it like 2026-11-25T06:10:00+01:00"),
            ({"at": "2026-11-25T06:10:00"}, "does not say its offset from UTC"),
            ({"at": "2026-02-30T06:10:00Z"}, "a time that does not exist"),
            ({"at": "1999-12-31T23:59:59Z"}, "set the logger's clock"),
            ({"at": "2026-11-25T12:05:01Z"}, "more than 5 minutes ahead"),
        ],
    )
    def test_a_reading_with_something_wrong(self, sender, change, words):
        told = refusal(sender.send(reading() | change), 422)
        assert words in told["detail"]

    @pytest.mark.parametrize("value", ["1e9999999", "-1e9999999", "1e999999999999"])
    def test_a_value_beyond_what_is_reckoned_with(self, sender, value):
        told = refusal(sender.post(written(value)), 422)
        assert "must be a number from" in told["detail"]
        line = f"at,sensor,value,unit\n2026-11-25T06:10Z,a,{value},Cel"
        refusal(sender.post(line, CSV), 422)

    def test_the_smallest_value_is_kept_as_nought(self, sender):
        assert sender.post(written("1e-9999999")).status_code == 200
        assert values() == [0.0]

    def test_a_clock_that_is_a_little_fast_is_borne(self, sender):
        ahead = reading() | {"at": "2026-11-25T12:05:00Z"}
        assert sender.send(ahead).status_code == 200

    @pytest.mark.parametrize(
        ("body", "row", "words"),
        [
            (" ", 1, "must be the header at,sensor,value,unit"),
            ("at,sensor,value\n", 1, "must be the header"),
            ("at,sensor,value,unit\n", None, "send at least one"),
            ("at,sensor,value,unit\na,b\n", 2, "2 cells instead of 4"),
            ("at,sensor,value,unit\n\n2026-11-25T06:10Z,a,nan,Cel", 3, "'nan' is not"),
            ('at,sensor,value,unit\n2026-11-25T06:10Z,a,"0,4",Cel', 2, "decimal point"),
            ('at,sensor,value,unit\n"', 2, "mend its quotes"),
        ],
    )
    def test_csv_with_the_row_that_is_wrong(self, sender, body, row, words):
        told = refusal(sender.post(body, CSV), 422)
        assert told["problems"][0]["row"] == row
        assert words in told["problems"][0]["reason"]

    def test_too_many_readings_in_one_post(self, sender):
        line = "2026-11-25T06:10Z,a,1,Cel\n"
        body = "at,sensor,value,unit\n" + line * 20_001
        told = refusal(sender.post(body, CSV), 422)
        assert "at most 20000" in told["detail"]

    def test_another_quantity_under_a_name_already_given(self, sender):
        make.sensor(name="S0-01f", frame=sender.logger.frame)
        told = refusal(sender.send(reading(unit="%RH")), 422)
        assert "measures temperature" in told["detail"]
        assert LoggerChannel.objects.count() == 0

    def test_the_name_of_a_thermometer_that_is_read_by_hand(self, sender):
        make.sensor(name="S0-01f", frame=sender.logger.frame, is_min_max=True)
        assert "read by hand" in refusal(sender.send(reading()), 422)["detail"]

    def test_names_without_end(self, sender):
        many = [reading(sensor=f"at {n}") for n in range(101)]
        told = refusal(sender.send(*many), 422)
        assert "at most 100 are kept apart" in told["detail"]
        assert Sensor.objects.count() == 0

    def test_any_way_but_post(self, sender):
        answer = sender.browser.get(ADDRESS)
        refusal(answer, 405)
        assert answer["Allow"] == "POST"

    @pytest.mark.parametrize("error", [OperationalError, InterfaceError])
    def test_a_database_that_cannot_be_reached(
        self, sender, monkeypatch, caplog, error
    ):
        def away(token):
            raise error("connection refused")

        monkeypatch.setattr(endpoint, "logger_of_token", away)
        answer = sender.send(reading())
        assert "send it again" in refusal(answer, 503)["detail"]
        assert int(answer["Retry-After"]) > 0
        assert "connection refused" in caplog.text
        assert sender.token not in caplog.text

    def test_a_database_that_stays_busy(self, sender, monkeypatch, caplog):
        def busy(**_):
            raise OperationalError("database is locked")

        monkeypatch.setattr(endpoint, "receive", busy)
        answer = sender.send(reading())
        assert "send it again" in refusal(answer, 503)["detail"]
        assert int(answer["Retry-After"]) > 0
        assert sender.token not in caplog.text
