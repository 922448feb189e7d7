"""What charts are drawn from: columns, marks and words, or a refusal in a sentence."""

from datetime import UTC, datetime, timedelta

import numpy as np
import pytest

from tests import make
from tests.web.test_climate import hours, store
from wintering.climate.models import SensorCheck
from wintering.people.models import User
from wintering.web.scales import Scale

START = datetime(2025, 1, 18, tzinfo=UTC)
START_S = int(START.timestamp())
DAY_S = 86_400


@pytest.fixture(autouse=True)
def _january(time_machine):
    time_machine.move_to(datetime(2025, 1, 20, 12, tzinfo=UTC))


@pytest.fixture
def sensor(db):
    frame = make.frame(name="Long Frame", slug="long-frame")
    part = make.microclimate(
        frame=frame, name="rear bench", safe_low_c=1.7, safe_high_c=7.2
    )
    return make.sensor(name="R1", microclimate=part)


def asked(*sensors, days=2, **more):
    keys = ",".join(str(sensor.pk) for sensor in sensors)
    stretch = {"start": START_S, "end": START_S + days * DAY_S, "width": 600}
    return {"sensors": keys, **stretch, **more}


def data(browser, *sensors, **more):
    answer = browser.get("/climate/chart.json", asked(*sensors, **more))
    assert answer.status_code == 200, answer.content
    return answer.json()


def test_columns_are_given_with_gaps_open(as_helper, sensor):
    store(sensor, {**hours(START, [2.0, 2.5]), START + timedelta(hours=30): -0.25})
    told = data(as_helper, sensor)
    (line,) = told["lines"]
    assert len(line["low"]) == told["count"]
    known = [(n, c) for n, c in enumerate(line["low"]) if c is not None]
    per_hour = 3600 // told["step"]
    assert known == [(0, 2.0), (per_hour, 2.5), (30 * per_hour, -0.25)]
    assert (line["name"], line["place"]) == ("R1", "root zone")
    assert told["gap_after"] < 28 * 3600


def test_values_band_and_accuracy_are_in_the_readers_unit(as_keeper, keeper, sensor):
    sensor.accuracy = 0.5
    sensor.save()
    store(sensor, hours(START, [0.0, 10.0]))
    keeper.units = User.Units.FAHRENHEIT
    keeper.save()
    told = data(as_keeper, sensor)
    assert told["unit"] == "°F"
    assert [c for c in told["lines"][0]["low"] if c is not None] == [32.0, 50.0]
    assert told["bands"] == [
        {"low": 35.06, "high": 44.96, "name": "safe band, rear bench"}
    ]
    assert told["lines"][0]["accuracy"] == "±0.9\u00a0°F as its maker states"
    assert "50" in told["summary"]
    assert "°C" not in told["summary"]


def test_humidity_has_no_band(as_keeper, sensor):
    damp = make.sensor(
        frame=sensor.frame,
        name="H1",
        quantity="humidity",
        unit="pct",
        microclimate=sensor.microclimate,
    )
    store(damp, hours(START, [88.0, 90.0]))
    told = data(as_keeper, damp)
    assert (told["unit"], told["bands"]) == ("%", [])


def test_nights_are_shaded_where_the_frames_position_is_known(as_keeper, sensor):
    store(sensor, hours(START, [2.0] * 30))
    told = data(as_keeper, sensor)
    assert told["nights"] == []
    assert any("where the frame lies is not known" in note for note in told["notes"])
    sensor.frame.latitude_deg, sensor.frame.longitude_deg = 51.5, 0.0
    sensor.frame.save()
    told = data(as_keeper, sensor)
    assert len(told["nights"]) == 3
    # Sunrise over London on 18 January: 07:58 UTC, almanac value to the minute.
    first_rise = told["nights"][0][1]
    assert abs(first_rise - (START_S + 7 * 3600 + 58 * 60)) < 180
    long = data(as_keeper, sensor, days=200)
    assert long["nights"] == []
    assert any("100 days or less" in note for note in long["notes"])


def test_what_happened_is_marked_in_order_of_time(as_keeper, sensor):
    frame, at = sensor.frame, START + timedelta(hours=6)
    for tree in (make.tree(), make.tree()):
        make.flag(frame=frame, tree=tree, since=at)
    make.flag(frame=make.frame(), since=at)
    make.round(frame=frame, at=at + timedelta(hours=3))
    SensorCheck.objects.create(
        sensor=sensor,
        checked_at=at + timedelta(hours=1),
        shown_c=[0.1],
        offset_k=0.1,
        by=make.keeper(),
    )
    words = [one["word"] for one in data(as_keeper, sensor)["events"]]
    assert words == [
        "flag: roots too cold, 2 trees",
        "R1 checked in ice",
        "round",
    ]


def test_what_is_set_aside_is_hatched_with_its_reason(as_keeper, sensor):
    store(sensor, hours(START, [2.0, 85.0, 2.0]))
    told = data(as_keeper, sensor)
    (aside,) = told["asides"]
    assert aside["start"] < START_S + 3600 < aside["end"]
    assert "a value that loggers and probes write" in aside["words"]
    assert max(c for c in told["lines"][0]["high"] if c is not None) == 2.0


