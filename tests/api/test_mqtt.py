"""What a message from a broker says, and which times are known."""

from dataclasses import replace
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from wintering.api.measurements import Measurement, NotUnderstood
from wintering.api.mqtt import LONGEST_WAIT_S, Message, Reader
from wintering.api.mqtt_address import Topics

NOW_S = 1_795_608_000.25
LISTENED = [
    Topics("frame/+/temp", "Cel"),
    Topics("frame/+/f", "degF"),
    Topics("frame/#"),
]


def message(payload, topic="frame/floor/temp", **fields):
    body = payload if isinstance(payload, bytes) else payload.encode()
    return Message(topic, body, **{"received_s": NOW_S, **fields})


def read(payload, *more, **fields):
    return Reader(LISTENED).read(message(payload, *more, **fields))


@pytest.mark.parametrize(
    ("text", "value"),
    [("-1.25", "-1.25"), (" 3\n", "3"), ("+.5", "0.5"), ("5.", "5"), ("1e-2", "0.01")],
)
def test_plain_number_is_a_measurement_of_its_topic_when_it_came(text, value):
    (one,) = read(text).measurements
    assert one == Measurement("frame/floor/temp", 1_795_608_000, Decimal(value), "Cel")


def test_unit_of_a_plain_number_belongs_to_its_topic():
    (one,) = read("50", "frame/floor/f").measurements
    assert (one.unit, one.thousandths("c")) == ("degF", 10_000)


@pytest.mark.parametrize(
    ("payload", "words"),
    [
        ("", "neither a SenML pack nor a plain number"),
        ("warm", "neither"),
        ("21,5", "decimal point"),
        ("nan", "neither"),
        ("inf", "neither"),
        ("0x10", "neither"),
        ("1_0", "neither"),
        ("٣", "neither"),
        ("21.5 C", "neither"),
        (b"\xff", "neither"),
        ("9999999", "must be a number from"),
        ('{"temp": 3}', "a JSON array"),
        ('[{"n":"a"}]', "no value"),
        (b"[" + b" " * 1_000_001, "bytes"),
    ],
)
def test_what_is_neither_is_not_understood(payload, words):
    with pytest.raises(NotUnderstood, match=words):
        read(payload)


def test_plain_number_without_a_unit_is_not_guessed():
    with pytest.raises(NotUnderstood, match="--unit"):
        read("21.5", "frame/other")


@pytest.mark.parametrize(
    ("name", "channel"),
    [("temp", "frame/box/temp"), ("urn:dev:ow:1:temp", "urn:dev:ow:1:temp")],
)
def test_name_that_is_unique_only_in_its_topic_is_kept_apart_by_it(name, channel):
    pack = f'[{{"n":"{name}","u":"Cel","v":1,"t":1700000000}}]'
    (one,) = read(pack, "frame/box").measurements
    assert (one.name, one.second) == (channel, 1_700_000_000)


TIMED = '[{"n":"a","u":"Cel","v":1,"t":1700000000}]'
RELATIVE = '[{"n":"a","u":"Cel","v":1,"t":-5},{"n":"a","u":"Cel","v":2}]'


def test_relative_times_count_from_when_it_came():
    seconds = [one.second for one in read(RELATIVE).measurements]
    assert seconds == [1_795_607_995, 1_795_608_000]


@pytest.mark.parametrize(
    ("fields", "why"),
    [
        ({"is_retained": True}, "retained by the broker"),
        ({"waited_s": LONGEST_WAIT_S + 1}, "waited at the broker for up to 301 s"),
        ({"waited_s": float("inf")}, "waited at the broker for an unknown time"),
    ],
)
def test_value_without_a_time_is_no_reading_where_it_may_be_old(fields, why):
    for payload, count in [("1", 1), (RELATIVE, 2)]:
        found = read(payload, **fields)
        assert found.measurements == ()
        assert [one.why for one in found.untimed] == [why] * count
    assert len(read(TIMED, **fields).measurements) == 1


def test_short_wait_is_no_matter():
    assert len(read("1", waited_s=LONGEST_WAIT_S).measurements) == 1


def test_another_value_of_the_same_second_has_no_time_of_its_own():
    reader = Reader(LISTENED)
    first = reader.read(message("1"))
    same = reader.read(message("1"))
    other = reader.read(message("2"))
    elsewhere = reader.read(message("2", "frame/roof/temp"))
    later = reader.read(replace(message("2"), received_s=NOW_S + 1))
    taken = [len(f.measurements) for f in (first, same, other, elsewhere, later)]
    assert taken == [1, 1, 0, 1, 1]
    assert other.untimed[0].why == "came in within a second of another"
    assert other.untimed[0].as_json()["value"] == "2"


@given(st.binary(max_size=40))
def test_any_payload_ends_in_values_or_a_sentence(payload):
    try:
        found = read(payload)
    except NotUnderstood as refused:
        good = all(problem.reason.endswith(".") for problem in refused.problems)
    else:
        good = bool(found.measurements)
    assert good


@given(st.decimals(-1000, 1000, places=3))
def test_plain_numbers_are_exact(value):
    (one,) = read(f"{value:f}").measurements
    assert one.value == value
