"""The Dynamic model against the integrated equations and published behaviour."""

import re

import numpy as np
import pytest

from tests.published.rows import Row, rows_named, rows_of, series
from wintering.science.dynamic import fixed_share, portions, rates_per_h
from wintering.science.series import hourly_means

PROPERTIES = tuple(f"DM-P{number}" for number in range(1, 10))


def _portions(c: np.ndarray) -> float:
    return float(portions(c).total[-1])


def _daily(cold_c: float, warm_c: float, warm_h: int, days: int = 42) -> float:
    day = np.repeat([cold_c, warm_c], [24 - warm_h, warm_h])
    return _portions(np.tile(day, days))


def _temperature(text: str) -> float:
    return float(re.search(r"T=(-?[\d.]+)", text)[1])


@rows_of("dynamic", but=PROPERTIES)
def test_portions(row: Row):
    row.check(_portions(series(row.series)))


@rows_of("dynamic: intermediate x at end")
def test_intermediate_left_over(row: Row):
    row.check(float(portions(series(row.series)).state.x))


@rows_of("dynamic with offset 273.15 (NOT the default; detects the wrong offset)")
def test_another_kelvin_offset_gives_other_portions(row: Row):
    c = series(row.series)
    row.check(_portions(c + 0.15))
    if row.value > 0.01:
        assert _portions(c) != pytest.approx(row.value, rel=0, abs=1e-5)


@rows_of("dynamic: wrong 10-min stepping (must NOT be used)")
def test_ten_minute_readings_are_averaged_before_the_model_runs(row: Row):
    wrong, right = re.match(
        r"(\S+) \(correct hourly value (\S+);", row.expected
    ).groups()
    seconds = np.arange(6 * 1000) * 600
    c = np.full(seconds.size, _temperature(row.series))
    found = _portions(hourly_means(seconds, c).c)
    assert found == pytest.approx(float(right), rel=0, abs=1e-4), row.source
    assert (abs(found - float(wrong)) < 1e-4) == (wrong == right)


@rows_of("dynamic: k0(T)")
def test_rate_of_forming(row: Row):
    row.check(float(rates_per_h(_temperature(row.series))[0]))


@rows_of("dynamic: k1(T)")
def test_rate_of_destroying(row: Row):
    row.check(float(rates_per_h(_temperature(row.series))[1]))


@rows_of("dynamic: equilibrium x_s=k0/k1")
def test_equilibrium(row: Row):
    formed, destroyed = rates_per_h(_temperature(row.series))
    row.check(float(formed / destroyed))


@rows_of("dynamic: transfer fraction")
def test_fixed_share(row: Row):
    row.check(float(fixed_share(_temperature(row.series))))


def _hours_to_one(c: np.ndarray) -> np.ndarray:
    formed, destroyed = rates_per_h(c)
    return -np.log(1 - destroyed / formed) / destroyed


@rows_of("dynamic: continuous time for x to reach 1 from 0")
def test_time_to_the_first_portion(row: Row):
    row.check(float(_hours_to_one(_temperature(row.series))))


@rows_of("dynamic: first whole hour in which a transfer occurs")
def test_hour_of_the_first_portion(row: Row):
    total = portions(series(row.series)).total
    row.check(int(np.flatnonzero(total > 0)[0]) + 1)


@rows_of("dynamic: temperature minimising continuous time to x=1")
def test_quickest_temperature(row: Row):
    c = np.arange(0, 12.9, 0.01)
    best, _, hours = re.match(r"(\S+) \+-(\S+) \((\S+) h\)", row.expected).groups()
    found = c[np.argmin(_hours_to_one(c))]
    assert found == pytest.approx(float(best), rel=0, abs=0.1), row.source
    assert _hours_to_one(c).min() == pytest.approx(float(hours), rel=0, abs=0.002)


@rows_named("DM-P1", "DM-P4")
def test_six_to_eight_degrees_are_best_and_it_tapers_to_both_sides(row: Row):
    rates = [_portions(np.full(1000, float(c))) for c in range(-2, 15)]
    best = int(np.argmax(rates))
    assert 6 <= best - 2 <= 8, row.source
    assert rates[: best + 1] == sorted(rates[: best + 1])
    assert rates[best:] == sorted(rates[best:], reverse=True)
    at_freezing, at_six = rates[2], rates[8]
    assert at_freezing < 0.2 * at_six


@rows_named("DM-P2")
def test_nothing_at_fourteen_degrees(row: Row):
    row.check(_portions(series(row.series)))


@rows_named("DM-P3")
def test_next_to_nothing_at_two_degrees_of_frost(row: Row):
    found = _portions(series(row.series))
    assert found < 0.3, row.source
    assert found < 0.01 * _portions(np.full(1000, 6.0))


@rows_named("DM-P5")
def test_freezing_is_poor_alone_and_good_in_a_cycle_with_mild_hours(row: Row):
    assert _daily(0, 15, 8) > 3 * _daily(0, 0, 8), row.source


@rows_named("DM-P6")
def test_warm_hours_every_day_undo_the_chill(row: Row):
    row.check(_daily(5, 24, 8, days=36))


@rows_named("DM-P7")
def test_warm_spells_in_longer_cycles_do_not_undo_the_chill(row: Row):
    unbroken = _portions(np.full(576, 5.0))
    for days in (3, 6, 9):
        cycle = np.repeat([5.0, 24.0], [16 * days, 8 * days])
        found = _portions(np.tile(cycle, 36 // days))
        assert found == pytest.approx(unbroken, rel=0.15), row.source


@rows_named("DM-P8")
def test_the_loss_grows_with_the_hours_of_warmth(row: Row):
    found = [_daily(4, 24, hours) for hours in (0, 2, 4, 6, 8)]
    assert found == sorted(found, reverse=True), row.source
    assert found == pytest.approx(_decimals(row.expected), rel=0, abs=0.005)


@rows_named("DM-P9")
def test_the_loss_grows_with_the_warmth_though_less_than_published(row: Row):
    found = [_daily(4, warm, 8) for warm in (19, 20, 21)]
    assert found == pytest.approx(_decimals(row.expected), rel=0, abs=0.005), row.source


def _decimals(text: str) -> list[float]:
    return [float(number) for number in re.findall(r"\d+\.\d+", text)]
