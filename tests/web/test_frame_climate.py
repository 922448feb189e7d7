"""All sensors of a frame at once, their export, and winters laid over each other."""

import csv
import io
from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import numpy as np
import pytest

from tests import make
from tests.web.test_climate import hours, store
from tests.web.test_stays import words
from wintering.climate.models import SensorCheck
from wintering.science.days import local_days
from wintering.science.series import Hourly
from wintering.science.winter import Winter
from wintering.web.counts import counts_of
from wintering.web.winters_page import laid_over, winters_of, winters_page

NOW = datetime(2025, 1, 20, 12, tzinfo=UTC)


@pytest.fixture(autouse=True)
def _january(time_machine):
    time_machine.move_to(NOW)


@pytest.fixture
def frame(db):
    return make.frame(name="Long Frame", slug="long-frame")


@pytest.fixture
def two(frame):
    part = make.microclimate(frame=frame, name="rear bench")
    found = [make.sensor(name=name, microclimate=part) for name in ("R1", "R2")]
    for n, sensor in enumerate(found):
        store(sensor, hours(NOW - timedelta(hours=20), [n + 1.0] * 10))
    return found


def keys(answer):
    return [chart.keys for chart in answer.context["page"].charts]


def test_a_frame_draws_all_its_sensors_and_humidity_apart(as_helper, frame, two):
    damp = make.sensor(frame=frame, name="H1", quantity="humidity", unit="pct")
    store(damp, hours(NOW - timedelta(hours=3), [80.0]))
    answer = as_helper.get("/climate/frames/long-frame/")
    assert keys(answer) == [f"{two[0].pk},{two[1].pk}", str(damp.pk)]
    page = words(answer)
    assert "Lowest" in page or "lowest" in page
    assert answer.content.decode().count("<svg class=") == 2


def test_sensors_are_chosen_without_script(as_helper, frame, two):
    answer = as_helper.get("/climate/frames/long-frame/", {"sensors": two[1].pk})
    assert keys(answer) == [str(two[1].pk)]


def test_more_sensors_than_a_chart_shows_are_said_to_be_left_out(as_helper, frame):
    for n in range(22):
        make.sensor(frame=frame, name=f"S{n:02d}")
    answer = as_helper.get("/climate/frames/long-frame/")
    assert "2 more sensors are not drawn" in words(answer)


def test_a_frame_without_sensors_says_what_to_do(as_keeper, frame):
    assert "import a log" in words(as_keeper.get("/climate/frames/long-frame/"))


def test_another_frames_sensor_is_not_drawn(as_helper, frame, two):
    other = make.sensor()
    answer = as_helper.get("/climate/frames/long-frame/", {"sensors": other.pk})
    assert "Select a valid choice" in words(answer)
    assert keys(answer) == [f"{two[0].pk},{two[1].pk}"]


def exported(answer):
    text = b"".join(answer.streaming_content).decode()
    return list(csv.DictReader(io.StringIO(text)))


def test_a_frames_export_is_long_with_raw_and_calibrated_values(as_keeper, frame, two):
    warm = make.sensor(frame=frame, name="=F1", unit="f")
    store(warm, {NOW - timedelta(hours=2): 33.1})
    SensorCheck.objects.create(
        sensor=two[0],
        checked_at=NOW - timedelta(hours=15),
        shown_c=[0.2],
        offset_k=0.2,
        by=make.keeper(),
    )
    rows = exported(as_keeper.get("/climate/frames/long-frame/readings.csv"))
    own = [row for row in rows if row["sensor"] == "R1"]
    assert {row["raw"] for row in own} == {"1.000"}
    assert [own[0]["value"], own[-1]["value"]] == ["1.000", "0.800"]
    assert len([row for row in rows if row["sensor"] == "R2"]) == 10
    (fahrenheit,) = [row for row in rows if row["sensor"] == "'=F1"]
    assert (fahrenheit["raw"], fahrenheit["raw_unit"]) == ("33.100", "f")
    assert (fahrenheit["value"], fahrenheit["unit"]) == ("0.611", "c")


def test_an_export_tells_the_file_and_row_of_each_reading(as_keeper, two):
    rows = exported(as_keeper.get(f"/climate/{two[0].pk}/readings.csv"))
    assert all(row["source"] for row in rows)
    assert len({row["source_row"] for row in rows}) == len(rows)


