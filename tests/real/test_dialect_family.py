"""Measured series written in every way, and read back: what is in them is known."""

import csv
import io
from datetime import UTC, datetime, timedelta, timezone
from decimal import Decimal
from itertools import cycle

import pytest

from tests.ingest import dialects
from wintering.ingest.reading import NO_VALUE, Answers, read_log

ROWS = 100  # of each series, from its middle
EASTERN = timezone(timedelta(hours=-5))  # as the README of the series says
SERIES = {
    "ma_outdoor_2015_10min.csv": ("timestamp", ["air_c"], None),
    "ma_orchard_2015_11_loose_wire_10min.csv": ("timestamp", ["air_c"], None),
    "me_forest_air_soil_2018_2022_hourly.csv": (
        "local_standard_time",
        ["hw_air_c", "sw_soil25_c"],
        EASTERN,
    ),
    "fi_roofspace_in_out_solar_2010_2012_hourly.csv": (
        "timestamp",
        ["out_c", "roofspace_air_c"],
        None,
    ),
}
ENCODINGS = cycle(("utf-8", "cp1252", "utf-16", "utf-8-sig", "utf-16-be"))


def known(path, time, columns, zone) -> dialects.Known:
    """By the plainest reading there is."""
    with path.open(newline="") as file:
        rows = list(csv.DictReader(file))
    rows = rows[len(rows) // 2 :][:ROWS]
    times = [datetime.fromisoformat(row[time]) for row in rows]
    return dialects.Known(
        [
            (at if at.tzinfo else at.replace(tzinfo=zone)).astimezone(UTC)
            for at in times
        ],
        {
            name.removesuffix("_c"): [
                int(Decimal(row[name]) * 1000) if row[name] else None for row in rows
            ]
            for name in columns
        },
    )


@pytest.mark.parametrize("file", SERIES)
@pytest.mark.parametrize("is_long", [False, True], ids=["wide", "long"])
def test_every_way_of_writing_a_measured_series_gives_the_same(
    file, is_long, real_data
):
    series = known(real_data / file, *SERIES[file])
    expected = [
        [NO_VALUE if value is None else value for value in values]
        for values in series.columns.values()
    ]
    ways, count = cycle(dialects.every_way()), len(expected)
    for form in dialects.FORMS:
        # Three ways a form, and others for the next.
        for way in (next(ways) for _ in range(3)):
            if not dialects.fits(form, way):
                continue
            text = dialects.written(form, known=series, is_long=is_long, **way)
            encoding = next(ENCODINGS)
            answers = Answers.of(
                zone=dialects.ZONE if form.is_naive else "-11:00",
                date_order=form.order,
                unit=way["unit"].unit,
            )
            names = [way["unit"].heading.format(name) for name in series.columns]
            log = read_log(
                io.BytesIO(text.encode(encoding)),
                name="log",
                answers=answers,
                columns=list(series.columns) if is_long else names,
            )
            told = f"{form.name} {way} {encoding}"
            assert not log.rejected, told
            step = count if is_long else 1
            assert log.seconds[::step].tolist() == series.seconds, told
            assert [
                column.values[i if is_long else 0 :: step].tolist()
                for i, column in enumerate(log.columns)
            ] == expected, told
