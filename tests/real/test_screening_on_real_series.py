"""Which readings of measured series are set aside: each defect known, and no more."""

import csv
from datetime import UTC, datetime
from functools import cache
from pathlib import Path

import numpy as np
import pytest

from wintering.science.clock_doubts import hour_jumps
from wintering.science.doubts import blips, calm_spells, drift, gaps, steps
from wintering.science.screening import REACH_S, Quality, judge
from wintering.science.series import hourly_means

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
    # one reading of those that count lies 5 K off its neighbours: it is told, as a blip
    assert np.sort(off_k[~set_aside])[:2].round(1).tolist() == [-11.0, -7.8]


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


def _counted(path: Path, column: str) -> tuple[np.ndarray, np.ndarray]:
    seconds, c = _readings(path, column)
    counts = judge(seconds, c) == Quality.GOOD
    return seconds[counts], c[counts]


@pytest.mark.parametrize(
    ("file", "column", "spells"),
    [
        (ROOF, "out_c", 23),
        (ROOF, "roofspace_air_c", 78),
        (ROOF, "heated_room_c", 301),
        (FOREST, "hw_air_c", 32),
        (TUNNEL, "in_air1_c", 1),
        ("ma_outdoor_2015_10min.csv", "air_c", 1),
    ],
)
def test_sound_air_is_calm_by_the_screening_guide_now_and_then(
    real_data: Path, file: str, column: str, spells: int
):
    """So the guide is a doubt, and sets nothing aside."""
    assert len(calm_spells(*_readings(real_data / file, column))) == spells


def test_gaps_are_found_where_the_series_is_known_to_have_them(real_data: Path):
    assert not gaps(_readings(real_data / ROOF, "out_c")[0])
    found = gaps(_readings(real_data / FOREST, "hw_air_c")[0])
    # the longest known is 142 h missing: 143 h from reading to reading
    assert sorted(gap.figure for gap in found)[-1] == 143.0
    tunnel = [gap.figure for gap in gaps(_readings(real_data / TUNNEL, "in_air1_c")[0])]
    assert 556.5 in tunnel  # the 23 days known


def test_the_one_low_reading_that_still_counts_is_told_as_a_blip(real_data: Path):
    (found,) = blips(*_counted(real_data / LOOSE_WIRE, "air_c"))
    assert found.figure == -5.348


def test_a_door_is_no_step_because_the_sensors_beside_it_move_too(real_data: Path):
    alone = steps(*_readings(real_data / TUNNEL, "in_air1_c"), [], UTC)
    beside = [_readings(real_data / TUNNEL, c) for c in ("in_air2_c", "in_air3_c")]
    assert len(alone) > 100
    assert not steps(*_readings(real_data / TUNNEL, "in_air1_c"), beside, UTC)


def test_two_sound_sensors_of_like_places_hardly_drift(real_data: Path):
    def found(file: str, one: str, other: str) -> list[float]:
        pair = [hourly_means(*_readings(real_data / file, c)) for c in (one, other)]
        return [doubt.figure for doubt in drift(*pair, UTC)]

    assert found(ROOF, "roofspace_air_c", "roofspace_top_c") == []
    # two stands of a forest, in three and a half years
    assert found(FOREST, "hw_air_c", "sw_air_c") == [0.825]


def test_a_drift_of_a_kelvin_in_a_month_is_found(real_data: Path):
    """A measured pair, to one of which a growing offset is added."""
    sensor = hourly_means(*_readings(real_data / ROOF, "roofspace_air_c"))
    reference = hourly_means(*_readings(real_data / ROOF, "roofspace_top_c"))
    growing = np.clip(np.arange(sensor.c.size) / 24 - 60, 0, 60) / 30
    off = type(sensor).measured(sensor.first_hour, sensor.c + growing)
    found = [doubt.figure for doubt in drift(off, reference, UTC)]
    # the first meets a swing of the pair itself
    assert found == [1.819, 1.119]


def test_the_repeated_hour_of_a_clock_change_is_found(real_data: Path):
    file = real_data / "it_tunnel_raw_dst_oct2021_15min.csv"
    with file.open(newline="") as lines:
        stamps = [row["timestamp_dmy"] for row in csv.DictReader(lines)]
    at = [datetime.strptime(s, "%d/%m/%Y %H:%M:%S").replace(tzinfo=UTC) for s in stamps]
    found = hour_jumps([int(a.timestamp()) for a in at])
    assert [(d.figure, d.since_s % 86_400, d.until_s % 86_400) for d in found] == [
        (-1.0, 3 * 3600, 3 * 3600 + 2700)
    ]