def test_an_export_is_read_a_week_at_a_time(
    as_keeper, frame, two, django_assert_max_num_queries
):
    answer = as_keeper.get(
        "/climate/frames/long-frame/readings.csv",
        {"range": "own", "since": "2025-01-01", "until": "2025-01-14"},
    )
    # Two sensors, two weeks: days, checks and imports of each.
    with django_assert_max_num_queries(2 * 2 * 3):
        b"".join(answer.streaming_content)


def winter_of(sensor, year, temperatures, day=1):
    store(sensor, hours(datetime(year, 12, day, tzinfo=UTC), temperatures))


def test_winters_are_laid_over_each_other_by_the_day_of_winter(frame):
    sensor = make.sensor(frame=frame, name="R1")
    winter_of(sensor, 2023, [1.0] * 24)
    winter_of(sensor, 2024, [5.0] * 24)
    told = winters_of(sensor, everywhere=False)
    assert [one.winter for one in told] == [Winter(2024), Winter(2023)]
    page = winters_page(told, points=400, user=None)
    newest, before = (one.line.low for one in page.picture.drawn)
    np.testing.assert_array_equal(np.isnan(newest), np.isnan(before))
    assert np.nanmin(newest) == 5.0
    assert np.nanmax(before) == 1.0


def test_winters_are_counted_up_to_the_same_day(as_keeper, frame):
    part = make.microclimate(frame=frame, safe_low_c=1.7, safe_high_c=7.2)
    sensor = make.sensor(frame=frame, name="R1", microclimate=part)
    winter_of(sensor, 2023, [4.0] * 24 + [-8.0] * 24)
    winter_of(sensor, 2024, [-2.0] * 6 + [2.0] * 18)
    page = winters_page(winters_of(sensor, everywhere=False), points=400, user=None)
    newest, before = page.rows
    assert page.day == date(2024, 12, 1)
    # The frost of 2 December 2023 lies beyond the day that the newest has reached.
    assert (before.lowest, before.known_h, before.in_band_h) == (4.0, 24, 24)
    assert (newest.lowest, newest.in_band_h) == (-2.0, 18)
    assert newest.counts.frost.cycles == 1
    assert newest.portions.low <= newest.portions.high
    told = words(as_keeper.get(f"/climate/sensors/{sensor.pk}/winters/"))
    assert "Up to 1 December of each winter" in told
    assert "2023/24" in told


def test_a_microclimates_winters_are_those_of_its_busiest_sensor(as_keeper, frame):
    part = make.microclimate(frame=frame, name="rear bench")
    old = make.sensor(name="R1", microclimate=part)
    new = make.sensor(name="R2", microclimate=part)
    make.sensor(name="A1", microclimate=part, place="air")
    winter_of(old, 2023, [1.0] * 48)
    winter_of(old, 2024, [1.0] * 2)
    winter_of(new, 2024, [2.0] * 72)
    told = winters_of(new, everywhere=True)
    assert [(one.winter.start_year, one.sensor.name) for one in told] == [
        (2024, "R2"),
        (2023, "R1"),
    ]
    assert len(winters_of(new, everywhere=False)) == 1
    address = f"/climate/sensors/{new.pk}/winters/"
    page = words(as_keeper.get(address, {"by": "microclimate"}))
    assert "Each winter by the sensor of rear bench" in page


def test_a_sensor_without_a_winter_says_so(as_keeper, frame):
    sensor = make.sensor(frame=frame)
    page = words(as_keeper.get(f"/climate/sensors/{sensor.pk}/winters/"))
    assert "No winter has a reading yet" in page
    stretch = {"start": 0, "end": 10, "width": 300}
    answer = as_keeper.get(f"/climate/sensors/{sensor.pk}/winters.json", stretch)
    assert answer.status_code == 400
    assert answer.json()["error"] == "No winter has a reading yet."


def test_counts_tell_nights_spells_and_frost_with_what_is_missing():
    days = local_days(date(2025, 1, 1), date(2025, 1, 9), UTC)
    c = np.full(len(days) * 24, 3.0)
    c[24:96] = 9.0  # three warm days
    c[150:154] = -4.0  # a night
    c[160:166] = np.nan
    found = counts_of(Hourly.measured(days.first_hour, c), days, ZoneInfo("UTC"))
    assert found.nights[0].lowest_c == -4.0
    assert found.nights[0].morning == date(2025, 1, 7)
    assert found.nights_below_zero == 1
    (spell,) = found.spells
    assert (spell.first, spell.last, spell.days) == (
        date(2025, 1, 2),
        date(2025, 1, 4),
        3,
    )
    assert found.frost.cycles == 1
    assert (found.days_unknown, found.frost.missing_hours) == (1, 6)


