"""What calendars were told: things move, are withdrawn, and never double."""

import threading
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

import pytest
from django.db import connection

from wintering.care.models import CalendarItem
from wintering.care.services.calendar import Audience, Item, item_of, publish

AT = datetime(2025, 1, 20, 12, tzinfo=UTC)
DAY, HOUR = timedelta(days=1), timedelta(hours=1)

CHECK = Item(
    key="watering:1:1",
    start=date(2025, 1, 21),
    end=date(2025, 1, 22),
    summary="Check moisture: Long Frame, 3 trees",
    description="N1-01f T-001",
    categories=("Watering",),
    audience=Audience.STAFF,
    location="Long Frame",
    remind_before=timedelta(hours=6),
    state={"trees": [1, 2, 3], "seen": 4},
)


def published(*items, at=AT):
    return {row.key: row for row in publish(items, at=at)}


@pytest.mark.django_db
class TestPublishing:
    def test_what_is_new_gets_a_row_of_its_own(self):
        row = published(CHECK)[CHECK.key]
        assert (row.sequence, row.changed_at, row.withdrawn_at) == (0, AT, None)
        assert item_of(row) == CHECK

    def test_instants_come_back_as_they_were(self):
        night = replace(CHECK, start=AT, end=AT + HOUR, kept_for=14 * DAY)
        assert item_of(published(night)[CHECK.key]) == night

    def test_the_same_again_changes_nothing(self):
        before = published(CHECK)[CHECK.key]
        after = published(CHECK, at=AT + HOUR)[CHECK.key]
        assert (after.pk, after.uid, after.sequence) == (before.pk, before.uid, 0)
        assert after.changed_at == AT

    @pytest.mark.parametrize(
        "change",
        [
            {"start": date(2025, 1, 20)},
            {"end": date(2025, 1, 24)},
            {"summary": "Done: Check moisture: Long Frame, 3 trees"},
            {"is_tentative": True},
        ],
    )
    def test_what_matters_to_programs_is_a_new_version_of_the_same(self, change):
        before = published(CHECK)[CHECK.key]
        after = published(replace(CHECK, **change), at=AT + HOUR)[CHECK.key]
        assert after.uid == before.uid
        assert (after.sequence, after.changed_at) == (1, AT + HOUR)

    @pytest.mark.parametrize(
        "change",
        [
            {"description": "N1-01b T-001"},
            {"location": "Pit"},
            {"categories": ("Alert",)},
            {"remind_before": None},
        ],
    )
    def test_any_visible_change_moves_the_time_of_change(self, change):
        published(CHECK)
        after = published(replace(CHECK, **change), at=AT + HOUR)[CHECK.key]
        assert (after.sequence, after.changed_at) == (0, AT + HOUR)

    def test_the_state_is_kept_without_being_a_change(self):
        published(CHECK)
        after = replace(CHECK, state={"trees": [1, 2, 3], "seen": 9})
        row = published(after, at=AT + HOUR)[CHECK.key]
        assert (row.sequence, row.changed_at) == (0, AT)
        assert row.content["state"]["seen"] == 9

    def test_two_changes_in_one_second_are_told_apart(self):
        published(CHECK)
        row = published(replace(CHECK, location="Pit"))[CHECK.key]
        assert row.changed_at == AT + timedelta(seconds=1)
        row = published(replace(CHECK, location="Yard"))[CHECK.key]
        assert row.changed_at == AT + timedelta(seconds=2)

    def test_it_takes_the_same_few_statements_for_many(
        self, django_assert_max_num_queries
    ):
        many = [replace(CHECK, key=f"watering:1:{n}") for n in range(60)]
        with django_assert_max_num_queries(12):
            publish(many, at=AT)


@pytest.mark.django_db
class TestWithdrawing:
    def test_what_is_no_longer_computed_is_cancelled_at_first(self):
        published(CHECK)
        row = published(at=AT + DAY)[CHECK.key]
        assert row.withdrawn_at == AT + DAY
        assert (row.sequence, row.changed_at) == (1, AT + DAY)
        assert item_of(row).summary == CHECK.summary

    def test_it_is_cancelled_once(self):
        published(CHECK)
        published(at=AT + DAY)
        row = published(at=AT + 2 * DAY)[CHECK.key]
        assert (row.sequence, row.withdrawn_at) == (1, AT + DAY)

    def test_it_is_dropped_when_nobody_is_shown_it_any_more(self):
        published(CHECK)
        published(at=AT + DAY)
        # 14 days cancelled, and two for readers in other zones.
        assert CHECK.key in published(at=AT + 17 * DAY)
        assert published(at=AT + 17 * DAY + HOUR) == {}

    def test_it_comes_back_as_itself_and_as_a_new_version(self):
        uid = published(CHECK)[CHECK.key].uid
        published(at=AT + DAY)
        row = published(CHECK, at=AT + 2 * DAY)[CHECK.key]
        assert (row.uid, row.sequence, row.withdrawn_at) == (uid, 2, None)

    def test_after_it_was_dropped_its_name_is_never_used_again(self):
        uid = published(CHECK)[CHECK.key].uid
        published(at=AT + DAY)
        published(at=AT + 30 * DAY)
        row = published(replace(CHECK, end=date(2025, 3, 1)), at=AT + 31 * DAY)
        assert row[CHECK.key].uid != uid

    def test_what_is_long_past_goes_without_being_cancelled(self):
        published(CHECK)
        at = AT + 65 * DAY
        assert published(CHECK, at=at) == {}

    def test_what_is_past_but_still_shown_is_cancelled_when_it_was_wrong(self):
        published(CHECK)
        assert published(at=AT + 30 * DAY)[CHECK.key].withdrawn_at == AT + 30 * DAY

    def test_what_can_only_have_been_a_mistake_leaves_at_once(self):
        published(CHECK, replace(CHECK, key="stay:1", leaves_at_once=True))
        assert set(published(CHECK, at=AT + HOUR)) == {CHECK.key}


@pytest.mark.parametrize(
    "change",
    [
        {"end": date(2025, 1, 21)},
        {"end": date(2025, 1, 20)},
        {"end": AT + 2 * DAY},
    ],
)
def test_an_item_must_end_after_it_starts_and_in_like_terms(change):
    with pytest.raises(ValueError, match="must end after it starts"):
        replace(CHECK, **change)


@pytest.mark.django_db(transaction=True)
def test_two_readers_at_once_publish_each_thing_once():
    items = [replace(CHECK, key=f"watering:1:{n}") for n in range(20)]
    moved = [replace(item, start=date(2025, 1, 20)) for item in items]
    publish(items[:10], at=AT)
    ready = threading.Barrier(2)
    failures = []

    def read():
        try:
            ready.wait()
            publish(moved, at=AT + HOUR)
        except Exception as failure:
            failures.append(failure)
        finally:
            connection.close()

    readers = [threading.Thread(target=read) for _ in range(2)]
    for reader in readers:
        reader.start()
    for reader in readers:
        reader.join()
    assert failures == []
    rows = CalendarItem.objects.all()
    assert len(rows) == len({row.uid for row in rows}) == 20
    first = {f"watering:1:{n}" for n in range(10)}
    assert {row.sequence for row in rows if row.key in first} == {1}
    assert {row.sequence for row in rows if row.key not in first} == {0}
