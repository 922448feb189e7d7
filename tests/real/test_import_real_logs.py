"""Measured series through the commands, against the figures stated beside them.

Rows, extremes and hours are those of the README in the folder of the series.
"""

import csv
import json
from datetime import UTC, datetime

import pytest
from django.core.management import call_command
from django.core.management.base import CommandError

from tests import make
from wintering.climate.models import Sensor
from wintering.climate.queries import extremes, hourly, readings
from wintering.frames.models import Frame
from wintering.science.screening import HIGHEST_C, Quality
from wintering.science.series import bridge

ME_FOREST = "me_forest_air_soil_2018_2022_hourly.csv"
FI_ROOFSPACE = "fi_roofspace_in_out_solar_2010_2012_hourly.csv"
MA_OUTDOOR = "ma_outdoor_2015_hourly.csv"


@pytest.fixture
def command(capsys, real_data):
    """Runs a command on a series and gives its JSON."""

    def run(name, file, *words):
        call_command(name, str(real_data / file), *words, "--format", "json")
        return json.loads(capsys.readouterr().out)

    return run


@pytest.mark.parametrize(
    ("file", "tz", "column", "start", "end", "present", "whole", "in_band"),
    [
        (MA_OUTDOOR, None, "air_c", "2015-01-01", "2016-01-01", 8760, 8760, 1602),
        (ME_FOREST, "-05:00", "hw_air_c", "2019-10-01", "2020-06-01", 5854, 5856, 1902),
        (ME_FOREST, "-05:00", "hw_air_c", "2020-10-01", "2021-06-01", 5687, 5832, 1529),
        (ME_FOREST, "-05:00", "hw_air_c", "2021-10-01", "2022-06-01", 5831, 5832, 1812),
        (FI_ROOFSPACE, None, "out_c", "2011-10-01", "2012-06-01", 5856, 5856, 2727),
        (
            FI_ROOFSPACE,
            None,
            "roofspace_air_c",
            "2011-10-01",
            "2012-06-01",
            5856,
            5856,
            2716,
        ),
    ],
)
def test_chill_counts_the_hours_that_are_stated(
    command, file, tz, column, start, end, present, whole, in_band
):
    words = ["--column", column, "--start", start, "--end", end]
    told = command("chill", file, *words, *(["--tz", tz] if tz else []))
    assert told["hours"] - told["bridged_hours"] == present
    assert told["hours"] + told["gap_hours"] == whole
    # Bridged hours may fall into the band too; nothing else may.
    assert in_band <= told["chill_hours_0_7"] <= in_band + told["bridged_hours"]
    assert told["chill_hours_0_7_high"] == told["chill_hours_0_7"] + told["gap_hours"]


@pytest.fixture
def frame(db) -> Frame:
    return make.frame(slug="long")


def bring(command, file, *words):
    return command("import_log", file, "--frame", "long", *words)


def column_of(path, name):
    """Filled cells of a column, by the plainest reading there is."""
    with path.open(newline="") as file:
        cells = [row[name] for row in csv.DictReader(file)]
    return [float(cell) for cell in cells if cell not in {"", "NAN"}]


@pytest.mark.parametrize(
    ("file", "words", "columns"),
    [
        (ME_FOREST, ["--tz", "-05:00"], ["hw_air_c", "sw_soil5_c", "sw_soil25_c"]),
        (FI_ROOFSPACE, [], ["out_c", "roofspace_air_c", "heated_room_c"]),
    ],
)
def test_every_value_is_stored_and_a_second_time_nothing_is_new(
    command, frame, real_data, file, words, columns
):
    report = bring(command, file, *words)
    assert (
        report["read"]
        == report["added"]
        == sum(told["added"] for told in report["sensors"].values())
    )
    assert (report["marked"], report["conflicts"], report["rejected"]) == (0, [], [])
    for name in columns:
        values = column_of(real_data / file, name)
        told = report["sensors"][name]
        assert told["added"] == len(values)
        assert (told["min_c"], told["max_c"]) == (min(values), max(values))
        series = readings(Sensor.objects.get(name=name))
        assert series.value.tolist() == values
    again = bring(command, file, *words)
    assert (again["added"], again["unchanged"]) == (0, report["read"])
    assert (again["min_c"], again["max_c"]) == (report["min_c"], report["max_c"])


@pytest.mark.parametrize(
    ("column", "first_year", "lowest", "frozen"),
    [
        ("hw_air_c", 2019, -24.46, 2625),
        ("hw_air_c", 2020, -20.05, 2384),
        ("hw_air_c", 2021, -28.23, 2404),
    ],
)
def test_the_winters_of_the_forest_are_as_stated(
    command, frame, column, first_year, lowest, frozen
):
    bring(command, ME_FOREST, "--tz", "-05:00", "--map", f"{column}=O1:outside")
    start = datetime(first_year, 10, 1, 5, tzinfo=UTC)
    end = datetime(first_year + 1, 6, 1, 5, tzinfo=UTC)
    sensor = Sensor.objects.get(name="O1")
    assert extremes([sensor], start, end)[sensor.pk].lowest == lowest
    hours = hourly([sensor], start, end)[sensor.pk]
    assert (hours.c < 0).sum() == frozen


