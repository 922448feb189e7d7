"""Small invented logs with the oddities of real ones, and broken ones."""

import io
from datetime import UTC, datetime
from pathlib import Path

import pytest

from wintering.ingest.reading import NO_VALUE, Answers, read_log
from wintering.ingest.refusals import LogQuestion, LogRefused

SAMPLES = Path(__file__).parents[1] / "data" / "logs"


def read(name, *, columns=None, **said):
    with (SAMPLES / name).open("rb") as file:
        return read_log(file, name=name, answers=Answers.of(**said), columns=columns)


def at(*parts):
    return int(datetime(*parts, tzinfo=UTC).timestamp())


def test_decimal_comma_with_date_and_time_apart():
    log = read("decimal_comma_date_apart.csv", zone="Europe/Vienna")
    assert [column.name for column in log.columns] == ["Luft", "Wurzel"]
    assert {column.unit for column in log.columns} == {"c"}
    assert log.columns[0].values.tolist() == [-400, -450, -600, NO_VALUE, -800]
    assert log.columns[1].values.tolist() == [900, 900, 850, 850, 800]
    assert log.seconds[0] == at(2024, 11, 29, 22, 40)
    assert log.row[0] == 7
    assert log.date_order == "dmy"


def test_fahrenheit_with_the_offset_in_the_heading():
    log = read("fahrenheit_month_first.csv")
    air, root = log.columns
    assert (air.unit, air.name) == ("f", "Temp, °F (SN: 10311, label: air)")
    assert air.values.tolist() == [33800, 33600, 33400, 32000, NO_VALUE]
    assert root.values.tolist() == [35100, 35100, 35000, 34900, NO_VALUE]
    assert log.seconds[0] == at(2024, 11, 3, 4, 40)
    assert not log.is_naive


def test_a_clock_put_back_loses_no_quarter_hour():
    log = read("clock_put_back.csv", zone="America/New_York")
    start = at(2024, 11, 3, 4, 30)
    assert log.seconds.tolist() == [start + 900 * i for i in range(11)]
    assert not log.warnings


def test_a_clock_put_back_in_another_zone_is_told():
    log = read("clock_put_back.csv", zone="-05:00")
    assert "Time runs back at row 8, from 2024-11-03 01:45" in log.warnings[0]


def test_rows_spoilt_by_lost_power_are_listed_and_the_rest_is_read():
    log = read("power_lost.csv", zone="-05:00")
    assert [column.name for column in log.columns] == ["air_c", "root_c"]
    air, root = (column.values.tolist() for column in log.columns)
    assert air == [-3210, -3300, NO_VALUE, -6020, -5750, NO_VALUE]
    assert root == [400, 380, 380, NO_VALUE, 80, NO_VALUE]
    assert [(r.row, r.reason) for r in log.rejected] == [
        (6, "no date and time can be read from ''"),
        (7, "the column headings again"),
        (8, "'ERR' in column root_c is not a number"),
        (9, "its date is not in the calendar"),
        (10, "6 cells where 5 were expected"),
    ]


def test_newest_first_in_utf_16_with_units_in_the_cells():
    log = read("newest_first.tsv", zone="+01:00")
    air, soil = log.columns
    assert air.unit == soil.unit == "c"
    assert air.values.tolist() == [1500, 1700, 1900, 2100]
    assert log.seconds[0] - log.seconds[-1] == 3 * 3600
    assert not log.warnings


def test_a_clock_put_back_is_placed_newest_first_too():
    lines = (SAMPLES / "clock_put_back.csv").read_text().splitlines()
    turned = "\n".join([lines[0], *reversed(lines[1:])])
    log = read_log(
        io.BytesIO(turned.encode()),
        name="log",
        answers=Answers.of(zone="America/New_York"),
    )
    start = at(2024, 11, 3, 4, 30)
    assert log.seconds.tolist() == [start + 900 * i for i in reversed(range(11))]


@pytest.mark.parametrize(
    ("name", "sentence"),
    [
        ("broken_empty.csv", "is empty; expected lines of text"),
        ("broken_blank.csv", "is empty; expected lines of text"),
        ("broken_binary.csv", "is binary data, not a text log; expected lines"),
        ("broken_archive.csv", "is a spreadsheet or zip archive, not a text log"),
        ("broken_no_time.csv", "no time column: its first line is 'record,air_c'; exp"),
        ("broken_no_date.csv", "no time column: its first line is 'time,air_c'; expec"),
        ("broken_no_temperature.csv", "no temperature column: .* rh_pct, wind_m_s; ex"),
        ("broken_mixed_heading.csv", "air_c: °C above, °F from row 4; expected one"),
        ("broken_every_row.csv", "no readable row: row 2: 'open' in column air_c is"),
    ],
)
def test_a_broken_log_is_refused_in_one_line(name, sentence):
    with pytest.raises(LogRefused, match=sentence) as refused:
        read(name)
    assert "\n" not in str(refused.value)
    assert str(refused.value).endswith(".")
    assert not isinstance(refused.value, LogQuestion)


@pytest.mark.parametrize("name", ["mixed_cells.csv", "mixed_column.csv"])
def test_rows_that_say_their_own_unit_are_turned_into_celsius(name):
    log = read(name, zone="-05:00")
    (air,) = log.columns
    assert air.unit == "c"
    # 36.3 °F is (36.3 - 32) / 1.8 °C
    assert air.values.tolist() == [2500, 2389, 2200]
    assert "in °F are turned into °C" in log.warnings[0]
