from datetime import date

import pytest

from wintering.science.winter import Winter


@pytest.mark.parametrize(
    ("day", "name"),
    [
        (date(2026, 7, 31), "2025/26"),
        (date(2026, 8, 1), "2026/27"),
        (date(2026, 12, 31), "2026/27"),
        (date(2027, 1, 1), "2026/27"),
        (date(2027, 7, 31), "2026/27"),
        (date(1999, 11, 1), "1999/00"),
    ],
)
def test_a_day_belongs_to_the_winter_named_by_both_years(day: date, name: str):
    assert Winter.of(day).name == name
    assert Winter.parse(name) == Winter.of(day)


def test_a_winter_runs_from_august_to_july():
    winter = Winter(2026)
    assert (winter.first_day, winter.last_day) == (date(2026, 8, 1), date(2027, 7, 31))
    assert Winter.of(winter.first_day) == Winter.of(winter.last_day) == winter


def test_chill_starts_in_october_and_is_wanted_by_march():
    winter = Winter(2026)
    assert winter.chill_start == date(2026, 10, 1)
    assert winter.default_exit == date(2027, 3, 1)


def test_winters_are_in_order_and_print_as_their_name():
    assert sorted([Winter(2027), Winter(2025)]) == [Winter(2025), Winter(2027)]
    assert str(Winter(2026)) == "2026/27"


@pytest.mark.parametrize(
    "name", ["", "2026", "2026/28", "2026/2027", "26/27", "2026-27", "٢٠٢٦/27"]
)
def test_anything_else_is_refused_with_an_example(name: str):
    with pytest.raises(ValueError, match=r"write both years, such as 2026/27\."):
        Winter.parse(name)
