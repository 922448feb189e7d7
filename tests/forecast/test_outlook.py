from datetime import UTC, date, datetime

import numpy as np
import pytest

from tests import make
from tests.forecast.conftest import AT, HOURS, START, cold_taxon
from wintering.forecast.queries import tree_outlook, tree_outlooks
from wintering.science.chill import totals
from wintering.science.dormancy import DormancyStage
from wintering.science.hardiness import RootClass
from wintering.science.series import Hourly
from wintering.stays.services import place_tree
from wintering.trees.models import Evidence
from wintering.trees.services import see_buds

pytestmark = pytest.mark.django_db


class TestRoots:
    def test_the_coldest_hour_of_the_last_day_is_held_against_the_class(
        self, logged, stood
    ):
        c = np.full(HOURS, 2.0)
        c[-5] = -7.6
        logged(root=c)
        outlook = tree_outlook(stood(), AT)
        # RB acts at -7.4 °C: the 15 °F rule and 2 K, common practice.
        assert outlook.roots.level == "act"
        assert outlook.roots.lowest_c == -7.6

    def test_a_night_before_yesterday_is_only_in_the_winters_figures(
        self, logged, stood
    ):
        c = np.full(HOURS, 2.0)
        c[-30] = -7.6
        logged(root=c)
        outlook = tree_outlook(stood(), AT)
        assert outlook.roots.level is None
        assert outlook.roots_winter.lowest_c == -7.6

    def test_without_a_probe_nothing_is_known_of_the_roots(self, long_bench, stood):
        tree = stood()
        long_bench.root.delete()
        assert tree_outlook(tree, AT).roots is None

    def test_the_offset_of_the_microclimate_is_added(self, logged, stood):
        bench = logged(root=-3.0)
        cold = make.microclimate(
            frame=bench.frame, follows=bench.root.microclimate, offset_k=-3.0
        )
        tree = stood()
        tree.placements.get().held.get().module.__class__.objects.update(
            microclimate=cold
        )
        assert tree_outlook(tree, AT).roots.lowest_c == -6.0

    def test_root_work_that_nobody_remembers_counts_as_this_year(self, logged, stood):
        logged()
        limits = tree_outlook(stood(root_work_on=None), AT).root_limits
        assert limits.root_class is RootClass.RD

    def test_a_taxon_without_a_class_is_taken_for_tender_and_says_so(
        self, logged, stood
    ):
        logged()
        limits = tree_outlook(stood(taxon=cold_taxon(root_class=None)), AT).root_limits
        assert limits.root_class is RootClass.RC
        assert "unknown" in limits.because

    def test_a_published_root_figure_stands_in_place_of_the_class(self, logged, stood):
        logged()
        taxon = cold_taxon()
        make.fact(
            "root_kill_temp",
            "-6.7",
            taxon=taxon,
            low=-6.7,
            high=-6.7,
            usable_as_limit=True,
            kind=Evidence.PUBLISHED,
            address="https://example.org/roots",
        )
        limits = tree_outlook(stood(taxon=taxon), AT).root_limits
        assert (limits.watch_c, limits.act_c) == (-2.7, -4.7)

    def test_the_keepers_own_root_figure_stands_before_all(self, logged, stood):
        logged()
        taxon = cold_taxon()
        own = {"low": -5.5, "kind": Evidence.OWN, "by": make.keeper()}
        make.fact("root_kill_temp", "-5.5", taxon=taxon, **own)
        limits = tree_outlook(stood(taxon=taxon), AT).root_limits
        assert (limits.kill_c, limits.evidence) == (-5.5, "the keeper's own")

    @pytest.mark.parametrize(
        "unfit",
        [
            {"usable_as_limit": False},
            {"address": ""},
            {"root_age": "immature"},
        ],
    )
    def test_a_root_figure_that_may_set_no_limit_changes_nothing(
        self, logged, stood, unfit
    ):
        logged()
        taxon = cold_taxon()
        good = {
            "low": -3.0,
            "high": -3.0,
            "usable_as_limit": True,
            "address": "https://example.org/roots",
        }
        make.fact("root_kill_temp", "-3", taxon=taxon, **{**good, **unfit})
        assert tree_outlook(stood(taxon=taxon), AT).root_limits.root_class == "RB"

    def test_green_tips_are_held_against_the_air(self, logged, stood):
        logged(air=-2.0)
        tree, keeper = stood(), make.keeper()
        assert tree_outlook(tree, AT).green is None
        see_buds(tree=tree, code=9, on=date(2025, 1, 19), by=keeper)
        outlook = tree_outlook(tree, AT)
        assert outlook.green_limits.root_class is RootClass.RE
        assert outlook.green.level == "act"


