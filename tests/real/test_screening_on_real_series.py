"""Which readings of measured series are set aside: each defect known, and no more."""

import csv
from datetime import UTC, datetime
from functools import cache
from pathlib import Path

import numpy as np
import pytest

from wintering.science.screening import REACH_S, Quality, judge

ROOF = "fi_roofspace_in_out_solar_2010_2012_hourly.csv"
FOREST = "me_forest_air_soil_2018_2022_hourly.csv"
RESTART = "me_forest_raw_2019_duplicates_restart.csv"
GARBLED = "me_forest_second_sensor_spikes_2021.csv"
TUNNEL = "it_tunnel_inside_2021_22_15min.csv"
LOOSE_WIRE = "ma_orchard_2015_11_loose_wire_10min.csv"

SOUND = [
    *[(ROOF, c) for c in ("out_c", "roofspace_air_c", "roofspace_top_c")],
    *[(ROOF, c) for c in ("on_insulation_c", "at_eaves_outside_c", "heated_room_c")],
    ("ma_outdoor_2015_10min.csv", "air_c"),
    ("ma_outdoor_2015_hourly.csv", "air_c"),
    *[(FOREST, c) for c in ("hw_air_c", "hw_box_c", "sw_air_c")],
    *[(TUNNEL, c) for c in ("in_air1_c", "in_air2_c", "in_air3_c", "in_ref_air_c")],
    (RESTART, "air_c"),
    (GARBLED, "air_c"),
]
GROUND = [
    *[(FOREST, c) for c in ("hw_soil5_c", "hw_soil25_c", "sw_soil5_c", "sw_soil25_c")],
    *[(RESTART, c) for c in ("soil5_c", "soil25_c")],
    (GARBLED, "soil5_c"),
    (TUNNEL, "in_substrate_c"),
]


@cache
def _readings(path: Path, column: str) -> tuple[np.ndarray, np.ndarray]:
    """Instants and temperatures; no verdict here depends on the zone."""
    with path.open(newline="") as lines:
        rows = csv.reader(lines)
        where = next(rows).index(column)
        cells = [(row[0], row[where]) for row in rows if row[where] not in ("", "NAN")]
    stamps = [datetime.fromisoformat(stamp) for stamp, _ in cells]
    seconds = [
        (at if at.tzinfo else at.replace(tzinfo=UTC)).timestamp() for at in stamps
    ]
    return np.array(seconds, np.int64), np.array([float(value) for _, value in cells])


def _counts(quality: np.ndarray) -> dict[Quality, int]:
    kinds, counts = np.unique(quality, return_counts=True)
    return {
        Quality(kind): int(count)
        for kind, count in zip(kinds, counts, strict=True)
        if kind
    }


@pytest.mark.parametrize(("file", "column"), SOUND)
def test_nothing_of_a_sound_air_sensor_is_set_aside(
    real_data: Path, file: str, column: str
):
    seconds, c = _readings(real_data / file, column)
    assert seconds.size > 800
    assert _counts(judge(seconds, c, holds_ice=False)) == {}


@pytest.mark.parametrize(("file", "column"), GROUND)
def test_nothing_of_a_sound_sensor_in_the_ground_is_set_aside(
    real_data: Path, file: str, column: str
):
    seconds, c = _readings(real_data / file, column)
    assert seconds.size > 800
    assert _counts(judge(seconds, c)) == {}


def test_all_that_a_loose_wire_gave_is_set_aside_and_nothing_else(real_data: Path):
    """Known: 164 impossible readings. The rest of the span read -10 to -18 °C and -29,
    while a station 250 m away read -4 to 7 °C: false as well."""
    seconds, c = _readings(real_data / LOOSE_WIRE, "air_c")
    quality = judge(seconds, c, holds_ice=False)
    assert (c <= -38).sum() == 164
    assert _counts(quality) == {Quality.OUT_OF_RANGE: 10, Quality.STEP: 335}
    away = np.flatnonzero(quality)
    assert np.all(np.diff(away) == 1)
    assert (c[away[0] - 1], c[away[0]]) == (0.232, -38.09)
    assert (c[away[-1]], c[away[-1] + 1]) == (-50.0, 6.328)
    assert c[quality == Quality.GOOD].min() == -4.994


def test_the_station_beside_the_loose_wire_contradicts_each_reading_set_aside(
    real_data: Path,
):
    seconds, c = _readings(real_data / LOOSE_WIRE, "air_c")
    beside_at, beside_c = _readings(real_data / "ma_outdoor_2015_10min.csv", "air_c")
    off_k = c - np.interp(seconds, beside_at, beside_c)
    set_aside = judge(seconds, c) > 0
    assert off_k[set_aside].max() < -10
    assert off_k[~set_aside].min() > -8


def test_a_failing_probe_is_set_aside_from_its_first_false_reading(real_data: Path):
    """Known: 511 readings above 60 °C. One of 59.97 lies among them, at night."""
    seconds, c = _readings(real_data / TUNNEL, "in_air4_c")
    quality = judge(seconds, c, holds_ice=False)
    assert (c > 60).sum() == 511
    assert _counts(quality) == {Quality.OUT_OF_RANGE: 476, Quality.STEP: 36}
    assert quality[c > 60].all()
    assert np.sort(c[quality > 0])[0] == 59.97
    assert c[quality == Quality.GOOD].max() == 39.48


def test_garbled_fields_are_set_aside(real_data: Path):
    """Known: 21 and 34 readings above 60. The one more is 34.0, between 70 and 0."""
    seconds, c = _readings(real_data / GARBLED, "second_air_c")
    quality = judge(seconds, c, holds_ice=False)
    assert _counts(quality) == {Quality.OUT_OF_RANGE: 21}
    assert np.array_equal(quality > 0, c > 60)

    seconds, c = _readings(real_data / GARBLED, "second_soil_c")
    quality = judge(seconds, c)
    assert _counts(quality) == {Quality.OUT_OF_RANGE: 31, Quality.STEP: 4}
    assert quality[c > 60].sum() == 31 * Quality.OUT_OF_RANGE + 3 * Quality.STEP
    assert (c > 60).sum() == 34
    assert c[(quality > 0) & (c <= 60)].tolist() == [34.0]


def test_a_loose_wire_in_pieces_is_judged_as_the_whole(real_data: Path):
    seconds, c = _readings(real_data / LOOSE_WIRE, "air_c")
    whole = judge(seconds, c)
    for since in range(0, len(c), 97):
        until = min(since + 97, len(c))
        near = seconds >= seconds[since] - REACH_S
        near &= seconds <= seconds[until - 1] + REACH_S
        mine = (seconds[near] >= seconds[since]) & (seconds[near] <= seconds[until - 1])
        piece = judge(seconds[near], c[near])[mine]
        assert np.array_equal(piece, whole[since:until])
