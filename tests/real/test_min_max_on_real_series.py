"""Measured winters reduced to daily minimum and maximum, rebuilt, and compared.

What the docstring of ReconstructedChill says of its accuracy is held here.
"""

import csv
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta, timezone
from functools import cache
from pathlib import Path

import numpy as np
import pytest

from wintering.science import chill
from wintering.science.chill import ChillTotals
from wintering.science.min_max import (
    DailyExtremes,
    MinMaxReading,
    Reconstructed,
    extremes,
    reconstruct,
)
from wintering.science.series import Hourly, bridge, hourly_means

EPOCH = date(1970, 1, 1)
MAINE = "me_forest_air_soil_2018_2022_hourly.csv"
FINLAND = "fi_roofspace_in_out_solar_2010_2012_hourly.csv"
QUICK, SLOW = "ma_outdoor_2015_10min.csv", "ma_outdoor_2015_hourly.csv"
TUNNEL = "it_tunnel_inside_2021_22_15min.csv"
KANSAS = "ks_daily_min_max_soil_2003_2017.csv"


@dataclass(frozen=True)
class Site:
    """A column of a file, its fixed offset from UTC, its place, and its winter."""

    file: str
    column: str
    offset_h: int
    latitude: float
    longitude: float
    since: date
    until: date

    def __str__(self) -> str:
        return f"{self.column} of {self.file} from {self.since}"

    @property
    def hours(self) -> tuple[int, int]:
        """Its clock hours, without the first and last day, whose nights are unknown."""
        days = (self.since - EPOCH).days + 1, (self.until - EPOCH).days - 1
        return days[0] * 24 - self.offset_h, days[1] * 24 - self.offset_h


def _maine(column: str, year: int) -> Site:
    winter = date(year, 10, 1), date(year + 1, 6, 1)
    return Site(MAINE, column, -5, 44.9, -68.7, *winter)


def _finland(column: str) -> Site:
    return Site(FINLAND, column, 2, 60.2, 24.7, date(2011, 10, 1), date(2012, 6, 1))


def _massachusetts(file: str, since: date, until: date) -> Site:
    return Site(file, "air_c", -5, 42.448, -72.681, since, until)


OUTDOORS = [
    _massachusetts(QUICK, date(2015, 1, 1), date(2015, 6, 1)),
    _massachusetts(SLOW, date(2015, 1, 1), date(2015, 6, 1)),
    _massachusetts(QUICK, date(2015, 10, 1), date(2016, 1, 1)),
    *(_maine("hw_air_c", year) for year in (2019, 2020, 2021)),
    _finland("out_c"),
]
ENCLOSED = [_maine("hw_box_c", 2019), _finland("roofspace_air_c")]
GLAZED = Site(TUNNEL, "in_air1_c", 1, 45.7, 12.0, date(2021, 11, 1), date(2022, 3, 16))

RESETS = [None, time(8), time(18)]


@cache
def _readings(file: Path, column: str, offset_h: int) -> tuple[np.ndarray, np.ndarray]:
    with file.open(newline="") as lines:
        rows = csv.reader(lines)
        where = next(rows).index(column)
        cells = [(row[0], row[where]) for row in rows if row[where] not in ("", "NAN")]
    zone = timezone(timedelta(hours=offset_h))
    stamps = [datetime.fromisoformat(stamp) for stamp, _ in cells]
    aware = [at if at.tzinfo else at.replace(tzinfo=zone) for at in stamps]
    seconds = np.array([int(at.astimezone(UTC).timestamp()) for at in aware])
    return seconds, np.array([float(value) for _, value in cells])


