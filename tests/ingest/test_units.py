"""The unit of a column comes from the file, or from a person, and never from a guess
that nobody is told of."""

import io

import pytest

from wintering.ingest.headings import quantity_of, unit_of, units_in
from wintering.ingest.reading import Answers, read_log
from wintering.ingest.refusals import LogQuestion, LogRefused


def read(heading, *cells, unit=None, columns=None):
    lines = [heading]
    lines += [f"2024-11-30T{h:02}:00Z,{cell}" for h, cell in enumerate(cells)]
    file = io.BytesIO("\n".join(lines).encode())
    return read_log(file, name="log", answers=Answers.of(unit=unit), columns=columns)


@pytest.mark.parametrize(
    ("text", "unit"),
    [
        ("°C", "c"),
        ("C", "c"),
        ("deg F", "f"),
        ("degC", "c"),
        ("℃", "c"),
        ("Celsius", "c"),
        ("degrees Fahrenheit", "f"),
        ("K", "k"),
        ("%", "pct"),
        ("%RH", "pct"),
        ("V", None),
        ("ok", None),
        ("", None),
    ],
)
def test_a_unit_by_itself(text, unit):
    assert unit_of(text) == unit


@pytest.mark.parametrize(
    ("heading", "units"),
    [
        ("Temperature (°C)", {"c"}),
        ("Temp, °F (label: air)", {"f"}),
        ("Air [deg C]", {"c"}),
        ("Air temperature Celsius", {"c"}),
        ("Temp (°C/°F)", set()),
        ("Temp °C or °F", {"c", "f"}),
        ("Humidity (%)", {"pct"}),
        ("air", set()),
        ("Cabinet", set()),
    ],
)
def test_units_that_a_heading_names(heading, units):
    assert units_in(heading) == units


@pytest.mark.parametrize(
    ("heading", "unit", "quantity"),
    [
        ("air_c", "c", "temperature"),
        ("soil_w_c", "c", "temperature"),
        ("Temperature", None, "temperature"),
        ("Temp. no. 2", None, "temperature"),
        ("soil moisture", None, "other"),
        ("rh_pct", "pct", "humidity"),
        ("Humidity (%)", "pct", "humidity"),
        ("Dew Point (°C)", "c", "other"),
        ("wind chill_c", "c", "other"),
        ("Battery (%)", "pct", "other"),
        ("Feuchte [%]", "pct", "unknown"),
        ("Filling level %", "pct", "unknown"),
        ("soil moisture %", "pct", "other"),
        ("ghi_w_m2", None, "other"),
        ("in_light_klux", None, "other"),
        ("record", None, "other"),
        ("bench 3", None, "unknown"),
    ],
)
def test_what_a_heading_says_is_measured(heading, unit, quantity):
    assert quantity_of(heading, unit) == quantity


def test_three_probes_a_b_and_c_say_no_unit():
    log = read("time,probe_a,probe_b,probe_c", "1,2,3", "1,2,3")
    assert [w.split(":")[0] for w in log.warnings] == [
        f"Column probe_{letter} does not say its unit" for letter in "abc"
    ]


def test_an_only_column_without_a_word_is_taken_for_a_temperature():
    log = read("time,A1", "4.5", "3.5")
    assert log.columns[0].values.tolist() == [4500, 3500]


def test_a_column_that_numbers_the_rows_is_not():
    log = read("time,A1,n", "4.5,1", "4.5,2", "3.5,3", "3.5,4")
    assert [column.name for column in log.columns] == ["A1"]


def test_no_unit_is_told_where_the_values_speak_for_celsius():
    log = read("time,air", "4.5", "-3.5")
    assert log.columns[0].unit == "c"
    assert log.warnings == ("Column air does not say its unit: read as °C.",)


@pytest.mark.parametrize("cells", [("28", "41.5"), ("40", "52", "19"), ("277", "274")])
def test_no_unit_is_asked_about_where_it_may_be_another(cells):
    with pytest.raises(LogQuestion, match="column air does not say its unit") as asked:
        read("time,air", *cells)
    assert asked.value.about == "unit"


def test_a_given_unit_answers():
    log = read("time,air", "28", "41.5", unit="f")
    assert log.columns[0].unit == "f"
    assert not log.warnings


def test_a_heading_that_lies_about_its_unit_is_corrected_with_a_warning():
    log = read("time,air (°C)", "40.1", unit="f")
    assert log.columns[0].unit == "f"
    assert log.warnings == (
        "Column air (°C) is headed °C: read as °F all the same, as was said.",
    )


def test_a_unit_said_of_a_column_without_one_leaves_the_headings_of_others():
    log = read("time,Temp probe,air (°C)", "40.1,4.5", unit="f")
    assert [column.unit for column in log.columns] == ["f", "c"]
    assert "air (°C) is headed °C and read so" in log.warnings[0]


def test_a_given_unit_against_what_the_rows_say_is_asked_about():
    with pytest.raises(LogQuestion, match="says °C in its rows, but °F was asked"):
        read("time,air", "4.5 °C", unit="f")


@pytest.mark.parametrize(
    ("heading", "cells"),
    [
        ("air_c", ("4.5", "40.1 °F")),
        ("air (°F)", ("40.1", "4.5 °C")),
        ("Air °C or °F", ("4.5", "40.1")),
        ("air", ("4.5 °C", "40.1")),
    ],
)
def test_mixed_units_are_refused(heading, cells):
    with pytest.raises(LogRefused, match="mixes units in column"):
        read(f"time,{heading}", *cells)


def test_some_cells_without_a_unit_are_fine_where_the_heading_says_it():
    log = read("time,air (°C)", "4.5 °C", "4.0")
    assert log.columns[0].values.tolist() == [4500, 4000]


def test_a_column_of_units_is_read():
    log = read("time,air,unit", "40.1,F", "39.9,F")
    assert log.columns[0].unit == "f"


def test_a_unit_beside_a_wanted_column_only_counts_for_that_column():
    log = read("time,air_c,root_f", "4.5,36", "4.0,36")
    assert [column.unit for column in log.columns] == ["c", "f"]


def test_a_column_of_another_kind_is_refused_by_name():
    with pytest.raises(LogRefused, match="column ghi_w_m2 is not a temperature or"):
        read("time,air_c,ghi_w_m2", "4.5,300", columns=["ghi_w_m2"])


def test_an_unknown_column_is_refused_with_what_is_there():
    with pytest.raises(LogRefused, match="no column 'aire'; it has: air_c, rh_pct"):
        read("time,air_c,rh_pct", "4.5,80", columns=["aire"])


def test_decimal_commas_that_part_columns_are_refused():
    with pytest.raises(LogRefused, match="names 2 columns but its rows have 3 cells"):
        read("time,air_c", "4,5", "4,0")


def test_a_heading_split_by_its_own_comma_is_refused():
    with pytest.raises(LogRefused, match="names 3 columns but its rows have 2 cells"):
        read("time,Temp, °C", "4.5", "4.0")
