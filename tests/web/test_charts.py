"""Charts as pure functions: extremes survive, gaps stay open, the words are right."""

import itertools
import re
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import numpy as np
import pytest
from django.template import Context, Template
from django.utils import translation
from hypothesis import given, settings
from hypothesis import strategies as st

from wintering.people.models import User
from wintering.web.charts import (
    Band,
    Chart,
    Event,
    Fan,
    Series,
    Span,
    Threshold,
    draw,
    in_fahrenheit,
)
from wintering.web.charts.axes import time_ticks, value_ticks
from wintering.web.charts.drawing import COLUMNS, PLOT_PX, TOP_PX
from wintering.web.charts.lines import runs, thinned

START = datetime(2025, 1, 6, tzinfo=UTC)
HOUR = timedelta(hours=1)


def chart_of(*series: Series, hours: float = 240, **more) -> Chart:
    what = {"title": "Air at N1", "unit": "°C", "zone": ZoneInfo("UTC")}
    return Chart(
        since=START,
        until=START + timedelta(hours=hours),
        series=series,
        **{**what, **more},
    )


def hourly(values, **more) -> Series:
    points = [(START + n * HOUR, v) for n, v in enumerate(values)]
    return Series.of("A1", points, **more)


def points_of(d: str) -> list[list[tuple[float, float]]]:
    """The runs of path data as lists of points."""
    found = []
    for run in d.split("M")[1:]:
        numbers = [float(n) for n in re.findall(r"-?\d+\.?\d*", run.removesuffix("h0"))]
        found.append(list(zip(numbers[::2], numbers[1::2], strict=True)))
    return found


def value_at(y: float, drawing) -> float:
    """Back from a height on the drawing to a value, by its own marks."""
    marks = [
        (float(m.text.replace("\N{MINUS SIGN}", "-")), m.y) for m in drawing.value_marks
    ]
    (v0, y0), (v1, y1) = marks[0], marks[-1]
    return v0 + (y - y0) * (v1 - v0) / (y1 - y0)


@given(st.lists(st.floats(-40, 40), min_size=2, max_size=400), st.integers(1, 90))
@settings(max_examples=60, deadline=None)
def test_thinning_keeps_each_columns_first_lowest_highest_and_last(values, columns):
    values = np.array(values)
    column = np.arange(values.size) * columns // values.size
    kept = thinned(column, values)
    assert np.all(np.diff(kept) > 0)
    for one in np.unique(column):
        of_column = values[column == one]
        left = values[kept[column[kept] == one]]
        assert left.min() == of_column.min()
        assert left.max() == of_column.max()
        assert (left[0], left[-1]) == (of_column[0], of_column[-1])
        assert left.size <= 4


def test_a_season_of_ten_minutes_keeps_its_one_cold_reading():
    step = timedelta(minutes=10)
    at_s = START.timestamp() + np.arange(26_000) * step.total_seconds()
    values = 3 + np.sin(np.arange(26_000) / 23)
    values[17_123] = -7.9
    drawing = draw(chart_of(Series("R1", at_s, values), hours=26_000 / 6))
    (line,) = points_of(drawing.lines[0].d)
    assert len(line) <= 4 * COLUMNS
    lowest = max(line, key=lambda p: p[1])
    assert value_at(lowest[1], drawing) == pytest.approx(-7.9, abs=0.1)
    assert lowest[0] == pytest.approx(17_123 / 26_000 * COLUMNS, abs=1)
    assert f"lowest {chr(8722)}7.9 °C" in drawing.summary


def test_unknown_values_open_the_line():
    drawing = draw(chart_of(hourly([1, 2, None, 3, 4, None, 5])))
    assert [len(run) for run in points_of(drawing.lines[0].d)] == [2, 2, 1]


def test_a_pause_without_readings_opens_the_line():
    at_s = START.timestamp() + 3600 * np.array([0, 1, 2, 6, 7])
    series = Series("A1", at_s, np.ones(5))
    assert len(points_of(draw(chart_of(series)).lines[0].d)) == 2
    patient = Series("A1", at_s, np.ones(5), gap_after_s=4 * 3600)
    assert len(points_of(draw(chart_of(patient)).lines[0].d)) == 1


@given(st.lists(st.one_of(st.none(), st.floats(-9, 9)), max_size=60))
def test_runs_hold_every_known_value_once(values):
    v = np.array([np.nan if x is None else x for x in values])
    held = [
        n for run in runs(np.arange(v.size) * 60.0, v, 3600) for n in range(v.size)[run]
    ]
    assert held == [n for n, x in enumerate(values) if x is not None]


