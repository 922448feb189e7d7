from datetime import date
from threading import Barrier, Thread

import pytest
from django.core.exceptions import ValidationError
from django.db import IntegrityError, connection, transaction

from tests import make
from wintering.people.queries import events_about
from wintering.stays.models import HeldModule, Placement, Stay
from wintering.stays.queries import (
    frame_plan,
    places_on,
    stays_for,
    trees_in_care,
    trees_in_frame,
)
from wintering.stays.services import (
    check_in_tree,
    check_out_tree,
    confirm_stay,
    lift_tree,
    place_tree,
    receive_tree,
)
from wintering.trees.models import Photo, Tree

ARRIVED, IN, MOVED, LEFT = (
    date(2024, 10, 5),
    date(2024, 11, 17),
    date(2024, 12, 3),
    date(2025, 5, 17),
)
SOUND = {"grade": "sound", "vigour": "normal", "pests": "none_found"}

pytestmark = pytest.mark.django_db


def received(by, client=None, **stay):
    return receive_tree(
        client=client or make.client(),
        on=ARRIVED,
        by=by,
        tree={"taxon": make.taxon("Acer palmatum"), "height_cm": 45, "weight_kg": 7},
        pot={"width_cm": 30, "depth_cm": 22},
        stay=stay,
        condition=SOUND,
    )


class TestCheckIn:
    def test_a_new_tree_gets_a_number_a_stay_and_a_condition_report(self):
        keeper = make.keeper()
        stay = received(keeper, planned_until=LEFT, declared_tree_value=420)
        assert stay.tree.number == "T-001"
        assert stay.winter == 2024
        assert stay.condition_reports.get().grade == "sound"
        verbs = [event.verb for event in events_about(stay.tree)]
        assert verbs == ["checked in", "examined", "entered"]

    def test_a_refused_photo_refuses_everything(self):
        with (
            pytest.raises(ValidationError, match="not a picture"),
            transaction.atomic(),
        ):
            receive_tree(
                client=make.client(),
                on=ARRIVED,
                by=make.keeper(),
                tree={"taxon": make.taxon(), "height_cm": 45},
                pot={"width_cm": 30, "depth_cm": 22},
                stay={},
                condition=SOUND,
                photo=__import__("io").BytesIO(b"no picture"),
            )
        assert not Tree.objects.exists()
        assert not Photo.objects.exists()

    def test_a_tree_in_care_is_not_checked_in_again(self):
        keeper = make.keeper()
        stay = received(keeper)
        with pytest.raises(ValidationError, match="already in care"):
            check_in_tree(
                tree=stay.tree, client=stay.client, on=IN, by=keeper, condition=SOUND
            )

    def test_somebody_elses_tree_is_refused(self):
        with pytest.raises(ValidationError, match="does not belong to"):
            check_in_tree(
                tree=make.tree(owner=make.client()),
                client=make.client(),
                on=ARRIVED,
                by=make.keeper(),
                condition=SOUND,
            )

    def test_a_returned_tree_comes_back_next_winter_under_its_number(self):
        keeper = make.keeper()
        stay = received(keeper)
        check_out_tree(stay=stay, on=LEFT, by=keeper, condition=SOUND)
        again = check_in_tree(
            tree=stay.tree,
            client=stay.client,
            on=date(2025, 10, 4),
            by=keeper,
            condition=SOUND,
        )
        assert (again.winter, again.tree.number) == (2025, "T-001")

    def test_a_helpers_check_in_is_a_draft_until_a_keeper_confirms(self):
        stay = received(make.helper())
        assert stay.confirmed_at is None
        keeper = make.keeper()
        assert confirm_stay(stay=stay, by=keeper).confirmed_by == keeper

    def test_a_helper_does_not_confirm(self):
        helper = make.helper()
        with pytest.raises(ValidationError, match="Only a keeper"):
            confirm_stay(stay=received(helper), by=helper)

    def test_a_check_in_is_confirmed_once(self):
        stay, keeper = received(make.helper()), make.keeper()
        confirm_stay(stay=stay, by=keeper)
        with pytest.raises(ValidationError, match="confirmed or over"):
            confirm_stay(stay=stay, by=make.keeper())
        stay.refresh_from_db()
        assert stay.confirmed_by == keeper

    def test_a_check_in_before_a_later_stay_is_refused(self):
        keeper = make.keeper()
        stay = received(keeper)
        check_out_tree(stay=stay, on=LEFT, by=keeper, condition=SOUND)
        with pytest.raises(ValidationError, match="already in care"):
            check_in_tree(
                tree=stay.tree, client=stay.client, on=IN, by=keeper, condition=SOUND
            )

    def test_a_client_checks_nothing_in(self):
        with pytest.raises(ValidationError, match="work here"):
            received(make.user(role="client"))

    def test_a_collection_before_the_arrival_is_refused(self):
        with pytest.raises(ValidationError, match="before the check-in"):
            received(make.keeper(), planned_until=date(2024, 9, 1))

    def test_a_declared_value_is_not_negative(self):
        with pytest.raises(ValidationError, match="below zero"):
            received(make.keeper(), declared_tree_value=-1)


