"""The science on measured winters, against the figures stated beside the series."""

import csv
from dataclasses import dataclass
from datetime import datetime, timedelta, timezone
from functools import cache
from pathlib import Path

import numpy as np
import pytest

from wintering.science import chill
from wintering.science.hardiness import ROOT_CLASSES, RootClass, root_risk
from wintering.science.screening import judge
from wintering.science.series import Hourly, bridge, hourly_means

EASTERN = timezone(timedelta(hours=-5))
FINNISH = timezone(timedelta(hours=2))


@dataclass(frozen=True)
class Stated:
    """A row of the reference figures in the README of the series."""

    file: str
    column: str
    zone: timezone
    since: tuple[int, int]
    until: tuple[int, int]
    rows: int
    min_c: float
    below_0_h: int
    in_band_h: int


MAINE = "me_forest_air_soil_2018_2022_hourly.csv", "hw_air_c", EASTERN
FINLAND = "fi_roofspace_in_out_solar_2010_2012_hourly.csv"
README = [
    Stated(
        *("ma_outdoor_2015_hourly.csv", "air_c", EASTERN),
        *((2015, 1), (2016, 1), 8760, -22.18, 1978, 1602),
    ),
    Stated(*MAINE, (2019, 10), (2020, 6), 5854, -24.46, 2625, 1902),
    Stated(*MAINE, (2020, 10), (2021, 6), 5687, -20.05, 2384, 1529),
    Stated(*MAINE, (2021, 10), (2022, 6), 5831, -28.23, 2404, 1812),
    Stated(
        *(FINLAND, "out_c", FINNISH),
        *((2011, 10), (2012, 6), 5856, -25.90, 1781, 2727),
    ),
    Stated(
        *(FINLAND, "roofspace_air_c", FINNISH),
        *((2011, 10), (2012, 6), 5856, -20.69, 1628, 2716),
    ),
]


@cache
def _readings(path: Path, column: str, zone: timezone) -> tuple[np.ndarray, np.ndarray]:
    """Instants and temperatures of the cells that hold a number, in file order."""
    with path.open(newline="") as lines:
        rows = csv.reader(lines)
        where = next(rows).index(column)
        cells = [(row[0], row[where]) for row in rows if row[where] not in ("", "NAN")]
    seconds = [_instant(stamp, zone) for stamp, _ in cells]
    return np.array(seconds), np.array([float(value) for _, value in cells])


def _instant(stamp: str, zone: timezone) -> int:
    at = datetime.fromisoformat(stamp)
    return int((at if at.tzinfo else at.replace(tzinfo=zone)).timestamp())


def _hour(year_month: tuple[int, int], zone: timezone) -> int:
    return int(datetime(*year_month, 1, tzinfo=zone).timestamp()) // 3600


def _window(real_data: Path, stated: Stated) -> tuple[Hourly, Hourly]:
    """The hours as measured, and with short gaps bridged."""
    seconds, c = _readings(real_data / stated.file, stated.column, stated.zone)
    hourly = hourly_means(seconds, c)
    ends = _hour(stated.since, stated.zone), _hour(stated.until, stated.zone)
    return hourly.window(*ends), bridge(hourly).window(*ends)


def _name(stated: Stated) -> str:
    return f"{stated.column} from {stated.since[0]}-{stated.since[1]:02d}"


@pytest.mark.parametrize("stated", README, ids=_name)
def test_the_stated_figures_of_a_winter(real_data: Path, stated: Stated):
    measured, _ = _window(real_data, stated)
    found = chill.totals(measured)
    assert found.hours == stated.rows
    assert np.nanmin(measured.c) == stated.min_c
    assert (measured.c < 0).sum() == stated.below_0_h
    assert found.chill_hours_0_7 == stated.in_band_h


@pytest.mark.parametrize("stated", README, ids=_name)
def test_bridged_hours_are_counted_and_add_no_more_than_there_are(
    real_data: Path, stated: Stated
):
    measured, bridged = _window(real_data, stated)
    found = chill.totals(bridged)
    assert found.hours + found.gap_hours == measured.c.size
    assert found.hours == stated.rows + found.bridged_hours
    assert 0 <= found.chill_hours_0_7 - stated.in_band_h <= found.bridged_hours
    assert found.portions <= found.portions_high
    assert 20 < found.portions < 150


@pytest.mark.parametrize("stated", README, ids=_name)
def test_no_measured_reading_of_a_sound_sensor_is_set_aside(
    real_data: Path, stated: Stated
):
    seconds, c = _readings(real_data / stated.file, stated.column, stated.zone)
    assert not judge(seconds, c).any()


def test_ten_minute_readings_give_the_hours_that_the_station_computed(real_data: Path):
    """The hourly file is the mean of the six readings that begin in each hour."""
    quick = "ma_outdoor_2015_10min.csv", "air_c", EASTERN
    hourly = "ma_outdoor_2015_hourly.csv", "air_c", EASTERN
    found = hourly_means(*_readings(real_data / quick[0], *quick[1:]))
    stated = hourly_means(*_readings(real_data / hourly[0], *hourly[1:]))
    window = found.window(stated.first_hour, stated.end_hour).c
    known = ~np.isnan(window)
    assert known.sum() > 5800
    # both files are rounded to hundredths, each from the logger's own figures
    np.testing.assert_allclose(window[known], stated.c[known], rtol=0, atol=0.0101)


def test_rows_that_a_restarted_clock_wrote_twice_count_once(real_data: Path):
    file = real_data / "me_forest_raw_2019_duplicates_restart.csv"
    seconds, c = _readings(file, "air_c", EASTERN)
    assert seconds.size > np.unique(seconds).size
    hours = hourly_means(seconds, c)
    assert (~np.isnan(hours.c)).sum() == np.unique(seconds).size


def test_ground_that_lies_at_zero_for_weeks_is_never_marked(real_data: Path):
    file, zone = real_data / MAINE[0], EASTERN
    seconds, c = _readings(file, "sw_soil5_c", zone)
    assert (np.abs(c) <= 0.3).sum() > 1000
    assert not judge(seconds, c).any()


def test_soil_under_snow_spares_roots_that_the_air_would_have_killed(real_data: Path):
    """Under snow the soil never fell below -2.1 °C while the air went to -28 °C."""
    stated = README[3]
    risks = {}
    for column in ("hw_air_c", "sw_soil5_c"):
        seconds, c = _readings(real_data / stated.file, column, stated.zone)
        ends = _hour(stated.since, stated.zone), _hour(stated.until, stated.zone)
        hours = bridge(hourly_means(seconds, c)).window(*ends)
        risks[column] = root_risk(hours, ROOT_CLASSES[RootClass.RB])
    assert risks["hw_air_c"].level == "act"
    assert risks["hw_air_c"].lowest_c == -28.23
    assert risks["sw_soil5_c"].level is None
    assert risks["sw_soil5_c"].lowest_c >= -2.1
