"""SenML packs: the examples of RFC 8428 itself, and what is refused.

The examples are those of https://www.rfc-editor.org/rfc/rfc8428, sections 5.1.1 to
5.1.7; numbers of sections beside each.
"""

import json
from datetime import UTC, datetime
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from wintering.api.measurements import Measurement, NotUnderstood
from wintering.api.senml import parse_senml, resolve

NOW = datetime(2026, 11, 25, 12, 0, 0, tzinfo=UTC)
NOW_S = 1_795_608_000
DEVICE = "urn:dev:ow:10e2073a01080063"


def parsed(text):
    body = text if isinstance(text, bytes) else text.encode()
    return parse_senml(body, received_at=NOW)


def refusal(text):
    with pytest.raises(NotUnderstood) as refused:
        parsed(text)
    (problem,) = refused.value.problems
    return problem


def test_single_datapoint_is_taken_as_now():  # 5.1.1
    found = parsed(f'[{{"n":"{DEVICE}","u":"Cel","v":23.1}}]')
    assert found == [Measurement(DEVICE, NOW_S, Decimal("23.1"), "Cel")]


def test_base_name_is_prepended_and_units_of_no_reading_are_refused():  # 5.1.2
    problem = refusal(
        f'[{{"bn":"{DEVICE}:","n":"voltage","u":"V","v":120.1}},'
        '{"n":"current","u":"A","v":1.2}]'
    )
    assert problem.row == 1
    assert "unit 'V'" in problem.reason


COUNTED_BACK = (  # 5.1.2, its second example; in Cel, since amperes are not kept
    '[{"bn":"urn:dev:ow:10e2073a0108006:","bt":1.276020076001e+09,'
    '"bu":"Cel","bver":5,"n":"voltage","v":120.1},'
    '{"n":"current","t":-5,"v":1.2},'
    '{"n":"current","t":-4,"v":1.3},'
    '{"n":"current","t":-3,"v":1.4},'
    '{"n":"current","t":-2,"v":1.5},'
    '{"n":"current","t":-1,"v":1.6},'
    '{"n":"current","v":1.7}]'
)


def test_times_count_from_the_base_time():
    found = parsed(COUNTED_BACK)
    assert found[0].name == "urn:dev:ow:10e2073a0108006:voltage"
    assert {m.name for m in found[1:]} == {"urn:dev:ow:10e2073a0108006:current"}
    # Tue Jun 8 18:01:16.001 UTC 2010, and each of the 5 seconds before
    last = int(datetime(2010, 6, 8, 18, 1, 16, tzinfo=UTC).timestamp())
    assert [m.second - last for m in found] == [0, -5, -4, -3, -2, -1, 0]
    assert [str(m.value) for m in found[1:]] == [
        "1.2",
        "1.3",
        "1.4",
        "1.5",
        "1.6",
        "1.7",
    ]


def test_resolved_times_are_exact():
    times = [record.time_s for record in resolve(COUNTED_BACK.encode())]
    assert times[:2] == [Decimal("1276020076.001"), Decimal("1276020071.001")]


MOBILE_DEVICE = [  # 5.1.3
    {"bn": DEVICE, "bt": 1.320067464e09, "bu": "%RH", "v": 20},
    {"u": "lon", "v": 24.30621},
    {"u": "lat", "v": 60.07965},
    {"t": 60, "v": 20.3},
    {"u": "lon", "t": 60, "v": 24.30622},
    {"u": "lat", "t": 60, "v": 60.07965},
    {"t": 120, "v": 20.7},
    {"u": "lon", "t": 120, "v": 24.30623},
    {"u": "lat", "t": 120, "v": 60.07966},
    {"u": "%EL", "t": 150, "v": 98},
    {"t": 180, "v": 21.2},
    {"u": "lon", "t": 180, "v": 24.30628},
    {"u": "lat", "t": 180, "v": 60.07967},
]
RESOLVED = [  # 5.1.4, those in %RH
    {"n": DEVICE, "u": "%RH", "t": 1.320067464e09, "v": 20},
    {"n": DEVICE, "u": "%RH", "t": 1.320067524e09, "v": 20.3},
    {"n": DEVICE, "u": "%RH", "t": 1.320067584e09, "v": 20.7},
    {"n": DEVICE, "u": "%RH", "t": 1.320067644e09, "v": 21.2},
]


def test_pack_and_its_resolved_form_are_the_same_measurements():
    humid = [record for record in MOBILE_DEVICE if record.get("u", "%RH") == "%RH"]
    found = parsed(json.dumps(humid))
    assert found == parsed(json.dumps(RESOLVED))
    assert found[0].second == int(
        datetime(2011, 10, 31, 13, 24, 24, tzinfo=UTC).timestamp()
    )