class TestTheDatabaseItself:
    def test_a_stay_ends_after_it_starts(self):
        stay = make.stay()
        with pytest.raises(IntegrityError), transaction.atomic():
            Stay.objects.filter(pk=stay.pk).update(until=stay.since)

    def test_one_open_stay_per_tree_and_winter(self):
        stay = make.stay()
        with pytest.raises(IntegrityError), transaction.atomic():
            Stay(
                tree=stay.tree, client=stay.client, winter=stay.winter, since=IN
            ).save()

    def test_one_module_never_holds_two_trees(self):
        module = make.bench().modules.first()
        make.placement(modules=[module])
        other = Placement.objects.create(tree=make.tree(), since=IN)
        with pytest.raises(IntegrityError), transaction.atomic():
            HeldModule(placement=other, module=module).save()

    def test_a_tree_has_one_open_place(self):
        placement = make.placement()
        with pytest.raises(IntegrityError), transaction.atomic():
            Placement(tree=placement.tree, since=MOVED).save()


class TestPlacing:
    def test_a_tree_is_placed_with_its_reason(self):
        tree, module = make.tree(), make.bench().modules.first()
        place_tree(
            tree=tree, modules=[module], on=IN, by=make.keeper(), reason="Wakes first."
        )
        place = places_on([tree], IN)[tree.pk]
        assert (place.label, place.reason) == (module.label, "Wakes first.")

    def test_a_taken_place_is_refused_with_the_number_that_holds_it(self):
        module, keeper = make.bench().modules.first(), make.keeper()
        place_tree(tree=make.tree(), modules=[module], on=IN, by=keeper)
        with pytest.raises(ValidationError, match="already holds T-001"):
            place_tree(tree=make.tree(), modules=[module], on=MOVED, by=keeper)
        assert HeldModule.objects.count() == 1

    def test_moving_frees_the_old_place_and_keeps_the_history(self):
        bench, tree, keeper = make.bench(), make.tree(), make.keeper()
        first, second = bench.modules.all()[:2]
        place_tree(tree=tree, modules=[first], on=IN, by=keeper)
        place_tree(tree=tree, modules=[second], on=MOVED, by=keeper)
        assert places_on([tree], date(2024, 12, 2))[tree.pk].label == first.label
        assert places_on([tree], MOVED)[tree.pk].label == second.label
        place_tree(tree=make.tree(), modules=[first], on=MOVED, by=keeper)

    def test_a_tree_moved_twice_on_one_day_stands_where_it_came_last(self):
        bench, tree, keeper = make.bench(), make.tree(), make.keeper()
        for module in bench.modules.all()[:2]:
            place_tree(tree=tree, modules=[module], on=IN, by=keeper)
        assert places_on([tree], IN)[tree.pk].label == bench.modules.all()[1].label

    def test_a_place_is_not_taken_back_in_time(self):
        module, keeper = make.bench().modules.first(), make.keeper()
        tree = make.tree()
        place_tree(tree=tree, modules=[module], on=IN, by=keeper)
        lift_tree(tree=tree, on=MOVED, by=keeper)
        with pytest.raises(ValidationError, match="holds T-001 until 2024-12-03"):
            place_tree(tree=make.tree(), modules=[module], on=IN, by=keeper)

    def test_a_move_before_the_last_one_is_refused(self):
        bench, tree, keeper = make.bench(), make.tree(), make.keeper()
        first, second = bench.modules.all()[:2]
        place_tree(tree=tree, modules=[first], on=MOVED, by=keeper)
        with pytest.raises(ValidationError, match="before it came there"):
            place_tree(tree=tree, modules=[second], on=IN, by=keeper)
        assert tree.placements.get().until is None

    def test_a_tree_that_is_not_in_care_is_refused(self):
        tree = make.tree(owner=make.client())
        with pytest.raises(ValidationError, match="check it in first"):
            place_tree(
                tree=tree,
                modules=[make.bench().modules.first()],
                on=IN,
                by=make.keeper(),
            )

    def test_a_tree_that_was_handed_back_is_not_placed_in_the_past(self):
        keeper = make.keeper()
        stay = received(keeper)
        check_out_tree(stay=stay, on=LEFT, by=keeper, condition=SOUND)
        module = make.bench().modules.first()
        with pytest.raises(ValidationError, match="handed back"):
            place_tree(tree=stay.tree, modules=[module], on=IN, by=keeper)

    def test_a_tree_is_never_in_two_places_on_one_day(self):
        bench, tree, keeper = make.bench(), make.tree(), make.keeper()
        first, second = bench.modules.all()[:2]
        place_tree(tree=tree, modules=[first], on=IN, by=keeper)
        lift_tree(tree=tree, on=MOVED, by=keeper)
        with pytest.raises(ValidationError, match="stood elsewhere until 2024-12-03"):
            place_tree(tree=tree, modules=[second], on=IN, by=keeper)

    def test_a_tree_may_take_two_modules(self):
        bench = make.bench(columns=2, rows=1)
        tree = make.tree(canopy_width_cm=66, canopy_depth_cm=44)
        place_tree(
            tree=tree, modules=list(bench.modules.all()), on=IN, by=make.keeper()
        )
        assert len(places_on([tree], IN)[tree.pk].labels) == 2

    def test_nowhere_is_no_place(self):
        with pytest.raises(ValidationError, match="Choose a place"):
            place_tree(tree=make.tree(), modules=[], on=IN, by=make.keeper())