class TestChill:
    def test_a_tree_without_a_figure_is_held_to_the_general_one(self, logged, stood):
        logged(air=3.0)
        chill = tree_outlook(stood(), AT).chill
        assert "Rutgers NJAES FS528" in chill.requirement.source
        assert chill.so_far == (111, 111)
        assert chill.met == "likely"

    def test_a_tree_that_wants_no_cold_has_no_requirement(self, logged, stood):
        logged()
        taxon = make.taxon()
        make.fact("dormancy_class", "no dormancy", taxon=taxon)
        assert tree_outlook(stood(taxon=taxon), AT).chill is None

    def test_the_keepers_own_figure_is_used_in_its_own_unit(self, logged, stood):
        logged(air=6.0)
        taxon = cold_taxon()
        make.fact(
            "chilling_requirement",
            "40-60",
            taxon=taxon,
            low=40,
            high=60,
            unit="portions",
            kind=Evidence.OWN,
            by=make.keeper(),
        )
        chill = tree_outlook(stood(taxon=taxon), AT).chill
        whole_days = 111 * 24
        expected = totals(Hourly.measured(0, np.full(whole_days, 6.0))).portions
        assert chill.so_far.low == pytest.approx(expected)
        assert chill.requirement.unit == "portions"

    def test_a_unit_that_is_not_computed_here_is_not_used(self, logged, stood):
        logged()
        taxon = cold_taxon()
        make.fact(
            "chilling_requirement",
            "500",
            taxon=taxon,
            low=500,
            high=1100,
            unit="weighted_hours",
            usable_as_limit=True,
        )
        chill = tree_outlook(stood(taxon=taxon), AT).chill
        assert chill.requirement.unit == "cold_days"

    def test_leaf_fall_of_this_winter_starts_the_count(self, logged, stood):
        logged(air=3.0)
        outlook = tree_outlook(stood(leaf_fall_on=date(2024, 11, 10)), AT)
        assert outlook.chill_start == date(2024, 11, 10)
        assert outlook.chill.so_far.low == 71

    def test_leaf_fall_of_last_winter_does_not(self, logged, stood):
        logged(air=3.0)
        outlook = tree_outlook(stood(leaf_fall_on=date(2023, 11, 10)), AT)
        assert outlook.chill_start == date(2024, 10, 1)

    def test_days_before_the_tree_came_are_missing_not_zero(self, logged, stood):
        logged(air=3.0)
        chill = tree_outlook(stood(since=date(2024, 12, 1)), AT).chill
        assert chill.so_far == (50, 111)
        assert not chill.reliable

    def test_with_not_one_hour_measured_nothing_is_known(self, logged, stood):
        logged(air=3.0)
        outlook = tree_outlook(stood(since=date(2025, 1, 20)), AT)
        assert outlook.chill is None

    def test_a_moved_tree_has_one_series_over_both_places(self, logged, stood):
        bench = logged(air=np.linspace(9.0, 3.0, HOURS))
        tree, keeper = stood(), make.keeper()
        stays = tree_outlook(tree, AT).chill.so_far
        other = bench.bench.modules.filter(held=None).first()
        place_tree(tree=tree, modules=[other], on=date(2024, 12, 20), by=keeper)
        assert tree_outlook(tree, AT).chill.so_far == stays


