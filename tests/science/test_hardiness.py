from datetime import date

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from wintering.science.evidence import Evidence
from wintering.science.hardiness import (
    ROOT_CLASSES,
    RootClass,
    RootKill,
    RootLimits,
    WhereMeasured,
    root_class,
    root_risk,
    zone_lower_limit_c,
)
from wintering.science.series import Hourly

NAN = np.nan
ON = date(2026, 11, 25)
LONG_AGO = date(2022, 4, 1)


def _limits(own: RootClass | None = RootClass.RB, **known) -> RootLimits:
    return root_class(own, **{"on": ON, "last_root_work_on": LONG_AGO} | known)


# common practice of the trade: watch at kill + 4 K, act at kill + 2 K, for green tips
# 0 and -1.5 °C; the kill figures' sources stand in each row of ROOT_CLASSES
@pytest.mark.parametrize(
    ("name", "kill_c", "watch_c", "act_c"),
    [
        ("RA", -25.0, -21.0, -23.0),
        ("RB", -9.4, -5.4, -7.4),
        ("RC", -6.7, -2.7, -4.7),
        ("RD", -5.0, -1.0, -3.0),
        ("RE", -3.0, 0.0, -1.5),
    ],
)
def test_the_classes_and_their_limits(name, kill_c, watch_c, act_c):
    limits = ROOT_CLASSES[RootClass(name)]
    assert (limits.kill_c, limits.watch_c, limits.act_c) == (kill_c, watch_c, act_c)
    assert limits.source
    assert limits.meaning


@pytest.mark.parametrize("name", list(RootClass))
def test_a_class_is_no_better_evidenced_than_any_part_of_it(name):
    limits = ROOT_CLASSES[name]
    rests_on_practice = {"common practice", "second-hand", "rule'"}
    if any(words in limits.source for words in rests_on_practice):
        assert limits.evidence is Evidence.COMMON_PRACTICE


def test_green_tips_are_taken_to_die_a_little_before_the_first_that_were_measured():
    # Emerging leaves: -3.5 °C the mildest of seven trees (J. Ecology 2014).
    limits = ROOT_CLASSES[RootClass.RE]
    assert -3.5 < limits.kill_c <= -3.0
    assert limits.evidence is Evidence.COMMON_PRACTICE
    assert "-3.5" in limits.source


def test_a_tree_has_the_class_of_its_taxon():
    found = _limits(RootClass.RA)
    assert found.root_class is RootClass.RA
    assert found.because == "The taxon belongs to root class RA."
    assert found.where is WhereMeasured.ROOT_ZONE


def test_an_unknown_class_is_taken_as_rc_and_said_to_be_unknown():
    found = _limits(None)
    assert found.root_class is RootClass.RC
    assert "unknown" in found.because


@pytest.mark.parametrize(
    ("worked_on", "name"),
    [
        (date(2025, 11, 26), "RD"),
        (date(2025, 11, 25), "RB"),
        (date(2026, 4, 10), "RD"),
        (None, "RD"),
    ],
)
def test_root_work_within_twelve_months_overrides_hardiness(worked_on, name):
    assert _limits(last_root_work_on=worked_on).root_class == name


@pytest.mark.parametrize(
    ("young_c", "worked_on", "kill_c"),
    [
        (-3.9, None, -3.9),
        (-3.9, date(2026, 4, 10), -3.9),
        (-12.2, date(2026, 4, 10), -5.0),
        (-3.9, LONG_AGO, -9.4),
    ],
)
def test_young_roots_are_held_to_the_milder_of_class_and_figure(
    young_c, worked_on, kill_c
):
    young = RootKill(young_c, "a trial of young roots")
    found = _limits(last_root_work_on=worked_on, young_kill=young)
    assert found.kill_c == kill_c
    assert ("Young roots" in found.because) == (kill_c == young_c)


def test_root_work_on_a_leap_day_counts_for_a_whole_year():
    worked = date(2024, 2, 29)
    before = root_class(RootClass.RB, on=date(2025, 2, 28), last_root_work_on=worked)
    after = root_class(RootClass.RB, on=date(2025, 3, 1), last_root_work_on=worked)
    assert (before.root_class, after.root_class) == (RootClass.RD, RootClass.RB)


def test_unknown_root_work_is_said_to_be_unknown():
    assert "not known" in _limits(last_root_work_on=None).because
    assert "10 April 2026" in _limits(last_root_work_on=date(2026, 4, 10)).because


