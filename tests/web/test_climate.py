"""Sensors: where they measure, what they measured, what that adds up to."""

import csv
import io
from datetime import UTC, datetime, timedelta

import pytest

from tests import make
from tests.web.test_stays import words
from wintering.web.forms.climate import RangeForm
from wintering.web.sensor_page import sensor_page
from wintering.web.windows import window_of

NOON = datetime(2025, 1, 20, 12, tzinfo=UTC)


@pytest.fixture(autouse=True)
def _january(time_machine):
    time_machine.move_to(NOON)


@pytest.fixture
def sensor(db):
    frame = make.frame(name="Long Frame", slug="long-frame")
    part = make.microclimate(
        frame=frame, name="rear bench", safe_low_c=1.7, safe_high_c=7.2
    )
    return make.sensor(name="R1", microclimate=part)


def store(sensor, readings):
    """Readings as {instant: °C}."""
    make.store(
        sensor,
        [int(at.timestamp()) for at in readings],
        [round(c * 1000) for c in readings.values()],
    )


def hours(first, values):
    return {first + timedelta(hours=n): c for n, c in enumerate(values)}


def page_of(sensor, now=NOON, **asked):
    form = RangeForm(asked or None)
    return sensor_page(sensor, window_of(form, sensor, now), now)


def test_the_list_shows_the_latest_value_its_age_and_where(as_helper, sensor):
    store(sensor, hours(NOON - timedelta(hours=3), [2.0, 2.5]))
    page = words(as_helper.get("/climate/"))
    assert "R1" in page
    assert "root zone" in page
    assert "rear bench" in page
    assert "2.5 °C" in page
    assert "2 h ago" in page


def test_a_sensor_that_never_spoke_is_unknown(as_keeper, sensor):
    page = words(as_keeper.get("/climate/"))
    assert "no reading yet" in page
    assert "0.0 °C" not in page


def test_a_thermometer_read_by_hand_shows_what_was_read_last(as_keeper, sensor):
    door = make.sensor(
        frame=sensor.frame, name="Door", place="air", unit="f", is_min_max=True
    )
    never = make.sensor(frame=sensor.frame, name="Shelf", is_min_max=True)
    now = {"low": 24_800, "high": 41_000, "now": 32_900}
    make.min_max_entry(door, NOON - timedelta(hours=4), **now)
    make.min_max_entry(never, NOON - timedelta(hours=4), withdrawn_at=NOON, **now)
    page = words(as_keeper.get("/climate/"))
    row = page[page.index("Door") : page.index("R1")]
    assert "0.5 °C" in row
    assert "−4.0 °C to 5.0 °C" in row
    assert "4 h ago" in row
    assert "no reading yet" not in row
    assert "no reading yet" in page[page.index("Shelf") :]


def test_a_thermometer_read_by_hand_a_year_ago_has_had_a_reading(as_keeper, sensor):
    sensor.delete()
    door = make.sensor(name="Door", place="air", is_min_max=True)
    make.min_max_entry(door, NOON - timedelta(days=360), low=1000, high=5000)
    page = words(as_keeper.get("/climate/"))
    assert "360 days ago" in page
    assert "1.0 °C to 5.0 °C" in page
    assert "no reading yet" not in page


def test_a_sensor_whose_place_is_not_known_is_named(as_keeper, sensor):
    make.sensor(frame=sensor.frame, place="unknown")
    page = words(as_keeper.get("/climate/"))
    assert "1 of them measures at a place not known yet, and feeds no flag" in page


def test_hours_in_the_band_below_zero_and_missing_are_counted(sensor):
    # 24 h of 19 January: 6 below 0, 3 within the band (ends included), 5 above it,
    # and 4 in between; 6 were never read.
    values = [-1.0] * 6 + [1.7, 4.0, 7.2] + [7.3] * 5 + [0.5] * 4
    store(sensor, hours(datetime(2025, 1, 19, tzinfo=UTC), values))
    sums = page_of(sensor, range="own", since="2025-01-19", until="2025-01-19").sums
    assert (sums.known_h, sums.missing_h) == (18, 6)
    assert (sums.in_band_h, sums.below_zero_h) == (3, 6)
    assert sums.in_band_percent == 17


def test_hours_that_have_not_come_are_not_missing(sensor):
    store(sensor, hours(NOON - timedelta(hours=4), [2.0, 2.0, 2.0]))
    sums = page_of(sensor, range="own", since="2025-01-20", until="2025-01-20").sums
    assert (sums.known_h, sums.missing_h) == (3, 9)