def _each_day(
    site: Site, seconds: np.ndarray, c: np.ndarray, reset_h: int
) -> list[MinMaxReading]:
    """What shows at the end of each span of 24 h that is known but for an hour."""
    after_reset = seconds + (site.offset_h - reset_h) * 3600
    day = after_reset // 86_400
    shown = []
    for number in np.unique(day):
        there = day == number
        if np.unique(after_reset[there] // 3600).size >= 23:
            on = EPOCH + timedelta(days=int(number) + (reset_h > 0))
            shown.append(MinMaxReading(on, c[there].min(), c[there].max()))
    return shown


def _extremes(site: Site, seconds: np.ndarray, c: np.ndarray, reset_at: time | None):
    """By calendar days, or as a thermometer that is read once a day shows them."""
    if reset_at is not None:
        shown = _each_day(site, seconds, c, reset_at.hour)
        return extremes(shown, reset_at=reset_at)
    size = (site.until - site.since).days
    low, high = np.full(size, np.nan), np.full(size, np.nan)
    for reading in _each_day(site, seconds, c, 0):
        index = (reading.on - site.since).days
        if 0 <= index < size:
            low[index], high[index] = reading.min_c, reading.max_c
    return DailyExtremes(site.since, low, high)


def _both(folder: Path, site: Site, reset_at: time | None) -> tuple[Hourly, Hourly]:
    """Measured and rebuilt hours, each without those that the other lacks."""
    seconds, c = _readings(folder / site.file, site.column, site.offset_h)
    measured = bridge(hourly_means(seconds, c)).window(*site.hours)
    found = reconstruct(
        _extremes(site, seconds, c, reset_at),
        latitude_deg=site.latitude,
        longitude_deg=site.longitude,
    )
    rebuilt = _hours(found, site)
    gaps = np.isnan(measured.c + rebuilt)
    return tuple(
        Hourly.measured(measured.first_hour, np.where(gaps, np.nan, c))
        for c in (measured.c, rebuilt)
    )


def _hours(found: Reconstructed, site: Site) -> np.ndarray:
    return Hourly.measured(found.first_hour, found.curve_c).window(*site.hours).c


def _totals(
    folder: Path, site: Site, reset_at: time | None
) -> tuple[ChillTotals, ChillTotals]:
    measured, rebuilt = _both(folder, site, reset_at)
    return chill.totals(measured), chill.totals(rebuilt)


def _shares(true: ChillTotals, rebuilt: ChillTotals) -> dict[str, float]:
    names = ("chill_hours_0_7", "chill_hours_below_7", "portions", "gdh_linear")
    return {name: getattr(rebuilt, name) / getattr(true, name) for name in names}


@pytest.mark.parametrize("reset_at", RESETS, ids=str)
@pytest.mark.parametrize("site", OUTDOORS, ids=str)
def test_chill_outdoors_comes_back_within_a_tenth(
    real_data: Path, site: Site, reset_at: time | None
):
    true, rebuilt = _totals(real_data, site, reset_at)
    assert true.hours > 0.9 * (site.hours[1] - site.hours[0])
    share = _shares(true, rebuilt)
    assert 0.92 < share["chill_hours_0_7"] < 1.06
    assert 0.96 < share["chill_hours_below_7"] < 1.05
    assert 0.94 < share["portions"] < 1.06
    # over winters that end in spring the warmth is a little too high
    assert 1.0 < share["gdh_linear"] < 1.15


@pytest.mark.parametrize("reset_at", RESETS, ids=str)
@pytest.mark.parametrize("site", ENCLOSED, ids=str)
def test_chill_in_a_box_and_under_a_roof_comes_back_less_well(
    real_data: Path, site: Site, reset_at: time | None
):
    share = _shares(*_totals(real_data, site, reset_at))
    assert 0.88 < share["chill_hours_0_7"] < 0.98
    assert 0.90 < share["portions"] < 1.0
    assert 1.05 < share["gdh_linear"] < 1.30


@pytest.mark.parametrize("reset_at", RESETS, ids=str)
def test_in_a_tunnel_chill_is_up_to_a_fifth_too_low_and_warmth_half_too_high(
    real_data: Path, reset_at: time | None
):
    share = _shares(*_totals(real_data, GLAZED, reset_at))
    assert 0.85 < share["chill_hours_0_7"] < 0.92
    assert 0.78 < share["portions"] < 0.88
    assert 1.35 < share["gdh_linear"] < 1.45


def test_in_a_dull_month_the_warmth_is_too_low_so_no_bound_and_no_alarm(
    real_data: Path,
):
    """December 2011 in Espoo, thirty days: a third to nearly half of it is lost."""
    for column in ("out_c", "roofspace_air_c"):
        site = _finland(column)
        first = site.hours[0] + 60 * 24
        found = [
            chill.totals(hours.window(first, first + 30 * 24)).gdh_linear
            for hours in _both(real_data, site, None)
        ]
        assert found[0] > 90
        assert 0.5 < found[1] / found[0] < 0.7


@pytest.mark.parametrize("site", [OUTDOORS[0], ENCLOSED[1]], ids=str)
def test_hours_are_a_few_kelvin_off_each_and_hardly_in_the_mean(
    real_data: Path, site: Site
):
    measured, rebuilt = _both(real_data, site, None)
    off = (rebuilt.c - measured.c)[~np.isnan(measured.c)]
    assert abs(off.mean()) < 0.6
    assert 1.5 < np.sqrt((off**2).mean()) < 3.0


def test_fourteen_years_of_daily_extremes_give_them_back(real_data: Path):
    with (real_data / KANSAS).open(newline="") as lines:
        rows = list(csv.DictReader(lines))
    low, high, mean = (
        np.array([float(row[name]) for row in rows])
        for name in ("tmin_c", "tmax_c", "tavg_c")
    )
    unknown = (low < -9000) | (high < -9000)
    low[unknown], high[unknown] = np.nan, np.nan
    first = date.fromisoformat(rows[0]["date"])
    # the file has a row for every day, so that places count days
    last = date.fromisoformat(rows[-1]["date"])
    assert (last - first).days + 1 == len(rows)
    days = DailyExtremes(first, low, high)
    found = reconstruct(days, latitude_deg=39.10, longitude_deg=-96.61)
    assert found.known.sum() == (~unknown).sum() > 5000
    start = (first - EPOCH).days * 24 + 6
    hours = Hourly.measured(found.first_hour, found.curve_c)
    by_day = hours.window(start, start + 24 * len(rows)).c.reshape(-1, 24)
    inner = ~np.isnan(by_day).any(axis=1)
    assert inner.sum() > 5000
    peaks = by_day[inner, 12:17].max(axis=1)
    assert np.all(np.abs(peaks - high[inner]) <= 0.02 * (high - low)[inner])
    # the station's own means, from readings through the day
    sound = inner & (mean > -9000)
    off = by_day[sound].mean(axis=1) - mean[sound]
    assert abs(off.mean()) < 0.5
    assert np.sqrt((off**2).mean()) < 1.5