def test_pack_with_one_record_that_is_not_kept_is_refused_whole():
    problem = refusal(json.dumps(MOBILE_DEVICE))
    assert problem.row == 2
    assert "unit 'lon'" in problem.reason


DATA_TYPES = [  # 5.1.5
    {"bn": f"{DEVICE}:", "n": "temp", "u": "Cel", "v": 23.1},
    {"n": "label", "vs": "Machine Room"},
    {"n": "open", "vb": False},
    {"n": "nfc-reader", "vd": "aGkgCg"},
]


@pytest.mark.parametrize(
    ("at", "words"), [(1, "a text"), (2, "true or false"), (3, "data")]
)
def test_values_that_are_no_numbers_are_no_readings(at, words):
    problem = refusal(json.dumps([DATA_TYPES[0], DATA_TYPES[at]]))
    assert problem.row == 2
    assert f"holds {words}" in problem.reason


def test_last_record_has_the_third_base_name_and_the_first_base_time():  # 5.1.6
    found = parsed(
        '[{"bn":"2001:db8::2/","bt":1.320078429e+09,'
        '"n":"temperature","u":"Cel","v":25.2},'
        '{"n":"humidity","u":"%RH","v":30},'
        '{"bn":"2001:db8::1/","n":"temperature","u":"Cel","v":12.3},'
        '{"n":"humidity","u":"%RH","v":67}]'
    )
    # Mon Oct 31 16:27:09 UTC 2011
    at = int(datetime(2011, 10, 31, 16, 27, 9, tzinfo=UTC).timestamp())
    assert [(m.name, m.second, str(m.value), m.unit) for m in found] == [
        ("2001:db8::2/temperature", at, "25.2", "Cel"),
        ("2001:db8::2/humidity", at, "30", "%RH"),
        ("2001:db8::1/temperature", at, "12.3", "Cel"),
        ("2001:db8::1/humidity", at, "67", "%RH"),
    ]


def test_record_of_base_fields_alone_is_no_reading():  # 5.1.7, its first two records
    found = parsed(f'[{{"bn":"{DEVICE}:"}},{{"n":"temp","u":"Cel","v":23.1}}]')
    assert [m.name for m in found] == [f"{DEVICE}:temp"]


def test_base_value_is_added_exactly():
    found = parsed('[{"bn":"a","bu":"K","bv":273.15,"v":0.1},{"v":-0.05}]')
    assert [str(m.value) for m in found] == ["273.25", "273.10"]


def test_numbers_are_exact():
    (found,) = parsed('[{"n":"a","u":"Cel","v":-0.1234567890123456789}]')
    assert str(found.value) == "-0.1234567890123456789"


def test_time_below_2_to_the_28th_counts_from_now_and_above_from_1970():
    found = resolve(
        b'[{"n":"a","u":"Cel","v":1,"t":268435455.9},{"n":"a","u":"Cel","v":1,"t":268435456}]'
    )
    assert [record.is_timed for record in found] == [False, True]


def test_unknown_field_is_ignored_and_one_that_must_be_understood_is_not():
    record = '{"n":"a","u":"Cel","v":1,"%s":{"deep":[1]}}'
    assert len(parsed(f"[{record % 'extra'}]")) == 1
    assert "'extra_' must be understood" in refusal(f"[{record % 'extra_'}]").reason


GOOD = '{"n":"a","u":"Cel","v":1}'