def test_nights_below_freezing_are_the_same_for_every_reader(as_keeper, keeper, frame):
    """By hourly means as they are, however finely or in which unit they are told."""
    quarters = int(datetime(2025, 1, 18, 12, tzinfo=UTC).timestamp())
    quarters += 900 * np.arange(96)
    # Hours of -0.01 °C, of +0.01 °C, and of nought.
    for name, one in (("R1", 31_900), ("R2", 32_100), ("R3", 32_000)):
        sensor = make.sensor(frame=frame, name=name, unit="f")
        make.store(sensor, quarters, [32_000, 32_000, 32_000, one] * 24)
    told = []
    for units in ("c", "f"):
        keeper.units = units
        keeper.save(update_fields=["units"])
        for sensor in frame.sensors.order_by("name"):
            page = as_keeper.get(f"/climate/{sensor.pk}/").context["page"]
            winters = as_keeper.get(f"/climate/sensors/{sensor.pk}/winters/")
            (row,) = winters.context["page"].rows
            told.append((page.counts.nights_below_zero, row.counts.nights_below_zero))
    assert told == [(1, 1), (0, 0), (0, 0)] * 2


def test_an_offset_leaves_no_dust_below_freezing(keeper, frame):
    """0.3 less three tenths is nought, in floating point too."""
    days = local_days(date(2025, 1, 1), date(2025, 1, 2), UTC)
    dust = Hourly.measured(days.first_hour, np.full(48, 0.3 - 0.1 - 0.2))
    assert dust.c[0] < 0
    assert counts_of(dust, days, ZoneInfo("UTC")).nights_below_zero == 0


def test_winters_of_humidity_are_laid_over_each_other_too(as_keeper, frame):
    part = make.microclimate(frame=frame, safe_low_c=1.7, safe_high_c=7.2)
    damp = make.sensor(
        frame=frame, name="H1", quantity="humidity", unit="pct", microclimate=part
    )
    winter_of(damp, 2023, [90.0] * 24)
    winter_of(damp, 2024, [95.0] * 24)
    told = winters_of(damp, everywhere=False)
    (row, _) = winters_page(told, points=400, user=None).rows
    assert (row.lowest, row.known_h) == (95.0, 24)
    assert (row.in_band_h, row.counts, row.portions) == (None, None, None)
    page = words(as_keeper.get(f"/climate/sensors/{damp.pk}/winters/"))
    assert "95 %" in page
    assert "portions" not in page


def test_a_long_stretch_of_winters_is_laid_over_by_whole_days(frame):
    sensor = make.sensor(frame=frame)
    for year in (2023, 2024):
        store(sensor, hours(datetime(year, 10, 1, tzinfo=UTC), [1.0, 3.0] * 24 * 40))
    page = winters_page(winters_of(sensor, everywhere=False), points=450, user=None)
    assert page.picture.grid.step_s == 86_400
    close = laid_over(
        winters_of(sensor, everywhere=False),
        page.picture.start_s,
        page.picture.start_s + 10 * 86_400,
        points=450,
        user=None,
    )
    assert close.grid.step_s <= 3600


@pytest.mark.parametrize(
    ("asked", "told"),
    [
        ({"range": "own", "since": "2025-01-14"}, "Give both days."),
        ({"range": "own", "since": "x", "until": "2025-01-14"}, "Enter a valid date."),
        ({"range": "century"}, "Select a valid choice."),
    ],
)
def test_an_export_of_days_that_are_refused_leads_back_to_the_form(
    as_keeper, frame, two, asked, told
):
    for page in (f"/climate/{two[0].pk}/", "/climate/frames/long-frame/"):
        answer = as_keeper.get(f"{page}readings.csv", asked, follow=True)
        assert answer.redirect_chain[0][0].startswith(f"{page}?range=")
        assert told in words(answer)


def test_an_export_of_another_frames_sensor_leads_back_to_the_form(
    as_keeper, frame, two
):
    asked = {"sensors": make.sensor().pk}
    answer = as_keeper.get(
        "/climate/frames/long-frame/readings.csv", asked, follow=True
    )
    assert answer.redirect_chain
    assert "Select a valid choice" in words(answer)
    # What is refused is in sight.
    assert '<details class="fold" open><summary>Choose sensors' in (
        answer.content.decode()
    )