def test_line_stays_within_the_plot_and_the_time():
    drawing = draw(chart_of(hourly(range(500)), hours=240))
    (line,) = points_of(drawing.lines[0].d)
    assert all(0 <= x <= COLUMNS for x, _ in line)
    assert all(TOP_PX <= y <= TOP_PX + PLOT_PX for _, y in line)
    assert "highest 240.0 °C" in drawing.summary


def test_axis_reaches_band_and_thresholds():
    drawing = draw(
        chart_of(
            hourly([4, 5, 4]),
            bands=(Band(1.7, 7.2, "safe band"),),
            thresholds=(Threshold(-7.4, "act", "tonight"),),
        )
    )
    (band,), (act,) = drawing.bands, drawing.thresholds
    assert value_at(band.y, drawing) == pytest.approx(7.2, abs=0.05)
    assert value_at(band.y + band.height, drawing) == pytest.approx(1.7, abs=0.05)
    assert value_at(act.y, drawing) == pytest.approx(-7.4, abs=0.05)


def test_close_thresholds_are_named_on_both_sides():
    close = (Threshold(-7.4, "act"), Threshold(-7.2, "watch"))
    drawing = draw(chart_of(hourly([20, 5]), thresholds=close))
    watch, act = drawing.thresholds
    assert watch.text_y < watch.y <= act.y < act.text_y


def test_chart_of_nothing_says_so():
    drawing = draw(chart_of(hourly([None, None])))
    assert drawing.is_empty
    assert drawing.summary == "A1: nothing known in this time."
    assert drawing.table.rows == ()


def test_axis_from_nothing_below_zero_starts_at_zero():
    drawing = draw(chart_of(hourly([0, 30, 60]), include=(0,)))
    foot = drawing.value_marks[0]
    assert (foot.text, foot.y) == ("0", TOP_PX + PLOT_PX)


def test_table_says_lowest_and_highest_by_local_day():
    values = [float(n % 24) for n in range(72)]
    tokyo = ZoneInfo("Asia/Tokyo")
    drawing = draw(chart_of(hourly(values), hours=240, zone=tokyo))
    names = [row.name for row in drawing.table.rows]
    assert names == ["Mon 6 Jan", "Tue 7 Jan", "Wed 8 Jan", "Thu 9 Jan"]
    (first,) = drawing.table.rows[0].cells
    # Midnight UTC is 09:00 in Tokyo: the day holds the first fifteen hours.
    assert (first.low, first.high) == (0, 14)
    (second,) = drawing.table.rows[1].cells
    assert (second.low, second.high, second.has_gaps) == (0, 23, False)


def test_table_names_gaps():
    values = [2.0] * 24 + [None] * 10 + [2.0] * 14
    rows = draw(chart_of(hourly(values), hours=48 * 2)).table.rows
    assert [row.cells[0].has_gaps for row in rows] == [False, True]


def test_long_charts_have_tables_by_week_and_month():
    values = [1.0] * 24 * 200
    assert draw(chart_of(hourly(values), hours=24 * 90)).table.period == "Week from"
    by_month = draw(chart_of(hourly(values), hours=24 * 250)).table
    assert by_month.period == "Month"
    assert by_month.rows[0].name == "Jan 2025"


def test_notes_say_what_the_drawing_marks():
    drawing = draw(
        chart_of(
            hourly([1, 2]),
            bands=(Band(1.7, 7.2, "Safe band"),),
            thresholds=(Threshold(-7.4, "Act"),),
            spans=(Span(START, START + 30 * HOUR, "No power"),),
            events=(Event(START + 50 * HOUR, "watered"),),
        )
    )
    assert drawing.notes == (
        "Safe band: 1.7 °C to 7.2 °C.",
        "Act: \N{MINUS SIGN}7.4 °C.",
        "No power: Mon 6 Jan to Tue 7 Jan.",
        "Wed 8 Jan: watered.",
    )


def test_events_that_crowd_keep_their_ticks_and_lose_their_words():
    crowd = tuple(Event(START + n * HOUR, "watered through") for n in range(6))
    marks = draw(chart_of(hourly([1, 2]), events=crowd)).events
    assert len(marks) == 6
    assert [mark.fits for mark in marks].count(True) == 2


@pytest.mark.parametrize(
    ("low", "high", "ticks"),
    [
        (-7.9, 7.2, [-5, 0, 5]),
        (0, 60, [0, 10, 20, 30, 40, 50, 60]),
        (0.12, 0.31, [0.15, 0.2, 0.25, 0.3]),
    ],
)
def test_value_ticks_are_round(low, high, ticks):
    found = value_ticks(low, high)
    steps = {round(b - a, 9) for a, b in itertools.pairwise(found)}
    assert len(steps) == 1
    assert {round(s / 10 ** np.floor(np.log10(s)), 9) for s in steps} <= {1, 2, 5}
    assert set(ticks) <= set(found)
    assert low <= found[0] <= found[-1] <= high


