"""Columns of a chart: extremes survive at every zoom, and gaps stay open."""

from datetime import UTC, datetime, timedelta

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests import make
from wintering.climate.models import ReadingDay, SensorCheck
from wintering.climate.queries import readings
from wintering.climate.queries.charting import (
    Grid,
    Source,
    chart_lines,
    written_decimals,
)
from wintering.climate.storage import DAY_S, Readings, day_of, pack, pack_hours

START = datetime(2025, 1, 10, tzinfo=UTC)
START_S = int(START.timestamp())


def store(sensor, seconds, thousandths, quality=None):
    """Days as they are kept, written without the checks of an import."""
    seconds = np.asarray(seconds, np.int64)
    quality = np.zeros(len(seconds)) if quality is None else quality
    whole = Readings(
        seconds, np.asarray(thousandths, np.int32), np.asarray(quality, np.uint8)
    )
    for day_s in np.unique(seconds // DAY_S) * DAY_S:
        day, part = day_of(day_s), whole.between(day_s, day_s + DAY_S)
        counted = part.counted.thousandths
        ReadingDay.objects.create(
            sensor=sensor,
            day=day,
            count=len(part),
            marked=len(part) - len(counted),
            low=int(counted.min()) if counted.size else None,
            high=int(counted.max()) if counted.size else None,
            first_at=datetime.fromtimestamp(int(part.seconds[0]), UTC),
            last_at=datetime.fromtimestamp(int(part.seconds[-1]), UTC),
            packed=pack(day, part),
            hours=pack_hours(day, part),
        )


@pytest.fixture
def sensor(db):
    return make.sensor()


def expected(sensor, grid):
    """Lowest and highest of the readings themselves, column by column."""
    series = readings(sensor)
    counted = series.quality == 0
    at, value = series.seconds[counted], series.value[counted]
    for start in grid.starts:
        inside = value[(at >= start) & (at < start + grid.step_s)]
        yield (inside.min(), inside.max()) if inside.size else (np.nan, np.nan)


@settings(
    max_examples=40,
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture],
)
@given(data=st.data())
def test_extremes_survive_at_every_zoom(sensor, data):
    sensor.days.all().delete()
    sensor.unit = data.draw(st.sampled_from(["c", "f"]))
    seconds = data.draw(
        st.lists(st.integers(0, 9 * DAY_S), min_size=1, max_size=60, unique=True)
    )
    thousandths = [data.draw(st.integers(-40_000, 60_000)) for _ in seconds]
    quality = [data.draw(st.sampled_from([0, 0, 0, 2])) for _ in seconds]
    store(sensor, START_S + np.sort(seconds), thousandths, quality)
    start = START_S + data.draw(st.integers(-DAY_S, 8 * DAY_S))
    end = start + data.draw(st.integers(60, 12 * DAY_S))
    found = chart_lines([sensor], start, end, points=data.draw(st.integers(2, 300)))
    line = found.lines[sensor.pk]
    low, high = np.array(list(expected(sensor, found.grid))).T
    np.testing.assert_array_equal(line.low, low)
    np.testing.assert_array_equal(line.high, high)


@given(
    start=st.integers(0, 4_000_000_000),
    length=st.integers(1, 100 * 366 * DAY_S),
    points=st.integers(2, 2000),
)
def test_columns_cover_what_was_asked_and_are_never_too_many(start, length, points):
    grid = Grid.over(start, start + length, points)
    assert grid.first_s <= start < grid.first_s + grid.step_s
    assert grid.end_s >= start + length
    if length < points * 200 * DAY_S:
        assert grid.count <= points


@pytest.mark.parametrize(
    ("days", "source"),
    [(1, Source.READINGS), (30, Source.HOURS), (600, Source.DAYS)],
)
def test_one_statement_reads_all_sensors_at_each_zoom(
    db, django_assert_num_queries, days, source
):
    frame = make.frame()
    # Sensors are named in another order than they were made in.
    sensors = [make.sensor(frame=frame, name=f"R{9 - n}") for n in range(6)]
    for n, one in enumerate(sensors):
        store(one, START_S + 3600 * np.arange(24), 1000 * n + np.arange(24) * 100)
    with django_assert_num_queries(2):  # the days, and the calibrations
        found = chart_lines(sensors, START_S, START_S + days * DAY_S, points=400)
    assert found.grid.source is source
    for n, one in enumerate(sensors):
        assert np.nanmin(found.lines[one.pk].low) == pytest.approx(n)
        assert np.nanmax(found.lines[one.pk].high) == pytest.approx(n + 2.3)


