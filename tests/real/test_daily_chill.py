"""Sheets with one minimum and one maximum a day, through the command.

A measured one is held against hours computed again here, sun and curves by other code;
measured winters written down as sheets are held against the chill of their readings.
"""

import csv
import io
import json
import math
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import groupby
from pathlib import Path

import pytest
from django.core.management import call_command
from pvlib.solarposition import declination_spencer71, equation_of_time_spencer71

from tests.bench.plain import plain_totals

EPOCH = date(1970, 1, 1)
KANSAS = "ks_daily_min_max_soil_2003_2017.csv"
KANSAS_AT = (39.10, -96.61)
MAINE = "me_forest_air_soil_2018_2022_hourly.csv"
MASSACHUSETTS = "ma_outdoor_2015_hourly.csv"
FINLAND = "fi_roofspace_in_out_solar_2010_2012_hourly.csv"


def chill(path: Path, *words: str) -> tuple[dict, str]:
    out, err = io.StringIO(), io.StringIO()
    call_command("chill", str(path), *words, "--format", "json", stdout=out, stderr=err)
    return json.loads(out.getvalue()), err.getvalue()


def sheet_words(low: str, high: str, place: tuple[float, float]) -> list[str]:
    latitude, longitude = map(str, place)
    columns = ["--min", low, "--max", high]
    return [*columns, "--latitude", latitude, "--longitude", longitude]


class Again:
    """Hours from daily extremes, one by one and by other code than the project's."""

    def __init__(
        self,
        extremes: dict[date, tuple[float, float]],
        place: tuple[float, float],
    ):
        self.extremes = extremes
        self.latitude, self.longitude = place

    def at(self, hour: int) -> float:
        """The rebuilt temperature of a clock hour since 1970 UTC [°C]."""
        mean_h = hour + 0.5 + self.longitude / 15
        day = EPOCH + timedelta(days=math.floor(mean_h / 24))
        ahead_min = float(equation_of_time_spencer71(day.timetuple().tm_yday))
        solar_h = mean_h % 24 + ahead_min / 60
        if not 0 <= solar_h < 24:
            day += timedelta(days=math.floor(solar_h / 24))
            solar_h %= 24
        half = self.daylength(day) / 2
        if solar_h < 12 - half:
            eve = day - timedelta(days=1)
            since_h = solar_h + 12 - self.daylength(eve) / 2
            return self.night(eve, since_h)
        if solar_h > 12 + half:
            return self.night(day, solar_h - 12 - half)
        return self.light(day, solar_h)

    def daylength(self, day: date) -> float:
        lean = float(declination_spencer71(day.timetuple().tm_yday))
        north = math.radians(self.latitude)
        risen = math.sin(math.radians(-0.83)) - math.sin(north) * math.sin(lean)
        return 24 / math.pi * math.acos(risen / (math.cos(north) * math.cos(lean)))

    def light(self, day: date, solar_h: float) -> float:
        low, high = self.extremes.get(day, (math.nan, math.nan))
        length = self.daylength(day)
        share = math.sin(math.pi * (solar_h - 12 + length / 2) / (length + 4))
        return low + (high - low) * share

    def night(self, eve: date, since_h: float) -> float:
        at_sunset = self.light(eve, 12 + self.daylength(eve) / 2)
        low, _ = self.extremes.get(eve + timedelta(days=1), (math.nan, math.nan))
        fallen = math.log(max(1, since_h)) / math.log(24 - self.daylength(eve))
        return at_sunset - (at_sunset - low) * fallen


def test_a_measured_sheet_has_the_chill_of_hours_computed_again(real_data: Path):
    """Manhattan, Kansas, October 2010 to April 2011: 24 March 2011 is missing."""
    found, err = chill(
        real_data / KANSAS,
        *sheet_words("tmin_c", "tmax_c", KANSAS_AT),
        *("--start", "2010-10-01", "--end", "2011-05-01", "--tz", "-06:00"),
    )
    with (real_data / KANSAS).open(newline="") as lines:
        rows = [(r["date"], r["tmin_c"], r["tmax_c"]) for r in csv.DictReader(lines)]
    known = {
        date.fromisoformat(day): (float(low), float(high))
        for day, low, high in rows
        if float(low) > -9000 and float(high) > -9000
    }
    again = Again(known, KANSAS_AT)
    first = (date(2010, 10, 1) - EPOCH).days * 24 + 6
    hours = [again.at(first + n) for n in range(212 * 24)]
    plain = plain_totals(hours)
    assert found["hours"] == plain["known_h"]
    # the missing day and the nights beside it
    assert found["gap_hours"] == len(hours) - plain["known_h"] == 35
    names = {
        "chill_hours_0_7": 1,
        "chill_hours_below_7": 1,
        "chill_hours_0_7_high": 1,
        "portions": 0.01,
        "portions_high": 0.01,
    }
    for name, room in names.items():
        assert found[name] == pytest.approx(plain[name], abs=room), name
    for name in ("gdh_linear", "gdh_curvilinear"):
        assert found[f"{name}_rough"] == pytest.approx(plain[name], rel=1e-5), name
    # of 5,118 rows 40 hold -9999 twice, and two hold it once
    assert len(found["rejected"]) == len(rows) - len(known) - 2 == 40
    assert "40 row(s) left out, the first row 2: neither minimum nor maximum" in err
    assert "2 row(s) have only one of minimum and maximum" in err


