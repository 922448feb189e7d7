"""Chill hours, Utah units, warmth and requirement curves against published values."""

import re

import numpy as np

from tests.published.rows import Row, rows_of, series
from wintering.science import chill, forcing
from wintering.science.curves import BOTTA, RequirementCurve
from wintering.science.evidence import Evidence


@rows_of("chill_hours_le_7.2")
def test_chill_hours_below_7(row: Row):
    row.check(chill.chill_hours_below_7(series(row.series)).sum())


@rows_of("chill_hours_0_7.2")
def test_chill_hours_0_7(row: Row):
    row.check(chill.chill_hours_0_7(series(row.series)).sum())


@rows_of("utah_C_limits")
def test_utah_by_the_table_in_celsius(row: Row):
    row.check(chill.utah(series(row.series)).sum())


@rows_of("utah_F_limits")
def test_utah_by_the_table_in_fahrenheit(row: Row):
    row.check(chill.utah(series(row.series), chill.UTAH_F).sum())


@rows_of("utah_C_limits vs utah_F_limits")
def test_the_two_utah_tables_disagree_where_they_should(row: Row):
    in_c, in_f = re.fullmatch(r"C:(\S+) F:(\S+)", row.expected).groups()
    c = series(row.series)
    found = chill.utah(c).sum(), chill.utah(c, chill.UTAH_F).sum()
    assert found == (float(in_c), float(in_f)), row.source


@rows_of("utah_positive_hourly")
def test_utah_positive_by_the_hour(row: Row):
    row.check(chill.utah_positive(series(row.series)).sum())


@rows_of("utah_positive_daily")
def test_utah_positive_by_the_day(row: Row):
    c = series(row.series)
    row.check(chill.utah_positive_daily(c, np.arange(c.size) // 24).sum())


@rows_of("gdh_richardson")
def test_growing_degree_hours_by_the_straight_line(row: Row):
    row.check(forcing.gdh_linear(series(row.series)).sum())


@rows_of("gdh_anderson")
def test_growing_degree_hours_by_the_curve(row: Row):
    row.check(forcing.gdh_curvilinear(series(row.series)).sum())


def _curve(a: float, b: float, r: float) -> RequirementCurve:
    return RequirementCurve("of the row", a, b, r, "the row", Evidence.PUBLISHED)


def _number(name: str, text: str) -> float:
    return float(re.search(rf"{name}=(-?[\d.]+)", text)[1])


@rows_of("Cannell & Smith 1983 required thermal time, Picea sitchensis")
def test_requirement_of_sitka_spruce(row: Row):
    curve = _curve(67.4, 4401.8, -0.042)
    row.check(float(curve.required(_number("chill days", row.series))))


@rows_of("required thermal time a+b*exp(r*C), a=0")
def test_requirement_of_species_that_ask_for_nothing_in_the_end(row: Row):
    curve = _curve(0.0, _number("b", row.series), _number(" r", row.series))
    row.check(float(curve.required(_number("chill days", row.series))))


@rows_of("Botta et al. 2000 leaf onset threshold")
def test_the_generic_requirement(row: Row):
    row.check(float(BOTTA.required(_number("chill days", row.series))))


DAY = re.compile(r"(\d\d-\d\d) (-?[\d.]+) (-?[\d.]+)")

EIGHT_DAYS = (
    "11-01 -1 9; 11-02 0 10.2; 11-03 0 10; 12-31 2 14; 01-01 2 14; 01-02 -4 3; "
    "01-15 1 11; 02-01 3 13"
)


def _means(text: str, since: str) -> np.ndarray:
    """Half-sums of minimum and maximum from a day of the winter on."""
    days = DAY.findall(text)
    first = [day for day, _, _ in days].index(since)
    return np.array([(float(low) + float(high)) / 2 for _, low, high in days[first:]])


@rows_of("thermal time >5 C, mean=(max+min)/2")
def test_thermal_time_of_eight_days(row: Row):
    assert EIGHT_DAYS in row.series
    since = "01-01" if row.series.endswith("1 Jan") else "02-01"
    row.check(forcing.thermal_time(_means(row.series, since))[-1])


@rows_of("chill days <=5 C from 1 Nov")
def test_chill_days_of_eight_days(row: Row):
    row.check(forcing.chill_days(_means(EIGHT_DAYS, "11-01"))[-1])


@rows_of("chill days <5 C (variant)")
def test_the_strict_variant_of_chill_days_is_another_count(row: Row):
    means = _means(EIGHT_DAYS, "11-01")
    row.check(chill.days_at_or_below(means, 4.999999).sum())
    assert forcing.chill_days(means)[-1] != row.value