def test_a_gap_stays_open_at_every_zoom(sensor):
    hours = np.array([0, 1, 2, 80, 81])
    store(sensor, START_S + 3600 * hours, [1000] * 5)
    for points in (6, 100, 400):
        found = chart_lines([sensor], START_S, START_S + 4 * DAY_S, points=points)
        line = found.lines[sensor.pk]
        empty = np.isnan(line.low)
        middle = (START_S + 40 * 3600 - found.grid.first_s) // found.grid.step_s
        assert empty[middle]
        assert not empty[0]


def test_a_sensor_without_readings_has_empty_columns(sensor):
    found = chart_lines([sensor], START_S, START_S + DAY_S, points=50)
    assert np.isnan(found.lines[sensor.pk].low).all()
    assert found.asides[sensor.pk] == ()


def test_a_check_in_ice_is_taken_off_from_then_on(sensor):
    store(sensor, START_S + 3600 * np.arange(96), [500] * 96)
    SensorCheck.objects.create(
        sensor=sensor,
        checked_at=START + timedelta(days=2),
        shown_c=[0.2],
        offset_k=0.2,
        by=make.keeper(),
    )
    for points in (3, 50, 1000):
        found = chart_lines([sensor], START_S, START_S + 4 * DAY_S, points=points)
        line = found.lines[sensor.pk]
        known = line.low[~np.isnan(line.low)]
        assert known[0] == pytest.approx(0.5)
        assert known[-1] == pytest.approx(0.3)


@pytest.mark.parametrize("points", [3, 50])
def test_a_check_within_a_column_counts_from_the_columns_beginning(sensor, points):
    store(sensor, START_S + 3600 * np.arange(96), [500] * 96)
    SensorCheck.objects.create(
        sensor=sensor,
        checked_at=START + timedelta(minutes=30),
        shown_c=[0.2],
        offset_k=0.2,
        by=make.keeper(),
    )
    found = chart_lines([sensor], START_S, START_S + 4 * DAY_S, points=points)
    assert found.lines[sensor.pk].low[0] == pytest.approx(0.3)


def test_what_is_set_aside_is_told_with_its_reason_where_readings_are_read(sensor):
    minutes = START_S + 600 * np.arange(432)
    quality = np.zeros(432)
    quality[[200, 201, 202, 400]] = 2
    store(sensor, minutes, np.where(quality, 85_000, 2_000), quality)
    found = chart_lines([sensor], START_S, START_S + 3 * DAY_S, points=400)
    first, second = found.asides[sensor.pk]
    assert (first.start_s, first.end_s, first.codes, first.count) == (
        minutes[200],
        minutes[202],
        (2,),
        3,
    )
    assert second.count == 1
    assert np.nanmax(found.lines[sensor.pk].high) == 2.0


def test_what_is_set_aside_is_told_by_whole_days_in_a_long_range(sensor):
    quality = np.zeros(24 * 6)
    quality[[30, 31, 50, 130]] = 1
    store(sensor, START_S + 3600 * np.arange(24 * 6), [2_000] * 24 * 6, quality)
    for days in (40, 700):
        found = chart_lines([sensor], START_S, START_S + days * DAY_S, points=400)
        first, second = found.asides[sensor.pk]
        assert (first.start_s - START_S, first.end_s - START_S) == (DAY_S, 3 * DAY_S)
        assert (first.codes, first.count, second.count) == ((), 3, 1)


@pytest.mark.parametrize(
    ("thousandths", "decimals"),
    [([2000, 3000], 0), ([2000, 2500], 1), ([20, 40], 2), ([2063, 2000], 3)],
)
def test_a_sensor_tells_by_what_it_wrote_how_finely_it_writes(
    sensor, thousandths, decimals
):
    store(sensor, START_S + 600 * np.arange(2), thousandths)
    assert written_decimals([sensor], START.date()) == {sensor.pk: decimals}


def test_a_sensor_that_wrote_nothing_tells_no_decimals(sensor):
    assert written_decimals([sensor], START.date()) == {}