def test_time_ticks_stand_on_local_midnight_across_a_clock_change():
    zone = ZoneInfo("America/New_York")
    since = datetime(2025, 3, 8, 5, tzinfo=UTC)  # midnight in New York
    ticks = time_ticks(since, since + timedelta(days=3), zone)
    midnights = [at for at, _ in ticks if at.hour == 0]
    assert [at.astimezone(UTC).hour for at in midnights] == [5, 5, 4, 4]


def test_time_ticks_of_a_winter_are_months_with_the_year_at_its_turn():
    since = datetime(2024, 10, 1, tzinfo=UTC)
    names = [name for _, name in time_ticks(since, since + timedelta(days=212), UTC)]
    assert names == ["Oct", "Nov", "Dec", "Jan 2025", "Feb", "Mar", "Apr", "May"]


def test_fahrenheit_is_the_same_picture_in_other_numbers():
    chart = chart_of(hourly([-10, 10]), bands=(Band(1.7, None, "b"),), include=(0.0,))
    shown = in_fahrenheit(chart)
    assert shown.unit == "°F"
    assert shown.series[0].values.tolist() == [14, 50]
    assert shown.bands[0].low == pytest.approx(35.06)
    assert shown.bands[0].high is None
    assert draw(shown).lines[0].d == draw(chart).lines[0].d


def test_chart_of_portions_has_no_other_unit():
    chart = chart_of(hourly([1, 2]), unit="chill portions")
    assert in_fahrenheit(chart) is chart


@pytest.mark.parametrize(("units", "told"), [("c", "10.0 °C"), ("f", "50.0 °F")])
def test_page_shows_the_chart_in_the_readers_unit(units, told):
    page = Template("{% load drawings %}{% band_chart chart %}").render(
        Context({"chart": chart_of(hourly([-10, 10])), "user": User(units=units)})
    )
    assert f"highest {told}" in page
    assert "style=" not in page
    assert page.count("<table>") == 1


def test_numbers_of_the_drawing_keep_their_point_in_every_language():
    with translation.override("de"):
        page = Template("{% load drawings %}{% band_chart chart %}").render(
            Context({"chart": chart_of(hourly([1.5, 2.5])), "user": User()})
        )
    svg = page[page.index("<svg") : page.index("</figure")]
    assert not re.search(r'(x|y|width|height|x1|y1)="\d+,\d', svg)


def test_a_fan_is_drawn_closed_named_and_told_in_the_table():
    at_s = np.array([START.timestamp() + 86400 * n for n in range(3)])
    fan = Fan(
        "As in 3 other winters", at_s, np.array([1.0, 2, 3]), np.array([1.0, 4, 9])
    )
    chart = Chart(
        title="Chill",
        unit="portions",
        since=START,
        until=START + timedelta(days=2),
        zone=UTC,
        series=(),
        fans=(fan,),
    )
    drawing = draw(chart)
    (area,) = drawing.areas
    assert area.d.startswith("M0 ")
    assert area.d.endswith("Z")
    assert area.d.count("L") == 5
    cells = [row.cells[0] for row in drawing.table.rows]
    assert (cells[0].low, cells[-1].high) == (1.0, 9.0)


def columns_of(low, high) -> Series:
    at_s = START.timestamp() + 3600.0 * np.arange(len(low))
    return Series("A1", at_s, np.array(low), upper=np.array(high))


def test_a_line_of_columns_runs_along_its_lowest_and_its_highest():
    drawing = draw(chart_of(columns_of([1.0, 2.0, 1.0], [4.0, 6.0, 5.0]), hours=3))
    (line,) = drawing.lines
    lowest, highest = points_of(line.d)
    assert [round(value_at(y, drawing), 1) for _, y in lowest] == [1.0, 2.0, 1.0]
    assert [round(value_at(y, drawing), 1) for _, y in highest] == [4.0, 6.0, 5.0]
    assert drawing.summary == (
        "A1: lowest 1.0 °C on Mon 6 Jan, 00:00, highest 6.0 °C on Mon 6 Jan, 01:00."
    )
    (row,) = drawing.table.rows
    assert (row.cells[0].low, row.cells[0].high) == (1.0, 6.0)


def test_a_line_of_columns_is_read_in_fahrenheit_too():
    (series,) = in_fahrenheit(chart_of(columns_of([0.0], [10.0]))).series
    assert (series.values[0], series.highest[0]) == (32.0, 50.0)


def test_columns_of_one_reading_each_are_drawn_once():
    drawing = draw(chart_of(columns_of([1.0, 2.0], [1.0, 2.0]), hours=3))
    assert len(points_of(drawing.lines[0].d)) == 1