@pytest.mark.parametrize(
    ("bud_stage", "name"), [(None, "RB"), (0, "RB"), (6, "RB"), (7, "RE"), (97, "RB")]
)
def test_green_growth_sets_limits_for_the_air(bud_stage, name):
    found = _limits(bud_stage=bud_stage)
    assert found.root_class == name
    assert (found.where is WhereMeasured.AIR) == (name == "RE")


def test_green_growth_is_more_tender_than_fresh_root_work():
    found = _limits(last_root_work_on=None, bud_stage=9)
    assert found.root_class is RootClass.RE


def test_a_published_figure_of_the_taxon_replaces_its_class():
    # Acer palmatum 'Atropurpureum', 14 °F: Havis 1976, HortScience 11:385-386, recalled
    found = _limits(root_kill=RootKill(-10.0, "Havis 1976"))
    assert found.root_class is None
    assert (found.kill_c, found.watch_c, found.act_c) == (-10.0, -6.0, -8.0)
    assert (found.source, found.evidence) == ("Havis 1976", Evidence.PUBLISHED)


def test_fresh_root_work_overrides_a_published_figure_unless_that_is_warmer():
    assert (
        _limits(root_kill=RootKill(-10.0, "x"), last_root_work_on=None).root_class
        is RootClass.RD
    )
    # white root tips of boxwood, 20-25 °F: Dirr & Smith 1988
    tender = _limits(root_kill=RootKill(-3.9, "x"), last_root_work_on=None)
    assert (tender.root_class, tender.kill_c) == (None, -3.9)


RB = ROOT_CLASSES[RootClass.RB]


@pytest.mark.parametrize(
    ("c", "level"), [(-5.3, None), (-5.4, "watch"), (-7.3, "watch"), (-7.4, "act")]
)
def test_a_limit_that_is_reached_counts(c: float, level: str | None):
    assert root_risk(Hourly.measured(0, [3.0, c, 3.0]), RB).level == level


def test_a_risk_says_how_cold_it_was_and_when_and_for_how_long():
    found = root_risk(
        Hourly.measured(500, [-1.0, -5.4, NAN, -9.5, -7.4, -2.0, NAN]), RB
    )
    assert (found.lowest_c, found.lowest_hour, found.level) == (-9.5, 503, "act")
    assert (found.latest_c, found.latest_hour) == (-2.0, 505)
    assert found.latest_level is None
    assert (found.hours_at_watch, found.hours_at_act, found.hours_at_kill) == (3, 2, 1)
    assert found.missing_hours == 2


@pytest.mark.parametrize("c", [[], [NAN, NAN]])
def test_without_a_temperature_the_risk_is_not_known(c: list[float]):
    assert root_risk(Hourly.measured(0, c), RB) is None


ORDER = [None, "watch", "act"]
HOURS = st.lists(
    st.one_of(st.floats(-30, 10), st.just(NAN)), min_size=1, max_size=48
).filter(lambda c: not np.isnan(c).all())


@given(HOURS, st.floats(0, 20), st.sampled_from(RootClass))
def test_a_warmer_root_zone_is_never_at_a_worse_level(c, warmer_k, name):
    limits = ROOT_CLASSES[name]
    cold = root_risk(Hourly.measured(0, c), limits)
    warm = root_risk(Hourly.measured(0, np.array(c) + warmer_k), limits)
    assert ORDER.index(warm.level) <= ORDER.index(cold.level)
    assert ORDER.index(warm.latest_level) <= ORDER.index(cold.latest_level)
    assert warm.hours_at_watch <= cold.hours_at_watch
    assert warm.hours_at_act <= cold.hours_at_act


@given(HOURS, st.sampled_from(RootClass), st.booleans())
def test_a_more_cautious_class_is_never_at_a_milder_level(c, own, fresh):
    roots = Hourly.measured(0, c)
    ordinary = _limits(own)
    cautious = _limits(own, last_root_work_on=None if fresh else LONG_AGO)
    levels = [root_risk(roots, limits).level for limits in (ordinary, cautious)]
    assert ORDER.index(levels[0]) <= ORDER.index(levels[1])


def test_a_zone_without_its_half_is_the_colder_half():
    assert zone_lower_limit_c("4") == zone_lower_limit_c("4a")
    assert zone_lower_limit_c(" 5B ") == pytest.approx(-26.1, abs=0.05)


@pytest.mark.parametrize("zone", ["", "0a", "14a", "4c", "-4", "4ab", "H4"])
def test_what_is_no_zone_is_refused(zone: str):
    with pytest.raises(ValueError, match="they run from 1a to 13b"):
        zone_lower_limit_c(zone)