class TestCheckOut:
    def test_handing_back_ends_custody_and_frees_the_place(self):
        keeper = make.keeper()
        stay = received(keeper)
        module = make.bench().modules.first()
        place_tree(tree=stay.tree, modules=[module], on=IN, by=keeper)
        check_out_tree(stay=stay, on=LEFT, by=keeper, condition=SOUND)
        assert stay.tree not in trees_in_care(LEFT)
        assert not HeldModule.objects.filter(until=None).exists()

    def test_handing_back_twice_is_refused(self):
        keeper = make.keeper()
        stay = received(keeper)
        check_out_tree(stay=stay, on=LEFT, by=keeper, condition=SOUND)
        with pytest.raises(ValidationError, match="was handed back on 2025-05-17"):
            check_out_tree(stay=stay, on=LEFT, by=keeper, condition=SOUND)

    def test_handing_back_on_the_day_of_arrival_is_refused_whole(self):
        keeper = make.keeper()
        stay = received(keeper)
        with pytest.raises(ValidationError, match="after its check-in"):
            check_out_tree(stay=stay, on=ARRIVED, by=keeper, condition=SOUND)
        assert Stay.objects.get().until is None

    def test_a_helper_hands_nothing_back(self):
        stay = received(make.keeper())
        with pytest.raises(ValidationError, match="Only a keeper"):
            check_out_tree(stay=stay, on=LEFT, by=make.helper(), condition=SOUND)


class TestQueries:
    def test_in_care_are_own_trees_and_stays_of_the_day(self):
        own, stay = make.tree(), make.stay(since=ARRIVED, until=LEFT)
        make.tree(owner=make.client())
        assert set(trees_in_care(ARRIVED)) == {own, stay.tree}
        assert set(trees_in_care(LEFT)) == {own}
        assert set(trees_in_care(date(2024, 10, 4))) == {own}

    def test_in_a_frame_are_those_that_stand_in_it_on_the_day(self):
        bench = make.bench()
        placement = make.placement(
            modules=[bench.modules.first()], since=IN, until=MOVED
        )
        make.placement()
        assert list(trees_in_frame(bench.frame, IN)) == [placement.tree]
        assert not trees_in_frame(bench.frame, MOVED)

    def test_a_client_sees_only_their_own_stays(self):
        person = make.user(role="client")
        own = make.stay(client=make.client(user=person))
        make.stay()
        assert list(stays_for(person)) == [own]

    def test_a_plan_draws_each_tree_in_the_middle_of_its_modules(self):
        bench = make.bench(x_cm=90, y_cm=150, rows=1)
        tree = make.tree(canopy_width_cm=35, canopy_depth_cm=25)
        make.placement(tree=tree, modules=[bench.modules.all()[1]], since=IN)
        [drawn] = frame_plan(bench.frame, IN).trees
        assert (drawn.x_cm, drawn.y_cm) == (140, 160)
        assert (drawn.width_cm, drawn.depth_cm) == (35, 25)

    def test_a_plan_takes_as_many_statements_for_many_trees_as_for_one(
        self, django_assert_max_num_queries
    ):
        bench = make.bench()
        for module in bench.modules.all():
            make.placement(modules=[module], since=IN)
        with django_assert_max_num_queries(8):
            plan = frame_plan(bench.frame, IN)
        assert len(plan.trees) == 12

    def test_levels_come_from_the_floor_up(self):
        frame = make.frame()
        make.bench(frame=frame, level="bench", height_cm=75)
        make.bench(frame=frame, level="floor", height_cm=0)
        assert [level.name for level in frame_plan(frame, IN).levels] == [
            "floor",
            "bench",
        ]


@pytest.mark.django_db(transaction=True)
def test_of_two_keepers_after_one_place_one_wins_and_the_other_is_told():
    module, keeper = make.bench().modules.first(), make.keeper()
    trees, start, told = [make.tree(), make.tree()], Barrier(2), []

    def place(tree):
        start.wait()
        try:
            place_tree(tree=tree, modules=[module], on=IN, by=keeper)
        except ValidationError as refusal:
            told.extend(refusal.messages)
        finally:
            connection.close()

    threads = [Thread(target=place, args=[tree]) for tree in trees]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert HeldModule.objects.filter(until=None).count() == 1
    assert len(told) == 1
    assert Placement.objects.count() == 1
