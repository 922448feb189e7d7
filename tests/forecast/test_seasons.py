"""Hardiness of a tree through its winter, and what warm afternoons change."""

from datetime import date

import numpy as np
import pytest

from tests import make
from tests.forecast.conftest import AT, HOURS, cold_taxon
from wintering.forecast.queries import tree_outlook
from wintering.forecast.queries.seasons import season_of
from wintering.stays.models import ConditionReport

pytestmark = pytest.mark.django_db


def hardy_taxon():
    taxon = cold_taxon()
    make.fact("zone_limit_temp", "-28.9", taxon=taxon, low=-28.9, high=-28.9, unit="°C")
    return taxon


def test_top_and_roots_are_told_apart_each_within_its_limit(logged, stood):
    logged(air=1.0)
    season = season_of(tree_outlook(stood(taxon=hardy_taxon()), AT))
    top, root = season.top.today, season.root.today
    assert -28.9 <= top.hardy_c <= top.mild_c
    assert -9.4 <= root.hardy_c <= root.mild_c
    assert top.hardy_c < root.hardy_c
    assert season.top.first == date(2024, 9, 1)


def test_recently_worked_roots_do_not_harden(logged, stood):
    logged(air=1.0)
    worked = stood(taxon=hardy_taxon(), root_work_on=date(2024, 4, 1))
    root = season_of(tree_outlook(worked, AT)).root.today
    assert root.hardy_c == -5.0
    assert "12 months" in root.because


def test_a_tree_that_came_in_weak_gets_a_margin(logged, stood):
    logged(air=1.0)
    tree = stood(taxon=hardy_taxon())
    sound = season_of(tree_outlook(tree, AT)).top.today.mild_c
    make.condition_report(tree=tree, vigour=ConditionReport.Vigour.WEAK)
    assert season_of(tree_outlook(tree, AT)).top.today.mild_c > sound


def test_without_a_limit_of_the_top_only_the_roots_are_told(logged, stood):
    logged(air=1.0)
    season = season_of(tree_outlook(stood(), AT))
    assert season.top is None
    assert season.root is not None


def test_roots_of_a_tender_tree_have_no_season(logged, stood):
    logged(air=6.0, root=6.0)
    taxon = make.taxon()
    make.fact("dormancy_class", "must stay frost-free", taxon=taxon)
    make.fact("zone_limit_temp", "-1.1", taxon=taxon, low=-1.1, high=-1.1, unit="°C")
    outlook = tree_outlook(stood(taxon=taxon), AT)
    season = season_of(outlook)
    assert outlook.root_limits.kill_c == 0.0
    assert season.root is None
    assert season.top is not None


def warm_afternoons(count):
    """Two hours above 12 °C on the last afternoons before the instant."""
    air = np.full(HOURS, 2.0)
    for back in range(1, count + 1):
        noon = HOURS - 24 * back + 1  # 13 h UTC is early afternoon in the frame
        air[noon : noon + 2] = 13.0
    return air


@pytest.mark.parametrize(("count", "raised"), [(1, False), (2, True)])
def test_two_warm_afternoons_after_the_chill_raise_the_watch_value(
    logged, stood, count, raised
):
    logged(air=warm_afternoons(count))
    limits = tree_outlook(stood(), AT).root_limits
    assert limits.watch_c == (-0.4 if raised else -5.4)
    assert limits.act_c == -7.4
    assert ("watch 5 K earlier" in limits.because) is raised


def test_a_raised_watch_value_never_lies_above_freezing(logged, stood):
    logged(air=warm_afternoons(3))
    tree = stood(root_work_on=date(2024, 4, 1))
    assert tree_outlook(tree, AT).root_limits.watch_c == 0.0