def test_days_with_readings_set_aside_are_told_by_the_frames_own_clock(
    as_keeper, sensor
):
    store(sensor, hours(START, [2.0, 85.0, 2.0]))
    (aside,) = data(as_keeper, sensor, days=60)["asides"]
    assert aside["words"] == "R1: 1 reading set aside, 18 Jan 2025 (look closer)."
    sensor.frame.time_zone = "America/New_York"
    sensor.frame.save()
    (aside,) = data(as_keeper, sensor, days=60)["asides"]
    assert aside["words"] == (
        "R1: 1 reading set aside between Fri 17 Jan 2025, 19:00 and Sat 18 Jan 2025, "
        "19:00 (look closer)."
    )
    assert (aside["start"], aside["end"]) == (START_S, START_S + DAY_S)


def test_a_long_range_says_how_wide_a_column_is(as_keeper, sensor):
    store(sensor, hours(START, [1.0, 2.0, 3.0]))
    near, far = data(as_keeper, sensor), data(as_keeper, sensor, days=60)
    assert "Each reading is drawn. Gaps are left open." in near["notes"]
    wide = "Each column is the lowest and the highest reading of 6 h. "
    assert any(note.startswith(wide) for note in far["notes"])
    assert far["step"] == 6 * 3600


@pytest.mark.parametrize(
    ("changed", "sentence"),
    [
        ({"sensors": ""}, "Name the sensors"),
        ({"sensors": "one"}, "sensors are numbers with commas between"),
        ({"sensors": "99999"}, "There is no sensor 99999."),
        ({"sensors": ",".join(map(str, range(1, 23)))}, "up to 20 sensors"),
        ({"start": ""}, "Say from when"),
        ({"start": "yesterday"}, "start is a whole number"),
        ({"start": -5}, "No reading is older than 1970"),
        ({"end": START_S}, "The end must come after the start."),
        ({"end": 10**15}, "beyond the year 2100"),
        ({"width": 0}, "at least 40 pixels"),
        ({"width": 10**9}, "at most 8000 pixels"),
    ],
)
def test_what_cannot_be_drawn_is_refused_in_a_sentence(
    as_keeper, sensor, changed, sentence
):
    assert as_keeper.get("/climate/chart.json", asked(sensor)).status_code == 200
    answer = as_keeper.get("/climate/chart.json", {**asked(sensor), **changed})
    assert answer.status_code == 400
    assert sentence in answer.json()["error"]


def test_sensors_of_two_frames_or_kinds_are_charted_apart(as_keeper, sensor):
    elsewhere = make.sensor()
    damp = make.sensor(frame=sensor.frame, quantity="humidity", unit="pct")
    for other, sentence in ((elsewhere, "of one frame"), (damp, "charted apart")):
        answer = as_keeper.get("/climate/chart.json", asked(sensor, other))
        assert answer.status_code == 400
        assert sentence in answer.json()["error"]


def test_only_who_works_here_sees_it_and_nobody_else_keeps_it(
    as_helper, as_client, sensor
):
    answer = as_helper.get("/climate/chart.json", asked(sensor))
    assert "private" in answer["Cache-Control"]
    assert as_client.get("/climate/chart.json", asked(sensor)).status_code == 404
    winters = f"/climate/sensors/{sensor.pk}/winters"
    for address in (f"{winters}/", f"{winters}.json", "/climate/frames/long-frame/"):
        assert as_client.get(address).status_code == 404


def test_asked_again_nothing_new_is_not_sent_again(as_keeper, sensor):
    store(sensor, hours(START, [2.0]))
    first = as_keeper.get("/climate/chart.json", asked(sensor))
    again = {"if-none-match": first["ETag"]}
    same = as_keeper.get("/climate/chart.json", asked(sensor), headers=again)
    assert (same.status_code, same.content) == (304, b"")
    store(sensor, hours(START + timedelta(hours=2), [3.0]))
    fresh = as_keeper.get("/climate/chart.json", asked(sensor), headers=again)
    assert fresh.status_code == 200


def test_more_sensors_take_no_more_statements(
    as_keeper, sensor, django_assert_max_num_queries
):
    many = [make.sensor(frame=sensor.frame) for _ in range(12)]
    for one in many:
        store(one, hours(START, [1.0, 2.0]))
    with django_assert_max_num_queries(12):
        data(as_keeper, sensor, *many)


@pytest.mark.parametrize(
    ("unit", "written", "reads_f", "told"),
    [
        ("c", 1, False, "−0.3\u00a0°C"),
        ("c", 3, False, "−0.250\u00a0°C"),
        ("c", 0, False, "0\u00a0°C"),
        ("c", 2, True, "31.55\u00a0°F"),
        ("f", 1, False, "−0.25\u00a0°C"),
        ("f", 1, True, "31.5\u00a0°F"),
        ("c", None, False, "−0.3\u00a0°C"),
    ],
)
def test_a_value_has_as_many_digits_as_its_sensor_writes(
    db, unit, written, reads_f, told
):
    sensor = make.sensor(unit=unit)
    reader = make.keeper(units="f" if reads_f else "c")
    assert Scale.of(sensor, written, reader).words(-0.2500001) == told


def test_an_accuracy_that_nobody_stated_is_said_to_be_missing(db):
    sensor = make.sensor()
    assert Scale.of(sensor, 1, None).accuracy_words == "accuracy not stated"


def test_a_sensors_page_tells_values_as_finely_as_it_writes(as_keeper, sensor):
    store(sensor, hours(START, np.array([2.0625, 2.125, 2.25])))
    page = as_keeper.get(f"/climate/{sensor.pk}/").content.decode()
    assert "2.062\u00a0°C" in page
    assert "2.250\u00a0°C" in page
