from datetime import date, timedelta

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from wintering.science.series import Hourly
from wintering.science.water import (
    check_interval,
    in_zero_curtain,
    next_check,
    why_not_water,
)

NAN = np.nan


# common practice: October and November every 3 to 4 days, December to February weekly,
# March every 3 days, April daily; the months after that are the project's own choice
@pytest.mark.parametrize(
    ("last", "earliest", "latest"),
    [
        (date(2026, 10, 10), 3, 4),
        (date(2026, 11, 20), 3, 4),
        (date(2026, 12, 10), 7, 7),
        (date(2027, 2, 10), 7, 7),
        (date(2027, 3, 10), 3, 3),
        (date(2027, 4, 10), 1, 1),
        (date(2027, 7, 10), 1, 1),
    ],
)
def test_a_pot_is_checked_at_the_interval_of_the_season(last, earliest, latest):
    found = next_check(last, on=last)
    assert (found.earliest - last).days == earliest
    assert (found.latest - last).days == latest
    assert check_interval(last).because == found.because


@pytest.mark.parametrize(
    ("last", "earliest", "latest"),
    [
        # weekly in February, every 3 days in March: due by the closer rounds
        (date(2027, 2, 26), date(2027, 3, 1), date(2027, 3, 1)),
        (date(2027, 2, 27), date(2027, 3, 2), date(2027, 3, 2)),
        # every 3 to 4 days in November, weekly in December
        (date(2026, 11, 28), date(2026, 12, 5), date(2026, 12, 5)),
        (date(2026, 11, 27), date(2026, 11, 30), date(2026, 12, 4)),
    ],
)
def test_a_new_season_moves_the_check(last, earliest, latest):
    found = next_check(last, on=last)
    assert (found.earliest, found.latest) == (earliest, latest)


def test_a_check_is_overdue_after_its_latest_day():
    last = date(2026, 11, 20)
    assert not next_check(last, on=date(2026, 11, 24)).overdue
    assert next_check(last, on=date(2026, 11, 25)).overdue


def test_a_pot_never_checked_is_due_now():
    on = date(2026, 11, 25)
    found = next_check(None, on=on)
    assert (found.earliest, found.latest, found.overdue) == (on, on, False)
    assert found.because == "No check has been recorded yet."


@given(st.dates(date(2020, 1, 1), date(2030, 1, 1)))
def test_a_later_check_is_never_due_earlier(last: date):
    found = next_check(last, on=last)
    then = next_check(last + timedelta(days=1), on=last)
    assert last < found.earliest <= found.latest <= last + timedelta(days=7)
    assert then.earliest >= found.earliest
    assert then.latest >= found.latest


def test_nothing_forbids_water_on_a_mild_morning():
    assert why_not_water(2.5, 4.0, False) == []
    assert why_not_water(0.31, 2.0, False, forecast_low_c=-2.0, water_c=2.0) == []
    assert why_not_water(None, 4.0, False, air_mean_24h_c=0.1) == []


@pytest.mark.parametrize(
    ("known", "reason"),
    [
        ({"root_c_now": 0.3}, "may be frozen"),
        ({"zero_curtain": True}, "freezing or frozen"),
        ({"air_c_now": 1.9}, "wait until it is above 2 °C"),
        ({"air_c_now": None}, "air in the frame is not known"),
        ({"forecast_low_c": -2.1}, "expected to fall to -2.1 °C"),
        ({"water_c": 1.9}, "use water of at least 2 °C"),
        ({"root_c_now": None, "air_mean_24h_c": 0.0}, "no probe in the pot"),
        ({"root_c_now": None}, "root zone is not known"),
    ],
)
def test_each_reason_alone_forbids_water(known, reason):
    mild = {"root_c_now": 2.5, "air_c_now": 4.0, "zero_curtain": False}
    (said,) = why_not_water(**mild | known)
    assert reason in said
    assert said.endswith(".")


def test_several_reasons_are_all_said():
    assert len(why_not_water(-1.0, -3.0, False, forecast_low_c=-9.0, water_c=0.5)) == 4


@pytest.mark.parametrize(
    ("root", "air", "held"),
    [
        ([0.1, -0.1, 0.0], [-4.0, -3.0, -0.1], True),
        ([5.0, 0.1, -0.1, 0.0], [-4.0, -4.0, -3.0, -0.1], True),
        ([0.1, -0.1, 0.3], [-4.0, -3.0, -3.0], False),
        ([0.1, -0.1, 0.0], [-4.0, -3.0, 0.0], False),
        ([0.1, NAN, 0.0], [-4.0, -3.0, -3.0], False),
        ([0.1, 0.0], [-4.0, -3.0], False),
        ([], [], False),
    ],
)
def test_a_root_ball_held_at_zero_in_frost_is_freezing(root, air, held):
    found = in_zero_curtain(Hourly.measured(9, root), Hourly.measured(9, air))
    assert found is held


def test_hours_are_compared_where_both_are_known():
    root = Hourly.measured(0, [0.0, 0.0, 0.0, 5.0])
    air = Hourly.measured(0, [-2.0, -2.0, -2.0])
    assert in_zero_curtain(root, air)
