"""The demo's logs, read back as plain text."""

import csv
import json
from datetime import datetime, timedelta, timezone
from pathlib import Path

import pytest

from wintering.web.demo.log_files import log_files

WINTER = Path(__file__).parents[3] / "fixtures" / "demo_winter.json"
EAST = timezone(timedelta(hours=-5))
SHIFT = timedelta(weeks=96)
NOW = datetime(2026, 11, 25, 5, 33, tzinfo=EAST)


@pytest.fixture(scope="module")
def files():
    described = json.loads(WINTER.read_text(encoding="utf-8"))["files"]
    return {one.name: one for one in log_files(described, shift=SHIFT, now=NOW)}


def lines(text: str, delimiter: str) -> list[list[str]]:
    return list(csv.reader(text.splitlines(), delimiter=delimiter))


def test_readings_end_now_and_begin_with_the_storys_october(files):
    rows = lines(files["long-frame-air-and-roots.csv"].text, ",")
    assert rows[1][0] == "2026-08-04T00:00:00-05:00"  # 1 October 2024 plus 96 weeks
    assert rows[-1][0] == "2026-11-25T05:30:00-05:00"


def test_columns_name_their_sensor_and_unit(files):
    log = files["long-frame-outside.csv"]
    assert log.columns == (("O1 (°F)", "O1"),)
    assert lines(log.text, ",")[0] == ["time", "O1 (°F)"]


def test_the_outside_logger_writes_fahrenheit(files):
    rows = dict(lines(files["long-frame-outside.csv"].text, ",")[1:])
    # -31.4 °C is -24.5 °F.
    assert rows["2026-11-24T08:00:00-05:00"] == "-24.5"


def test_the_humidity_logger_writes_per_cent(files):
    log = files["long-frame-humidity.csv"]
    assert log.columns == (("H1 RH (%)", "H1"),)
    rows = lines(log.text, ",")
    assert rows[0] == ["time", "H1 RH (%)"]
    assert all(0 < float(row[1]) <= 100 for row in rows[1:])
    assert rows[-1][0] == "2026-11-25T05:30:00-05:00"


def test_one_log_has_decimal_commas_between_semicolons(files):
    text = files["long-frame-ground-and-pipe.csv"].text
    rows = lines(text, ";")
    assert rows[0] == ["time", "G1 (°C)", "P1 (°C)"]
    assert all("." not in cell for row in rows[1:] for cell in row[1:])
    assert float(rows[1][1].replace(",", ".")) == pytest.approx(10.6, abs=1.5)


def test_a_silent_logger_writes_no_line(files):
    stamps = [row[0] for row in lines(files["long-frame-outside.csv"].text, ",")[1:]]
    before = stamps.index("2026-11-09T08:50:00-05:00")
    assert stamps[before + 1] == "2026-11-10T11:00:00-05:00"


def test_the_freeze_stands_in_the_log_as_told(files):
    rows = lines(files["long-frame-air-and-roots.csv"].text, ",")
    coldest = next(row for row in rows if row[0] == "2026-11-24T08:00:00-05:00")
    assert coldest[1] == "-8.0"
    assert coldest[3] == "-2.9"


def test_the_loggers_keep_the_offset_of_now():
    described = [
        {
            "name": "x.csv",
            "columns": ["A1"],
            "unit": "c",
            "delimiter": ",",
            "decimal": ".",
        }
    ]
    summer = datetime(2027, 7, 14, 12, tzinfo=timezone(timedelta(hours=-4)))
    (log,) = log_files(described, shift=timedelta(weeks=129), now=summer)
    stamps = [row[0][-6:] for row in lines(log.text, ",")[1:]]
    assert set(stamps) == {"-04:00"}
