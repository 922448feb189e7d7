import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from wintering.science import chill, forcing
from wintering.science.series import Hourly, bridge, hourly_means
from wintering.science.units import TemperatureUnit

NAN = np.nan
PER_HOUR = [
    chill.chill_hours_0_7,
    chill.chill_hours_below_7,
    chill.utah,
    chill.utah_positive,
    forcing.gdh_linear,
    forcing.gdh_curvilinear,
]


@pytest.mark.parametrize("units", PER_HOUR)
def test_a_missing_hour_adds_nothing(units):
    assert units([NAN]).tolist() == [0.0]
    assert units([]).size == 0


@pytest.mark.parametrize("units", PER_HOUR)
def test_many_series_are_counted_side_by_side(units):
    c = np.random.default_rng(2).normal(8, 9, (30, 2, 3))
    found = units(c)
    assert found.shape == c.shape
    np.testing.assert_array_equal(found[:, 1, 2], units(c[:, 1, 2]))


def test_both_ends_of_the_band_count():
    c = [-0.000001, 0.0, 7.2, 7.200001]
    assert chill.chill_hours_0_7(c).tolist() == [0, 1, 1, 0]
    assert chill.chill_hours_below_7(c).tolist() == [1, 1, 1, 0]


def test_the_last_bits_of_a_mean_decide_nothing():
    almost = sum([6.9, 7.0, 7.1, 7.3, 7.4, 7.5]) / 6
    assert chill.chill_hours_0_7(almost) == chill.chill_hours_0_7(almost + 4e-16) == 1
    assert chill.chill_hours_0_7(-1e-9) == 1


@pytest.mark.parametrize("f", [34.0, 36.0, 48.0, 54.0, 60.0, 65.0])
def test_a_whole_fahrenheit_reading_belongs_to_the_class_it_ends(f: float):
    c = TemperatureUnit.FAHRENHEIT.to_c(f)
    at, above = chill.utah([c, c + 2e-6], chill.UTAH_F)
    assert at != above
    assert chill.utah(round(c, 6), chill.UTAH_F) == at


def test_a_utah_total_is_counted_from_its_lowest_point():
    running = np.cumsum([-1.0, -1.0, 0.5, 1.0, -0.5, 1.0])
    found = chill.from_lowest(running)
    assert found.tolist() == [0.0, 0.0, 0.5, 1.5, 1.0, 2.0]
    assert chill.from_lowest(np.array([1.0, 2.0])).tolist() == [1.0, 2.0]
    assert chill.from_lowest(np.empty(0)).size == 0


def test_cold_days_include_the_limit_and_leave_out_what_is_missing():
    means = [4.4, 4.400001, -20.0, NAN]
    assert chill.days_at_or_below(means, 4.4).tolist() == [True, False, True, False]


def test_totals_of_nothing_are_nothing():
    found = chill.totals(Hourly.measured(0, []))
    assert found.hours == found.gap_hours == found.chill_hours_0_7_high == 0
    assert found.portions == found.portions_high == found.utah == 0.0


def test_totals_say_what_was_used_and_what_it_can_have_been():
    c = np.concatenate([np.full(60, 5.0), [NAN] * 2, np.full(60, 5.0), [NAN] * 30])
    c = np.append(c, np.full(10, 20.0))
    found = chill.totals(bridge(Hourly.measured(0, c)))
    assert (found.hours, found.bridged_hours, found.gap_hours) == (132, 2, 30)
    assert (found.chill_hours_0_7, found.chill_hours_0_7_high) == (122, 152)
    assert found.chill_hours_below_7 == 122
    assert found.utah == 122 - 10
    assert found.utah_positive == 122
    assert found.gdh_linear == pytest.approx(122 * 0.5 + 10 * 15.5)
    # 0.1173 an hour at 5 °C and 18.1970 at 20 °C (rows GDH-A-5, GDH-A-20)
    assert found.gdh_curvilinear == pytest.approx(
        122 * 0.117276 + 10 * 18.1970, abs=1e-3
    )
    assert found.portions < found.portions_high < found.portions + 2


def test_without_gaps_there_is_no_bracket():
    found = chill.totals(Hourly.measured(0, np.full(300, 6.0)))
    assert found.portions_high == found.portions > 9
    assert found.chill_hours_0_7_high == found.chill_hours_0_7 == 300


SPELLS = st.lists(
    st.sampled_from([-6.0, 1.0, 5.0, 7.2, 9.0, 15.0, 22.0, NAN]), min_size=1, max_size=8
)


@given(SPELLS)
def test_the_upper_figure_is_never_below_the_lower_one(values):
    c = np.repeat(values, 23)
    low, high = chill.portions_with_gaps(c)
    assert np.all(high >= low)
    found = chill.totals(Hourly.measured(0, c))
    assert found.portions_high >= found.portions
    assert found.chill_hours_0_7_high >= found.chill_hours_0_7
    assert found.hours + found.gap_hours == c.size


@given(st.lists(st.integers(-9_000, 38_000), min_size=1, max_size=300), st.data())
def test_totals_are_the_sums_of_what_each_hour_counts(thousandths, data):
    c = np.array(thousandths) / 1000
    limits = [0.0, 7.2, *chill.UTAH_C.limits_c, 25.0, 36.0]
    c[::3] = data.draw(st.sampled_from([NAN, *limits, *np.array(limits) + 1e-6]))
    found = chill.totals(Hourly.measured(0, c))
    for units in PER_HOUR:
        total = getattr(found, units.__name__)
        assert total == pytest.approx(units(c).sum(), abs=1e-6), units.__name__
    low, high = chill.portions_with_gaps(c)
    assert found.portions == pytest.approx(low[-1], abs=1e-6)
    assert found.portions_high == pytest.approx(high[-1], abs=1e-6)


READINGS = st.lists(st.integers(-15_000, 25_000), min_size=1, max_size=400)


@given(READINGS, st.integers(1, 5), st.integers(0, 2**32 - 1))
def test_totals_do_not_depend_on_the_batches_in_which_readings_came(
    thousandths, batches, seed
):
    seconds = np.arange(len(thousandths)) * 900
    c = np.array(thousandths) / 1000
    batch_of = np.random.default_rng(seed).integers(0, batches, seconds.size)
    order = np.argsort(batch_of, kind="stable")
    whole = chill.totals(bridge(hourly_means(seconds, c)))
    assert chill.totals(bridge(hourly_means(seconds[order], c[order]))) == whole


@given(READINGS, st.sampled_from(TemperatureUnit))
def test_the_unit_a_log_is_written_in_changes_no_total(thousandths, unit):
    seconds = np.arange(len(thousandths)) * 1800
    c = np.array(thousandths) / 1000
    found = chill.totals(hourly_means(seconds, unit.to_c(unit.from_c(c))))
    whole = chill.totals(hourly_means(seconds, c))
    assert found.chill_hours_0_7 == whole.chill_hours_0_7
    assert found.chill_hours_below_7 == whole.chill_hours_below_7
    assert found.utah == whole.utah
    assert found.portions == pytest.approx(whole.portions, abs=1e-5)
    assert found.gdh_linear == pytest.approx(whole.gdh_linear, abs=1e-3)


@given(st.integers(-20_000, 30_000))
def test_colder_never_means_more_warmth(thousandths):
    c = thousandths / 1000
    assert forcing.gdh_linear(c - 1) <= forcing.gdh_linear(c)
    if c <= 25:
        assert forcing.gdh_curvilinear(c - 1) <= forcing.gdh_curvilinear(c)