def test_the_coldest_night_is_named_by_its_morning(sensor):
    evening = datetime(2025, 1, 18, 23, tzinfo=UTC)
    store(sensor, hours(evening - timedelta(hours=2), [1.0, 0.0, -2.4, 0.0]))
    sums = page_of(sensor).sums
    assert sums.coldest == pytest.approx(-2.4)
    assert sums.night_of.isoformat() == "2025-01-19"
    noon = datetime(2025, 1, 19, 12, tzinfo=UTC)
    store(sensor, hours(noon, [-5.0]))
    assert page_of(sensor).sums.night_of is None


def test_times_are_those_of_the_frame_whoever_reads(as_keeper, keeper, sensor):
    keeper.time_zone = "America/New_York"
    keeper.save()
    sensor.frame.time_zone = "Europe/Oslo"
    sensor.frame.save()
    first = datetime(2025, 1, 18, 20, tzinfo=UTC)
    store(sensor, hours(first, [1.0, 0.0, -2.4, 0.0]))
    page = words(as_keeper.get(f"/climate/{sensor.pk}/"))
    assert "Sun 19 Jan, 23:00" not in page
    assert "Sat 18 Jan, 23:00, in the night to Sun 19 Jan" in page
    assert "Sat 18 Jan, 23:00" in page  # among the coldest nights
    assert "Times are those of Long Frame: Europe/Oslo." in page


def test_days_show_extremes_mean_and_how_much_is_known(sensor):
    store(sensor, hours(datetime(2025, 1, 19, tzinfo=UTC), [1.0, 2.0, 6.0]))
    (day,) = page_of(sensor).days
    assert (day.low, day.high, day.hours, day.length_h) == (1.0, 6.0, 3, 24)
    assert day.mean == pytest.approx(3.0)


def test_days_are_those_of_the_frame_even_where_the_clock_changes(sensor, time_machine):
    time_machine.move_to("2025-03-20 12:00:00+00:00")
    sensor.frame.time_zone = "America/New_York"
    sensor.frame.save()
    # 9 March 2025 begins at 05:00 UTC and has 23 hours there.
    store(sensor, hours(datetime(2025, 3, 9, 4, tzinfo=UTC), [1.0] * 30))
    asked = {"range": "own", "since": "2025-03-08", "until": "2025-03-10"}
    days = page_of(sensor, now=datetime(2025, 3, 20, tzinfo=UTC), **asked).days
    assert [(d.day.isoformat(), d.hours, d.length_h) for d in days] == [
        ("2025-03-08", 1, 24),
        ("2025-03-09", 23, 23),
        ("2025-03-10", 6, 24),
    ]


def test_the_chart_has_the_safe_band_and_leaves_gaps_open(sensor):
    first = datetime(2025, 1, 19, tzinfo=UTC)
    store(sensor, {**hours(first, [1.0, 2.0]), **hours(first.replace(hour=12), [3.0])})
    chart = page_of(sensor).chart
    (band,) = chart.bands
    assert (band.low, band.high) == (1.7, 7.2)
    (line,) = chart.series
    assert line.gap_after_s < 10 * 3600


def test_readings_set_aside_are_hatched_said_and_not_counted(as_keeper, sensor):
    first = datetime(2025, 1, 19, tzinfo=UTC)
    store(sensor, hours(first, [2.0, 85.0, 2.0]))
    page = page_of(sensor)
    (span,) = page.chart.spans
    assert span.since < first + timedelta(hours=1) < span.until
    assert page.days[0].high == 2.0
    assert "1 reading: a value that loggers and probes write" in words(
        as_keeper.get(f"/climate/{sensor.pk}/")
    )


def test_a_sensor_without_a_microclimate_has_no_band(as_keeper, sensor):
    sensor.microclimate = None
    sensor.save()
    store(sensor, hours(NOON - timedelta(hours=3), [2.0]))
    assert page_of(sensor).sums.in_band_h is None
    page = words(as_keeper.get(f"/climate/{sensor.pk}/"))
    assert "not known: no microclimate is named" in page


@pytest.mark.parametrize(
    ("asked", "since", "until"),
    [
        ({}, "2025-01-14", "2025-01-20"),
        ({"range": "month"}, "2024-12-22", "2025-01-20"),
        ({"range": "winter"}, "2024-11-02", "2025-01-20"),
        (
            {"range": "own", "since": "2024-12-01", "until": "2024-12-24"},
            "2024-12-01",
            "2024-12-24",
        ),
        (
            {"range": "own", "since": "2024-12-24", "until": "2024-12-01"},
            "2025-01-14",
            "2025-01-20",
        ),
    ],
)
def test_which_days_are_shown(sensor, asked, since, until):
    store(sensor, {datetime(2024, 11, 2, 8, tzinfo=UTC): 3.0, NOON: 1.0})
    window = page_of(sensor, **asked).window
    assert (window.since.isoformat(), window.last_day.isoformat()) == (since, until)


