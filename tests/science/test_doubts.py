from datetime import timedelta, timezone
from zoneinfo import ZoneInfo

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from wintering.science.clock_doubts import future, hour_jumps
from wintering.science.doubts import (
    Doubt,
    Kind,
    blips,
    calm_spells,
    drift,
    gaps,
    steps,
)
from wintering.science.series import Hourly

OSLO = ZoneInfo("Europe/Oslo")
UTC = timezone(timedelta(0))
HOUR, DAY = 3600, 86_400


def _every(step_s: int, c: list[float] | np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    return np.arange(len(c)) * step_s, np.asarray(c, float)


def _spans(doubts: list[Doubt]) -> list[tuple[int, int, float]]:
    return [(d.since_s, d.until_s, d.figure) for d in doubts]


@pytest.mark.parametrize("count", [0, 1, 2])
def test_too_few_readings_raise_no_doubt(count: int):
    seconds, c = _every(600, [4.0] * count)
    assert not calm_spells(seconds, c)
    assert not blips(seconds, c)
    assert not steps(seconds, c, [], UTC)
    assert not gaps(seconds)
    assert not hour_jumps(seconds)
    assert not drift(Hourly.measured(0, c), Hourly.measured(0, c), UTC)


class TestCalm:
    def test_air_that_varies_by_less_than_half_a_kelvin_in_twelve_hours(self):
        swing = [0.0, 3.0]
        c = [*swing * 3, *[4.0, 4.4] * 6, *swing * 3]
        (found,) = calm_spells(*_every(HOUR, c))
        assert _spans([found]) == [(6 * HOUR, 18 * HOUR, 0.4)]
        assert found.kind == Kind.CALM
        assert found.unit == "K"
        assert "In 12 h the air varied by 0.40 K" in found.sentence

    def test_half_a_kelvin_or_eleven_hours_are_not_calm(self):
        assert not calm_spells(*_every(HOUR, [4.0, 4.5] * 20))
        assert not calm_spells(*_every(HOUR, [0.0, *[4.0] * 11, 9.0]))

    def test_an_hour_without_a_reading_ends_the_spell(self):
        seconds, c = _every(HOUR, [4.0] * 23)
        assert calm_spells(seconds, c)
        there = seconds != 11 * HOUR
        assert not calm_spells(seconds[there], c[there])


class TestBlips:
    def test_one_reading_more_than_three_kelvin_off_both_neighbours(self):
        (found,) = blips(*_every(600, [0.481, -4.867, 0.935]))
        assert _spans([found]) == [(600, 600, -5.348)]
        assert "5.3 K below" in found.sentence

    def test_three_kelvin_a_stair_or_a_slow_logger_are_none(self):
        assert not blips(*_every(600, [4.0, 7.0, 4.0]))
        assert not blips(*_every(600, [4.0, 8.0, 12.0]))
        assert not blips(*_every(901, [4.0, 9.0, 4.0]))


class TestSteps:
    CALM = np.arange(0, 20 * HOUR, 600), np.tile([3.0, 3.5], 60)

    def test_a_change_that_no_neighbour_shares(self):
        c = [4.0] * 60 + [10.0] * 60
        (found,) = steps(*_every(600, c), [self.CALM], UTC)
        assert (found.since_s, found.figure) == (54 * 600, 6.0)
        assert "rose by 6.0 K within an hour, while 1 other sensor" in found.sentence

    def test_a_change_that_a_neighbour_shares_is_weather_or_a_door(self):
        c = [4.0] * 60 + [10.0] * 60
        shared = _every(600, [3.0] * 58 + [5.1] * 62)
        assert not steps(*_every(600, c), [self.CALM, shared], UTC)

    def test_five_kelvin_in_an_hour_or_six_in_two_hours_are_none(self):
        assert not steps(*_every(HOUR, [4.0, 9.0]), [], UTC)
        assert steps(*_every(HOUR, [4.0, 9.01]), [], UTC)
        assert not steps(*_every(HOUR, [4.0, 7.0, 10.0]), [], UTC)
        assert not steps([0, HOUR + 1], [4.0, 20.0], [], UTC)

    def test_without_a_neighbour_it_says_that_nothing_was_compared(self):
        elsewhere = np.array([90 * DAY, 91 * DAY]), np.array([0.0, 20.0])
        (found,) = steps(*_every(HOUR, [9.0, 2.0]), [elsewhere], UTC)
        assert "fell by 7.0 K" in found.sentence
        assert "no other sensor was there" in found.sentence

    @pytest.mark.parametrize(
        ("hour", "sun"), [(8, False), (9, True), (13, True), (14, False)]
    )
    def test_sun_is_the_usual_reason_from_ten_to_fifteen_local_time(self, hour, sun):
        at = np.array([hour - 1, hour]) * HOUR  # in winter an hour behind local time
        (found,) = steps(at, [4.0, 12.0], [], OSLO)
        assert ("Sun on a bare sensor" in found.sentence) == sun


def _night_and_day(days: int, off_k: np.ndarray | float) -> tuple[Hourly, Hourly]:
    hours = np.arange(days * 24)
    reference = 3 + 6 * np.maximum(0, np.sin((hours % 24 - 6) / 24 * 2 * np.pi))
    return Hourly.measured(0, reference + off_k), Hourly.measured(0, reference)


class TestDrift:
    def test_a_difference_that_grows_is_told(self):
        grown = np.repeat(np.linspace(0, 1.2, 60), 24)  # 0.61 K in 30 days
        (found,) = drift(*_night_and_day(60, grown), UTC)
        assert found.kind == Kind.DRIFT
        assert found.figure == pytest.approx(0.61, abs=0.01)
        assert found.until_s == 60 * DAY
        assert "0.6 K more beside its reference than 30 days before" in found.sentence

    def test_an_offset_or_a_slower_growth_is_not(self):
        assert not drift(*_night_and_day(90, 3.0), UTC)
        assert not drift(
            *_night_and_day(90, np.repeat(np.linspace(0, 1.2, 90), 24)), UTC
        )

    def test_the_sun_of_the_day_counts_for_nothing(self):
        hours = np.arange(60 * 24)
        sun = np.where(hours % 24 > 8, np.linspace(0, 9, hours.size), 0)
        assert not drift(*_night_and_day(60, sun), UTC)

    def test_a_fortnight_of_other_weather_is_no_drift(self):
        odd = np.zeros(90 * 24)
        odd[60 * 24 : 70 * 24] = 2.0
        assert not drift(*_night_and_day(90, odd), UTC)

    def test_nights_that_are_not_calm_are_not_compared(self):
        sensor, reference = _night_and_day(60, np.repeat(np.linspace(0, 1.2, 60), 24))
        restless = reference.c + 3 * (np.arange(reference.c.size) % 2)
        assert not drift(sensor, Hourly.measured(0, restless), UTC)

    def test_series_that_never_meet_say_nothing(self):
        sensor, _ = _night_and_day(60, 0.0)
        assert not drift(sensor, Hourly.measured(9999, np.zeros(900)), UTC)


class TestGaps:
    def test_more_than_three_intervals_without_a_reading(self):
        at = np.array([0, 1, 2, 3, 7, 8, 9, 12, 13]) * 600
        (found,) = gaps(at)
        assert _spans([found]) == [(1800, 4200, 0.667)]
        assert "No reading for 0.7 h, where one every 10 min is usual" in found.sentence

    def test_a_logger_set_to_another_interval_has_no_gap(self):
        quick, slow = np.arange(60) * 60, 3600 + np.arange(60) * HOUR
        assert not gaps(np.concatenate([quick, slow]))

    def test_silence_until_an_instant_is_a_gap(self):
        at = np.arange(10) * 600
        assert not gaps(at, until_s=5400 + 1800)
        assert _spans(gaps(at, until_s=5400 + 1801)) == [(5400, 7201, 0.5)]

    @given(st.sets(st.integers(0, 400), min_size=3), st.integers(1, 7))
    def test_all_time_that_a_gap_covers_is_without_a_reading(self, minutes, step):
        at = np.sort(np.array(list(minutes))) * step * 60
        for found in gaps(at):
            assert not ((at > found.since_s) & (at < found.until_s)).any()
            assert found.since_s in at
            assert found.until_s in at


class TestClock:
    def test_readings_of_the_future(self):
        assert not future([0, 600, 900], now_s=600)
        (found,) = future([0, 600, 901, 7800], now_s=600)
        assert _spans([found]) == [(901, 7800, 2.0)]
        assert "2 reading(s) lie in the future, the last by 2.0 h" in found.sentence

    def test_an_hour_too_far_and_an_hour_back(self):
        on = np.append(np.arange(6) * 900, 5 * 900 + 4500 + np.arange(5) * 900)
        assert _spans(hour_jumps(on)) == [(4500, 9000, 1.0)]
        back = np.append(np.arange(6) * 900, 5 * 900 - 2700 + np.arange(8) * 900)
        assert _spans(hour_jumps(back)) == [(1800, 4500, -1.0)]

    def test_other_gaps_and_hourly_loggers_show_none(self):
        assert not hour_jumps([0, 600, 1200, 1800, 5400, 6000])
        assert not hour_jumps(np.array([0, 1, 2, 4, 5, 6, 5, 6]) * HOUR)
