"""The invented winter's temperatures against the story they are made for.

The figures are those of the story's monthly guide and its list of events.
"""

import hashlib
from datetime import datetime, timedelta

import numpy as np
import pytest

from wintering.web.demo.weather import moments, temperatures_c

# Month: outside mean, outside lowest, air mean, small pot's root zone mean, ground.
GUIDE_C = {
    11: (1.2, -11.0, 4.0, 3.4, 8.6),
    12: (-6.1, -24.0, 1.6, 1.2, 6.3),
    1: (-10.4, -31.4, 0.9, 0.1, 4.6),
    2: (-6.8, -22.0, 2.1, 1.0, 3.6),
    3: (-1.0, -14.0, 4.4, 3.3, 3.4),
    4: (6.0, -5.0, 8.1, 7.0, 4.5),
}
MEAN_TOLERANCE_K = 0.4
LOWEST_TOLERANCE_K = 0.3


def at(month: int, day: int, hour: int, minute: int = 0) -> datetime:
    year = 2024 if month > 7 else 2025
    return datetime(year, month, day, hour, minute)  # noqa: DTZ001 - a wall clock


def between(name: str, first: datetime, last: datetime) -> np.ndarray:
    """The sensor's readings from `first` up to, and with, `last`."""
    start = moments()[0]
    step = timedelta(minutes=10)
    return temperatures_c()[name][(first - start) // step : (last - start) // step + 1]


def of_month(name: str, month: int) -> np.ndarray:
    chosen = np.array([moment.month == month for moment in moments()])
    return temperatures_c()[name][chosen]


@pytest.mark.parametrize("month", GUIDE_C)
def test_monthly_means_keep_to_the_guide(month):
    outside, _, air, root, ground = GUIDE_C[month]
    means = {
        name: np.nanmean(of_month(name, month)) for name in ("O1", "A1", "R1", "G1")
    }
    expected = {"O1": outside, "A1": air, "R1": root, "G1": ground}
    assert means == pytest.approx(expected, abs=MEAN_TOLERANCE_K)


@pytest.mark.parametrize("month", GUIDE_C)
def test_the_lowest_outside_of_each_month_is_the_guides(month):
    lowest = np.nanmin(of_month("O1", month))
    assert lowest == pytest.approx(GUIDE_C[month][1], abs=LOWEST_TOLERANCE_K)


def test_readings_are_ten_minutes_apart_from_october_to_april():
    steps = {b - a for a, b in zip(moments(), moments()[1:], strict=False)}
    assert steps == {timedelta(minutes=10)}
    assert moments()[0] == at(10, 1, 0)
    assert moments()[-1] == at(4, 30, 23, 50)


def test_the_near_miss_of_october():
    night = between("O1", at(10, 11, 0), at(10, 11, 9))
    assert night.min() == pytest.approx(-2.3, abs=0.2)


def test_the_coldest_night_of_december():
    assert np.nanmin(between("O1", at(12, 21, 0), at(12, 21, 12))) == pytest.approx(
        -24.0, abs=0.2
    )


def test_the_ridge_sensor_hangs_at_one_value_for_forty_hours():
    stuck = between("A2", at(12, 14, 18), at(12, 16, 9, 50))
    assert set(stuck) == {3.1}
    assert stuck.size == 40 * 6
    assert between("A2", at(12, 14, 17), at(12, 14, 17, 50)).max() != 3.1


def test_the_outside_sensor_is_silent_for_twenty_six_hours():
    silent = np.isnan(temperatures_c()["O1"])
    assert silent.sum() == 26 * 6
    assert np.isnan(between("O1", at(1, 6, 9), at(1, 7, 10, 50))).all()


def test_no_other_sensor_is_ever_silent():
    series = temperatures_c()
    assert not any(np.isnan(series[name]).any() for name in series if name != "O1")


def test_the_small_pot_stands_at_freezing_while_its_ball_freezes():
    flat = between("R1", at(1, 18, 21), at(1, 20, 18, 50))
    assert np.abs(flat).max() <= 0.1 + 1e-9
    assert len(set(flat)) > 1  # frozen, not stuck


def test_the_small_pot_falls_in_the_evening_and_steadies_under_the_blanket():
    falling = between("R1", at(1, 20, 19, 40), at(1, 20, 19, 40))
    assert falling[0] == pytest.approx(-0.4, abs=0.1)
    steady = between("R1", at(1, 20, 21, 30), at(1, 21, 2))
    assert steady == pytest.approx(-0.6, abs=0.15)


def test_the_power_cut_brings_the_winters_lowest_readings():
    night = (at(1, 21, 2, 10), at(1, 21, 9))
    assert between("R1", *night).min() == -2.9
    assert between("A1", *night).min() == -8.0
    assert np.nanmin(between("O1", *night)) == -31.4
    assert temperatures_c()["R1"].min() == -2.9
    assert temperatures_c()["A1"].min() == -8.0


def test_without_power_the_air_falls_faster_than_the_covered_frame_cools_alone():
    # Time constant covered about 15 h: 6.4 h without heat from -1.9 °C towards the
    # -26 °C that ground heat alone would hold leave -10.3 °C; pots that freeze give
    # heat back, so the air must end above that and well below where it began.
    fall = between("A1", at(1, 21, 2, 10), at(1, 21, 8))
    assert -10.3 < fall[-1] < fall[0] - 4


def test_the_ground_is_steady_and_runs_down_until_march():
    ground = temperatures_c()["G1"]
    assert np.abs(np.diff(ground)).max() <= 0.3
    assert np.mean(of_month("G1", 3)) < np.mean(of_month("G1", 12))


def test_a_mild_spell_in_january_warms_the_rear_bench_for_three_days():
    mild = between("A1", at(1, 10, 0), at(1, 12, 23, 50))
    before = between("A1", at(1, 2, 0), at(1, 4, 23, 50))
    assert mild.size == before.size == 3 * 144
    assert mild.mean() > before.mean() + 3
    assert mild.max() > 7  # above the safe band, so that early trees begin to move


def test_the_warm_days_of_february_come_close_to_the_alert():
    warm = between("A1", at(2, 25, 12), at(2, 25, 15))
    assert warm.max() == pytest.approx(14.6, abs=0.5)


def test_the_winter_is_the_same_every_time():
    first = temperatures_c()["A1"].tobytes()
    temperatures_c.cache_clear()
    assert (
        hashlib.sha256(temperatures_c()["A1"].tobytes()).digest()
        == hashlib.sha256(first).digest()
    )
