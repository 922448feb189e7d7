"""What may come: the other winters of the place a tree stands in."""

from datetime import UTC, date, datetime, timedelta

import numpy as np
import pytest

from tests import make
from tests.forecast.conftest import AT, HOURS
from wintering.forecast.findings import ahead_evidence
from wintering.forecast.queries import tree_outlook
from wintering.forecast.queries.futures import ahead_of, futures_of
from wintering.trees.services import see_buds

pytestmark = pytest.mark.django_db

UNTIL = date(2025, 3, 1)
AHEAD_H = int((datetime(2025, 3, 1, tzinfo=UTC) - AT) / timedelta(hours=1))


def log_winter(sensor, start_year, c, *, hours=304 * 24, first=None):
    start = first or datetime(start_year, 10, 1, tzinfo=UTC)
    make.hours(sensor, start, np.broadcast_to(np.asarray(c, float), (hours,)))


def test_each_other_winter_of_the_place_is_one_future(logged, stood):
    bench = logged()
    tree = stood()
    log_winter(bench.air, 2023, 5.0)
    log_winter(bench.air, 2021, 7.0)
    futures = futures_of(tree_outlook(tree, AT), until=UNTIL)
    assert [winter.name for winter in futures.winters] == ["2023/24", "2021/22"]
    assert futures.c.shape == (AHEAD_H, 2)
    assert np.all(futures.c == [5.0, 7.0])
    assert futures.filled_hours == (0, 0)
    assert "A1" in futures.words
    assert "2023/24, 2021/22" in futures.words


def test_the_hours_are_those_of_the_same_days_of_the_year(logged, stood):
    bench = logged()
    tree = stood()
    step = np.where(np.arange(304 * 24) < 24 * (31 + 30 + 31 + 31), 1.0, 9.0)
    log_winter(bench.air, 2023, step)
    futures = futures_of(tree_outlook(tree, AT), until=UNTIL)
    february = int((datetime(2025, 2, 1, tzinfo=UTC) - AT) / timedelta(hours=1))
    assert np.all(futures.c[:february] == 1.0)
    assert np.all(futures.c[february:] == 9.0)


def test_the_offset_of_the_place_is_added(logged, stood):
    bench = logged()
    part = bench.bench.modules.first().microclimate
    other = make.microclimate(frame=bench.frame, follows=part, offset_k=-1.5)
    tree = stood()
    log_winter(bench.air, 2023, 5.0)
    bench.bench.modules.update(microclimate=other)
    futures = futures_of(tree_outlook(tree, AT), until=UNTIL)
    assert np.all(futures.c == 3.5)


def test_a_winter_that_lacks_too_much_is_left_out_and_short_gaps_are_counted(
    logged, stood
):
    bench = logged()
    tree = stood()
    with_gap = np.full(304 * 24, 4.0)
    gap = (datetime(2024, 2, 1, tzinfo=UTC) - datetime(2023, 10, 1, tzinfo=UTC)).days
    with_gap[gap * 24 : gap * 24 + 48] = np.nan
    known = ~np.isnan(with_gap)
    first = datetime(2023, 10, 1, tzinfo=UTC)
    hours = np.flatnonzero(known)
    for block in np.split(hours, np.flatnonzero(np.diff(hours) > 1) + 1):
        start = first + timedelta(hours=int(block[0]))
        log_winter(bench.air, 2023, 4.0, hours=block.size, first=start)
    log_winter(bench.air, 2022, 4.0, hours=120 * 24)
    futures = futures_of(tree_outlook(tree, AT), until=UNTIL)
    assert [winter.name for winter in futures.winters] == ["2023/24"]
    assert futures.filled_hours == (48,)
    assert "48 missing hours filled by straight lines" in futures.words


def test_without_another_winter_nothing_is_said_to_come(logged, stood):
    logged()
    assert ahead_of(tree_outlook(stood(), AT)) is None


def test_a_tree_that_stands_nowhere_has_no_future(logged):
    logged()
    assert futures_of(tree_outlook(make.tree(), AT), until=UNTIL) is None


def test_chill_goes_on_from_what_is_there_and_budbreak_follows_warmth(logged, stood):
    bench = logged(air=3.0)
    tree = stood()
    spring = np.where(np.arange(304 * 24) < 24 * 182, 3.0, 12.0)
    log_winter(bench.air, 2023, spring)
    log_winter(bench.air, 2022, spring + 2)
    outlook = tree_outlook(tree, AT)
    ahead = ahead_of(outlook)
    assert np.all(ahead.chill[0] == outlook.chill.so_far.low)
    assert np.all(np.diff(ahead.chill, axis=0) >= 0)
    warning = ahead.budbreak.warning
    assert date(2025, 3, 25) < warning.points.p50 < date(2025, 5, 1)
    assert warning.earliest <= warning.points.p50 - timedelta(days=7)
    assert ahead.budbreak.members == 2


@pytest.mark.parametrize(
    ("winters", "told"),
    [
        (2, "Chill fulfilled, early, middle, late of the 2 × 5 cases"),
        (3, "Chill fulfilled in 10, 50, 90 % of the 3 × 5 cases"),
    ],
)
def test_a_share_of_the_cases_is_told_only_of_three_winters_and_more(
    logged, stood, winters, told
):
    bench = logged()
    tree = stood()
    for back in range(1, winters + 1):
        log_winter(bench.air, 2024 - back, 4.0 + back)
    told_of = [line.text for line in ahead_evidence(ahead_of(tree_outlook(tree, AT)))]
    assert f"{told} (winters gone through × needs within the range)" in told_of


def test_the_warmth_of_october_brings_no_budbreak_forward(logged, stood):
    """As for the index of waking: buds that are still hardening gain nothing by it."""
    air = np.full(HOURS, 3.0)
    air[: 31 * 24] = 11.0
    bench = logged(air=air)
    spring = np.where(np.arange(304 * 24) < 24 * 182, 3.0, 12.0)
    log_winter(bench.air, 2023, spring)
    by_october = ahead_of(tree_outlook(stood(), AT)).budbreak.warning
    fell = stood(leaf_fall_on=date(2024, 11, 1))
    by_leaf_fall = ahead_of(tree_outlook(fell, AT)).budbreak.warning
    assert by_october.points.p50 == by_leaf_fall.points.p50
    assert by_october.points.p50 > date(2025, 4, 1)


def test_budbreak_is_reckoned_with_the_curve_and_the_look_of_the_index(logged, stood):
    bench = logged(air=3.0)
    tree = stood()
    log_winter(bench.air, 2023, 6.5)
    see_buds(tree=tree, code=0, on=date(2025, 1, 18), by=make.keeper())
    outlook = tree_outlook(tree, AT)
    found = ahead_of(outlook).budbreak
    assert found.curve == outlook.wake.curve
    assert found.warning.earliest > date(2025, 1, 18)


def test_hours_that_are_missing_so_far_stay_a_range_in_what_is_to_come(logged, stood):
    bench = logged(air=3.0)
    log_winter(bench.air, 2023, 4.0)
    came_late = stood(since=date(2024, 10, 31))
    ahead = ahead_of(tree_outlook(came_late, AT))
    found = ahead.chill_by(date(2025, 3, 1))
    assert found.high - found.low == pytest.approx(30, abs=1)