def test_an_old_log_is_shown_where_it_ended(sensor):
    store(sensor, {datetime(2021, 3, 5, 8, tzinfo=UTC): 3.0})
    assert page_of(sensor).window.last_day.isoformat() == "2021-03-05"


@pytest.mark.parametrize(
    ("since", "until", "sentence"),
    [
        ("2024-12-24", "2024-12-01", "The last day lies before the first."),
        ("0001-01-01", "2024-12-24", "No reading is older than 1970."),
        ("2024-12-24", "9999-12-31", "That day lies ahead"),
        ("2024-12-24", "", "Give both days."),
    ],
)
def test_a_range_that_cannot_be_is_refused_beside_its_field(
    as_keeper, sensor, since, until, sentence
):
    asked = {"range": "own", "since": since, "until": until}
    page = words(as_keeper.get(f"/climate/{sensor.pk}/", asked))
    assert sentence in page
    assert f'value="{since}"' in page


def test_the_export_has_every_reading_with_what_was_set_aside(as_helper, sensor):
    sensor.frame.time_zone = "Europe/Oslo"
    sensor.frame.save()
    store(sensor, hours(datetime(2025, 1, 19, 10, tzinfo=UTC), [2.0, 85.0, -0.125]))
    answer = as_helper.get(f"/climate/{sensor.pk}/readings.csv")
    assert answer["Content-Type"] == "text/csv; charset=utf-8"
    text = b"".join(answer.streaming_content).decode()
    rows = list(csv.DictReader(io.StringIO(text)))
    assert [row["value"] for row in rows] == ["2.000", "85.000", "-0.125"]
    assert {row["unit"] for row in rows} == {"c"}
    assert rows[0]["at_utc"] == "2025-01-19T10:00:00Z"
    assert rows[0]["at_local"] == "2025-01-19T11:00:00+01:00"
    assert [bool(row["set_aside_because"]) for row in rows] == [False, True, False]


def test_humidity_is_shown_in_percent(as_keeper, sensor):
    damp = make.sensor(
        frame=sensor.frame, name="H1", place="air", quantity="humidity", unit="pct"
    )
    store(damp, hours(NOON - timedelta(hours=2), [88.0]))
    assert "88 %" in words(as_keeper.get("/climate/"))
    page = words(as_keeper.get(f"/climate/{damp.pk}/"))
    assert "Relative humidity" in page
    assert "In the safe band" not in page


def test_the_keeper_says_where_a_sensor_measures(as_keeper, sensor):
    sensor.place, sensor.microclimate = "unknown", None
    sensor.save()
    part = sensor.frame.microclimates.get()
    sent = {"name": "R1 shelf", "place": "air", "microclimate": part.pk}
    as_keeper.post(f"/climate/{sensor.pk}/edit/", sent)
    sensor.refresh_from_db()
    assert (sensor.name, sensor.place) == ("R1 shelf", "air")
    assert sensor.microclimate == part


def test_a_sensors_name_that_is_taken_is_refused_beside_its_field(as_keeper, sensor):
    make.sensor(frame=sensor.frame, name="R2")
    sent = {"name": "R2", "place": "root", "microclimate": ""}
    answer = as_keeper.post(f"/climate/{sensor.pk}/edit/", sent)
    assert answer.context["form"].errors["name"] == [
        "The frame already has a sensor of that name."
    ]
    sensor.refresh_from_db()
    assert (sensor.name, sensor.microclimate.name) == ("R1", "rear bench")


def test_another_frames_microclimate_is_not_offered(as_keeper, sensor):
    other = make.microclimate()
    sent = {"name": "R1", "place": "root", "microclimate": other.pk}
    answer = as_keeper.post(f"/climate/{sensor.pk}/edit/", sent)
    assert "microclimate" in answer.context["form"].errors


def test_a_helper_reads_and_a_client_does_not(as_helper, as_client, sensor):
    for address in ("/climate/", f"/climate/{sensor.pk}/"):
        assert as_helper.get(address).status_code == 200
        assert as_client.get(address).status_code == 404
    assert as_helper.get(f"/climate/{sensor.pk}/edit/").status_code == 404
    readings = f"/climate/{sensor.pk}/readings.csv"
    assert as_client.get(readings).status_code == 404


def test_more_sensors_take_no_more_statements(
    as_keeper, sensor, django_assert_max_num_queries
):
    for _ in range(8):
        store(make.sensor(frame=sensor.frame), hours(NOON - timedelta(hours=1), [1.0]))
    with django_assert_max_num_queries(8):
        as_keeper.get("/climate/")