@pytest.mark.parametrize(
    ("bad", "words"),
    [
        ('{"u":"Cel","v":1}', "no name"),
        ('{"n":"","u":"Cel","v":1}', "no name"),
        ('{"n":"-a","u":"Cel","v":1}', "must begin with a letter or digit"),
        ('{"n":"a b","u":"Cel","v":1}', "name 'a b'"),
        ('{"n":"ä","u":"Cel","v":1}', "of ASCII"),
        ('{"n":"a","v":1}', "no unit"),
        ('{"n":"a","u":"%","v":1}', "unit '%' is not kept"),
        ('{"n":"a","u":"degF","v":1}', "unit 'degF' is not kept"),
        ('{"n":"a","u":"Cel"}', "no value"),
        ('{"n":"a","u":"Cel","s":12.5}', "a sum"),
        ('{"n":"a","u":"Cel","v":1,"vs":"x"}', "has v and vs"),
        ('{"n":"a","u":"Cel","v":1,"v":2}', "'v' twice"),
        ('{"n":"a","u":"Cel","v":"1"}', "'v' must be a number"),
        ('{"n":"a","u":"Cel","v":true}', "'v' must be a number"),
        ('{"n":"a","u":"Cel","v":null}', "'v' must be a number"),
        ('{"n":1,"u":"Cel","v":1}', "'n' must be text"),
        ('{"n":"a","u":"Cel","v":1,"t":"now"}', "'t' must be a number"),
        ('{"n":"a","u":"Cel","v":1e999}', "beyond what a number may be"),
        ('{"n":"a","u":"Cel","v":2000000}', "The value must be a number from"),
        ('{"n":"a","u":"Cel","v":1,"t":1e15}', "beyond the year 9999"),
        ('{"n":"a","u":"Cel","v":1,"t":300000000}', "before 2000"),
        ('{"n":"a","u":"Cel","v":1,"t":1795610000}', "ahead"),
        ('{"n":"a","u":"Cel","v":1,"bver":11}', "version 11"),
        ('{"n":"a","u":"Cel","v":1,"bver":5.5}', "whole number"),
        ("[1]", "is a JSON object"),
        ("7", "is a JSON object"),
    ],
)
def test_bad_record_refuses_the_pack_and_is_numbered(bad, words):
    problem = refusal(f"[{GOOD},{bad}]")
    assert problem.row == 2
    assert words in problem.reason
    assert problem.reason.endswith(".")


def test_pack_has_one_version():
    first = '{"bver":9,"n":"a","u":"Cel","v":1}'
    assert len(parsed(f"[{first},{first}]")) == 2
    assert (
        "only one" in refusal(f'[{first},{{"bver":10,"n":"a","u":"Cel","v":1}}]').reason
    )


@pytest.mark.parametrize(
    ("body", "words"),
    [
        (b"", "no JSON"),
        (b"{}", "a JSON array"),
        (b"[]", "holds no value"),
        (b'[{"bn":"a"}]', "holds no value"),
        (b"21.5", "a JSON array"),
        (b"[", "no JSON"),
        (b"\xff\xfe[]", "not UTF-8 at byte 0"),
        (b"\xef\xbb\xbf[]", "no JSON"),
        (b'[{"n":"a","u":"Cel","v":NaN}]', "NaN"),
        (b'[{"n":"a","u":"Cel","v":-Infinity}]', "-Infinity"),
        (b"[" * 200_000, "nested too deeply"),
        (b'[{"n":"a","u":"Cel","v":1e99999999999999999999}]', "large an exponent"),
        (b'[{"n":"a","u":"Cel","v":1e-99999999999999999999}]', "large an exponent"),
    ],
)
def test_what_is_no_pack_is_refused(body, words):
    problem = refusal(body)
    assert problem.row is None
    assert words in problem.reason


names = st.from_regex(r"[A-Za-z0-9][A-Za-z0-9\-:./_]{0,20}", fullmatch=True)
values = st.decimals(-1000, 1000, places=3)
seconds = st.integers(1_000_000_000, NOW_S)
readings = st.tuples(names, seconds, values, st.sampled_from(["Cel", "K", "%RH"]))


@given(st.lists(readings, min_size=1), st.integers(0, NOW_S - 2**29), values)
def test_base_fields_never_change_what_is_meant(rows, base_s, base_value):
    expected = [Measurement(*row) for row in rows]
    records = [
        f'{{"n":"{name}","t":{second - base_s},"v":{value - base_value:f},'
        f'"u":"{unit}"}}'
        for name, second, value, unit in rows
    ]
    base = f'{{"bt":{base_s},"bv":{base_value:f}}}'
    assert parsed(f"[{base},{','.join(records)}]") == expected


def ends_well(body):
    """Whether there are measurements, or sentences that say why not."""
    try:
        return bool(parse_senml(body, received_at=NOW))
    except NotUnderstood as refused:
        return all(problem.reason.endswith(".") for problem in refused.problems)


@given(st.binary(max_size=60) | st.text(max_size=60).map(str.encode))
def test_any_bytes_end_in_measurements_or_a_sentence(body):
    assert ends_well(body)


labels = st.sampled_from(["bn", "bt", "bu", "bv", "bver", "n", "u", "v", "t", "s", "x"])
held = st.sampled_from(["a", "Cel", "", 1, -2.5, 1e300, 5e-324, True, None, [], {}])


@given(st.lists(st.dictionaries(labels, held), max_size=4))
def test_any_records_end_in_measurements_or_a_sentence(pack):
    assert ends_well(json.dumps(pack).encode())