@dataclass(frozen=True)
class Winter:
    """Readings of a winter, and the extremes that a keeper would have written down."""

    file: str
    column: str
    offset_h: int
    place: tuple[float, float]
    since: date
    until: date

    def __str__(self) -> str:
        return f"{self.column} of {self.file[:2]} from {self.since}"

    @property
    def window(self) -> list[str]:
        zone = f"{self.offset_h:+03d}:00"
        return ["--start", f"{self.since}", "--end", f"{self.until}", "--tz", zone]

    def readings(self, folder: Path) -> list[tuple[int, float]]:
        """Hours since 1970 on the station's clock, and temperatures."""
        with (folder / self.file).open(newline="") as lines:
            table = csv.reader(lines)
            at = next(table).index(self.column)
            rows = [(row[0], row[at]) for row in table if row[at] not in {"", "NAN"}]
        return [
            (
                (date.fromisoformat(when[:10]) - EPOCH).days * 24 + int(when[11:13]),
                float(value),
            )
            for when, value in rows
        ]

    def sheet(
        self, folder: Path, reset_h: int | None
    ) -> list[tuple[date, float, float]]:
        """Date, minimum and maximum [°C] of every span known but for two hours."""
        span = reset_h or 0
        written = []
        for number, hours in groupby(
            self.readings(folder), key=lambda reading: (reading[0] - span) // 24
        ):
            c = [value for _, value in hours]
            day = EPOCH + timedelta(days=number + (1 if reset_h else 0))
            if len(c) >= 22 and abs(day - self.since) < timedelta(days=300):
                written.append((day, min(c), max(c)))
        return written


OUTDOORS = [
    Winter(MAINE, "hw_air_c", -5, (44.9, -68.7), date(2019, 10, 1), date(2020, 6, 1)),
    Winter(
        MASSACHUSETTS,
        "air_c",
        -5,
        (42.448, -72.681),
        date(2015, 1, 4),
        date(2015, 6, 1),
    ),
    Winter(FINLAND, "out_c", 2, (60.2, 24.7), date(2011, 10, 1), date(2012, 6, 1)),
]
ROOF = Winter(
    FINLAND, "roofspace_air_c", 2, (60.2, 24.7), date(2011, 10, 1), date(2012, 6, 1)
)


def _of_readings(folder: Path, winter: Winter) -> dict:
    words = ["--column", winter.column, *winter.window]
    return chill(folder / winter.file, *words)[0]


def _of_sheet(
    path: Path, heading: list[str], rows: list[list[str]], winter: Winter, *words: str
) -> dict:
    with path.open("w", newline="") as lines:
        csv.writer(lines, delimiter=";").writerows([heading, *rows])
    columns = sheet_words(*heading[1:], winter.place)
    return chill(path, *columns, *winter.window, *words)[0]


def _both(
    folder: Path, winter: Winter, path: Path, reset_h: int | None
) -> tuple[dict, dict]:
    """Totals of the readings, and of a sheet to 0.1 °C that was made of them."""
    rows = [
        [f"{day}", f"{low:.1f}".replace(".", ","), f"{high:.1f}".replace(".", ",")]
        for day, low, high in winter.sheet(folder, reset_h)
    ]
    reset = ["--reset-at", f"{reset_h:02}:00"] if reset_h else []
    rebuilt = _of_sheet(path, ["Date", "Low °C", "High °C"], rows, winter, *reset)
    return _of_readings(folder, winter), rebuilt


RESETS = pytest.mark.parametrize("reset_h", [None, 8, 18])


@RESETS
@pytest.mark.parametrize("winter", OUTDOORS, ids=str)
def test_a_winter_outdoors_comes_back_within_what_is_told(
    real_data: Path, tmp_path: Path, winter: Winter, reset_h: int | None
):
    true, rebuilt = _both(real_data, winter, tmp_path / "sheet.csv", reset_h)
    assert true["hours"] == rebuilt["hours"] == (winter.until - winter.since).days * 24
    assert rebuilt["gap_hours"] == 0
    share = {
        name: rebuilt[name] / true[name]
        for name in ("chill_hours_0_7", "chill_hours_below_7", "portions")
    }
    assert 0.92 < share["chill_hours_0_7"] < 1.0
    assert 0.97 < share["chill_hours_below_7"] < 1.02
    assert 0.97 < share["portions"] < 1.03
    # too high, and no bound: single months differ more
    assert 1.0 < rebuilt["gdh_linear_rough"] / true["gdh_linear"] < 1.12


@RESETS
def test_under_a_roof_it_stays_within_the_fifth_that_is_told(
    real_data: Path, tmp_path: Path, reset_h: int | None
):
    true, rebuilt = _both(real_data, ROOF, tmp_path / "sheet.csv", reset_h)
    assert 0.88 < rebuilt["chill_hours_0_7"] / true["chill_hours_0_7"] < 0.92
    assert 0.92 < rebuilt["portions"] / true["portions"] < 0.96
    assert 1.15 < rebuilt["gdh_linear_rough"] / true["gdh_linear"] < 1.30


def test_whole_degrees_fahrenheit_lose_nothing_that_matters(
    real_data: Path, tmp_path: Path
):
    """As read off a dial, with the dates of the country: the month first."""
    winter = OUTDOORS[1]
    rows = [
        [f"{day:%m/%d/%Y}", *(f"{32 + 1.8 * c:.0f}" for c in (low, high))]
        for day, low, high in winter.sheet(real_data, 18)
    ]
    heading = ["Day", "Low (°F)", "High (°F)"]
    path = tmp_path / "sheet.csv"
    found = _of_sheet(path, heading, rows, winter, "--reset-at", "18:00")
    fine = _both(real_data, winter, path, 18)[1]
    assert found["hours"] == fine["hours"]
    for name in ("chill_hours_0_7", "chill_hours_below_7", "portions"):
        assert found[name] == pytest.approx(fine[name], rel=0.015)