@pytest.mark.parametrize(
    ("column", "lowest", "frozen", "in_band"),
    [("out_c", -25.90, 1781, 2727), ("roofspace_air_c", -20.69, 1628, 2716)],
)
def test_the_winter_of_the_roof_space_is_as_stated(
    command, frame, column, lowest, frozen, in_band
):
    bring(command, FI_ROOFSPACE, "--map", f"{column}=A1:air")
    start = datetime(2011, 9, 30, 22, tzinfo=UTC)
    end = datetime(2012, 5, 31, 22, tzinfo=UTC)
    sensor = Sensor.objects.get(name="A1")
    hours = bridge(hourly([sensor], start, end)[sensor.pk])
    assert hours.c.size == 5856
    assert hours.c.min() == lowest
    assert (hours.c < 0).sum() == frozen
    assert ((hours.c >= 0) & (hours.c <= 7.2)).sum() == in_band


def test_a_logger_that_puts_its_clock_back_loses_nothing(command, frame):
    # Its clock ran an hour ahead of Italy's: the hour that Athens repeats.
    report = bring(
        command, "it_tunnel_raw_dst_oct2021_15min.csv", "--tz", "Europe/Athens"
    )
    assert report["added"] == 4 * 912
    assert (report["conflicts"], report["rejected"]) == ([], [])
    series = readings(Sensor.objects.get(name="in1_c"))
    start, end = (
        datetime(2021, 10, day, hour, tzinfo=UTC).timestamp()
        for day, hour in ((30, 23), (31, 3))
    )
    night = (series.seconds >= start) & (series.seconds < end)
    assert night.sum() == 16


def test_the_same_clock_in_the_wrong_zone_is_asked_about(command, frame):
    # Rome repeats 02:00, which this clock showed once, a step from both neighbours.
    file, rome = "it_tunnel_raw_dst_oct2021_15min.csv", ("--tz", "Europe/Rome")
    with pytest.raises(CommandError, match=r"row 150 .*Use --repeated-hour"):
        bring(command, file, *rome)
    assert not Sensor.objects.exists()


def test_the_same_clock_placed_in_the_wrong_zone_is_told(command, frame):
    file, rome = "it_tunnel_raw_dst_oct2021_15min.csv", ("--tz", "Europe/Rome")
    report = bring(command, file, *rome, "--repeated-hour", "first")
    assert [c["row"] for c in report["conflicts"]] == [
        row for row in (158, 159, 160, 161) for _ in range(4)
    ]
    assert "Time runs back at row 158" in report["warnings"][0]


def test_rows_repeated_after_a_restart_are_unchanged(command, frame):
    report = bring(
        command, "me_forest_raw_2019_duplicates_restart.csv", "--tz", "-05:00"
    )
    air = report["sensors"]["air_c"]
    assert (air["read"], air["added"], air["unchanged"]) == (7000, 6848, 152)
    assert report["conflicts"] == []
    assert "Time runs back at row 595" in report["warnings"][0]


def test_garbled_fields_of_a_second_logger_are_set_aside(command, frame, real_data):
    file = "me_forest_second_sensor_spikes_2021.csv"
    report = bring(command, file, "--tz", "-05:00")
    for name in ("air_c", "soil5_c", "second_air_c", "second_soil_c"):
        values = column_of(real_data / file, name)
        assert report["sensors"][name]["read"] == len(values)
        hot = sum(value > 60 for value in values)  # 21 and 34 by the folder's README
        # One more of the soil, 34.0, lies alone between fields of 70 and of 0.
        marked = hot + (name == "second_soil_c")
        assert report["sensors"][name]["marked"] == marked
        assert hot == {"second_air_c": 21, "second_soil_c": 34}.get(name, 0)
    series = readings(Sensor.objects.get(name="second_soil_c"))
    assert (series.quality[series.value > HIGHEST_C] == Quality.OUT_OF_RANGE).all()
    assert series.value.max() == max(values) == 1850


def test_days_without_a_value_are_not_readings(command, frame):
    report = bring(command, "ks_daily_min_max_soil_2003_2017.csv", "--tz", "-06:00")
    assert report["min_c"] > -40
    assert report["sensors"]["tmin_c"]["read"] == 5077


def test_a_series_without_a_calendar_is_refused(command, frame, real_data):
    with pytest.raises(CommandError, match="no time column"):
        bring(command, "fr_testcell_in_out_solar_30min.csv")