class TestWaking:
    def test_a_cold_tree_is_far_from_waking(self, logged, stood):
        logged(air=3.0)
        outlook = tree_outlook(stood(), AT)
        assert outlook.wake.w == 0
        assert outlook.wake.level is None
        assert outlook.stage.name is DormancyStage.ECODORMANT

    def test_a_warm_frame_wakes_a_tree_whose_chill_is_met(self, logged, stood):
        air = np.full(HOURS, 3.0)
        air[-14 * 24 :] = 20.0
        logged(air=air)
        outlook = tree_outlook(stood(), AT)
        assert outlook.wake.level == "awake"
        assert outlook.stage.name is DormancyStage.WAKING

    def test_what_was_seen_outweighs_what_was_computed(self, logged, stood):
        logged(air=3.0)
        tree = stood()
        see_buds(tree=tree, code=3, on=date(2025, 1, 18), by=make.keeper())
        assert tree_outlook(tree, AT).stage.name is DormancyStage.WAKING


class TestHorizon:
    def test_readings_after_the_instant_play_no_part(self, logged, stood):
        logged()
        tree = stood()
        before = tree_outlook(tree, datetime(2025, 1, 10, 12, tzinfo=UTC))
        assert before.roots.latest_hour < before.at.timestamp() // 3600
        assert before.chill.so_far.low == 101

    def test_a_tree_that_stands_nowhere_has_no_figures(self, logged):
        logged()
        outlook = tree_outlook(make.tree(taxon=cold_taxon()), AT)
        assert outlook.place is None
        assert (outlook.roots, outlook.chill, outlook.wake) == (None, None, None)

    def test_many_trees_take_as_many_statements_as_one(
        self, logged, stood, django_assert_num_queries
    ):
        logged()
        one, more = stood(), [stood() for _ in range(5)]
        with django_assert_num_queries(12):
            tree_outlooks([one], AT)
        with django_assert_num_queries(12):
            tree_outlooks(more, AT)

    def test_the_fixture_reaches_the_instant(self):
        assert START.timestamp() / 3600 + HOURS == AT.timestamp() / 3600


class TestSeason:
    def test_roots_are_looked_at_before_the_chill_begins(self, logged, stood):
        logged(root=-6.0, hours=24 * 3)
        outlook = tree_outlook(
            stood(leaf_fall_on=None), datetime(2024, 10, 3, 6, tzinfo=UTC)
        )
        assert outlook.roots.lowest_c == -6.0

    @pytest.mark.parametrize(
        ("exit_on", "collected_on", "planned"),
        [
            (None, None, date(2025, 3, 1)),
            (date(2025, 4, 5), None, date(2025, 4, 5)),
            (date(2024, 4, 5), None, date(2025, 3, 1)),
            (date(2025, 7, 31), None, date(2025, 7, 31)),
            (date(2026, 4, 1), None, date(2025, 3, 1)),
            (date(2025, 4, 5), date(2025, 2, 10), date(2025, 2, 10)),
            (None, date(2025, 5, 17), date(2025, 3, 1)),
        ],
    )
    def test_the_planned_exit_is_the_frames_or_the_first_of_march_or_the_collection(
        self, logged, stood, exit_on, collected_on, planned
    ):
        frame = logged().frame
        frame.exit_on = exit_on
        frame.save()
        owner = make.client()
        tree = stood(owner=owner)
        make.stay(tree=tree, client=owner, planned_until=collected_on)
        assert tree_outlook(tree, AT).planned_exit == planned

    @pytest.mark.parametrize("leaf_fall_on", [None, date(2024, 6, 20)])
    @pytest.mark.parametrize(
        ("exit_on", "planned"),
        [
            (date(2025, 4, 5), date(2025, 4, 5)),
            (date(2026, 4, 1), date(2025, 3, 1)),
        ],
    )
    def test_the_exit_of_another_winter_is_not_that_of_this_one(
        self, logged, stood, exit_on, planned, leaf_fall_on
    ):
        frame = logged().frame
        frame.exit_on = exit_on
        frame.save()
        outlook = tree_outlook(stood(leaf_fall_on=leaf_fall_on), AT)
        assert outlook.planned_exit == planned
        assert outlook.early_until <= date(2025, 7, 31)

    def test_a_leaf_fall_that_lies_ahead_starts_nothing(self, logged, stood):
        logged()
        outlook = tree_outlook(stood(leaf_fall_on=date(2025, 2, 1)), AT)
        assert outlook.chill_start == date(2024, 10, 1)
