from datetime import UTC, date, datetime, timedelta

import pytest
from django.core.exceptions import ValidationError
from django.utils import timezone

from tests import make
from wintering.care.models import Observation, Round, Watering
from wintering.care.queries import (
    care_of,
    reasons_not_to_water,
    rounds_for,
    watering_due,
)
from wintering.care.services import Seen, record_check, record_round
from wintering.people.queries import events_about

pytestmark = pytest.mark.django_db

WALKED = datetime(2025, 1, 20, 15, tzinfo=UTC)
DAY = date(2025, 1, 20)


def bench_with(count):
    bench = make.bench()
    trees = [make.tree() for _ in range(count)]
    for tree, module in zip(trees, bench.modules.all(), strict=False):
        make.placement(tree=tree, modules=[module])
    return bench.frame, trees


class TestRounds:
    def test_exceptions_are_named_and_the_rest_is_one_word(self):
        frame, [dry, *others] = bench_with(3)
        record_round(
            frame=frame,
            at=WALKED,
            by=make.helper(),
            seen=[Seen(dry, "dry", was_watered=True)],
            is_rest_checked=True,
        )
        care = care_of([dry, *others])
        assert care[dry.pk].moisture == "dry"
        assert care[dry.pk].watered_at == WALKED
        assert {care[tree.pk].moisture for tree in others} == {
            "checked, nothing to note"
        }

    def test_a_tree_that_is_not_named_counts_as_not_checked(self):
        frame, [named, other] = bench_with(2)
        record_round(
            frame=frame, at=WALKED, by=make.keeper(), seen=[Seen(named, "moist")]
        )
        assert care_of([other])[other.pk].checked_at is None

    def test_could_not_check_is_kept_and_is_no_check(self):
        frame, [tree] = bench_with(1)
        record_round(
            frame=frame,
            at=WALKED,
            by=make.keeper(),
            seen=[Seen(tree, "not_checked", note="frozen to the bench")],
        )
        assert Observation.objects.get().note == "frozen to the bench"
        assert care_of([tree])[tree.pk].checked_at is None

    def test_buds_seen_on_a_round_are_written_down(self):
        frame, [tree] = bench_with(1)
        record_round(
            frame=frame,
            at=WALKED,
            by=make.keeper(),
            seen=[Seen(tree, "moist", bud_stage=3)],
        )
        assert tree.bud_stages.get().code == 3

    def test_an_impossible_bud_stage_refuses_the_whole_round(self):
        frame, [one, other] = bench_with(2)
        seen = [Seen(one, "moist"), Seen(other, "moist", bud_stage=120)]
        with pytest.raises(ValidationError, match="two digits"):
            record_round(frame=frame, at=WALKED, by=make.keeper(), seen=seen)
        assert not Round.objects.exists()
        assert not Observation.objects.exists()

    def test_a_round_is_not_written_down_before_it_was_walked(self):
        frame, _ = bench_with(1)
        ahead = timezone.now() + timedelta(hours=1)
        with pytest.raises(ValidationError, match="not before"):
            record_round(frame=frame, at=ahead, by=make.keeper(), seen=[])

    def test_a_client_records_nothing(self):
        with pytest.raises(ValidationError, match="work here"):
            record_check(
                seen=Seen(make.tree(), "dry"), at=WALKED, by=make.user(role="client")
            )

    def test_a_check_of_one_tree_leaves_its_mark(self):
        tree, helper = make.tree(), make.helper()
        record_check(seen=Seen(tree, "wet"), at=WALKED, by=helper)
        [event] = events_about(tree)
        assert (event.by, event.detail["moisture"]) == (helper, "wet")
        assert not Watering.objects.exists()

    def test_the_newest_check_counts_however_late_it_was_written_down(self):
        tree, keeper = make.tree(), make.keeper()
        record_check(seen=Seen(tree, "dry"), at=WALKED, by=keeper)
        record_check(seen=Seen(tree, "wet"), at=WALKED - timedelta(days=3), by=keeper)
        assert care_of([tree])[tree.pk].moisture == "dry"

    def test_a_client_sees_no_rounds(self):
        make.round()
        assert not rounds_for(make.user(role="client"))
        assert rounds_for(make.helper()).count() == 1


class TestDue:
    def test_in_january_a_pot_is_due_a_week_after_its_last_check(self):
        frame, [tree] = bench_with(1)
        make.observation(tree=tree, at=WALKED)
        [due] = watering_due([frame], DAY)
        # Weekly from December to February: common practice.
        assert due.due_on == date(2025, 1, 27)
        assert (due.number, due.is_overdue) == (tree.number, False)
        assert "once a week" in due.reason

    def test_a_pot_that_was_never_checked_is_due_now(self):
        frame, _ = bench_with(1)
        assert watering_due([frame], DAY)[0].due_on == DAY

    def test_a_missed_check_is_overdue(self):
        frame, [tree] = bench_with(1)
        make.observation(tree=tree, at=WALKED - timedelta(days=9))
        assert watering_due([frame], DAY)[0].is_overdue

    def test_the_soonest_comes_first(self):
        frame, [later, sooner] = bench_with(2)
        make.observation(tree=later, at=WALKED)
        make.observation(tree=sooner, at=WALKED - timedelta(days=2))
        assert [due.number for due in watering_due([frame], DAY)] == [
            sooner.number,
            later.number,
        ]

    def test_the_day_of_a_check_is_the_frames_own(self):
        bench = make.bench(frame=make.frame(time_zone="America/New_York"))
        tree = make.tree()
        make.placement(tree=tree, modules=[bench.modules.first()])
        make.observation(tree=tree, at=datetime(2025, 1, 20, 3, tzinfo=UTC))
        [due] = watering_due([bench.frame], DAY)
        assert due.last_check_on == date(2025, 1, 19)

    def test_many_trees_take_as_many_statements_as_one(self, django_assert_num_queries):
        for count in (1, 6):
            frame, _ = bench_with(count)
            with django_assert_num_queries(5):
                assert len(watering_due([frame], DAY)) == count


class TestWhetherToWater:
    def logged(self, root, air):
        _, [tree] = bench_with(1)
        part = tree.placements.get().modules.get().microclimate
        since = WALKED - timedelta(hours=30)
        for place, c in (("root", root), ("air", air)):
            sensor = make.sensor(microclimate=part, place=place)
            make.hours(sensor, since, [c] * 31)
        return tree, reasons_not_to_water([tree], WALKED)[tree.pk]

    def test_a_mild_moist_day_forbids_nothing(self):
        assert self.logged(root=3.0, air=5.0)[1] == []

    def test_a_ball_that_may_be_frozen_is_not_watered(self):
        assert "may be frozen" in self.logged(root=0.1, air=5.0)[1][0]

    def test_what_is_not_known_is_a_reason_to_look(self):
        _, [tree] = bench_with(1)
        reasons = reasons_not_to_water([tree], WALKED)[tree.pk]
        assert any("feel the root ball" in reason for reason in reasons)
