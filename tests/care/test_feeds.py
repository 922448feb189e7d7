"""Calendar subscriptions: one open per person, of the secret only its hash."""

import hashlib
from datetime import date, timedelta

import pytest
from django.core.exceptions import ValidationError

from tests import make
from wintering.care.models import FeedToken
from wintering.care.services.feeds import (
    ensure_feed,
    feed_of_secret,
    note_served,
    open_feed,
    reminders_switched_at,
    revoke_feed,
    rotate_feed,
    switch_reminders,
)
from wintering.people.queries import events_about

pytestmark = pytest.mark.django_db


def test_only_the_hash_of_the_secret_is_kept():
    keeper = make.keeper()
    feed, secret = open_feed(user=keeper, by=keeper)
    assert len(secret) == 43
    assert feed.token_hash == hashlib.sha256(secret.encode()).hexdigest()
    told = [str(event.detail) + event.verb for event in events_about(feed)]
    stored = "".join(map(str, FeedToken.objects.values_list().get())) + "".join(told)
    assert secret not in stored


def test_the_secret_is_told_once():
    keeper = make.keeper()
    feed, _ = open_feed(user=keeper, by=keeper)
    assert open_feed(user=keeper, by=keeper) == (feed, None)


def test_a_subscription_made_without_a_link_gets_one_when_it_is_asked_for():
    keeper = make.keeper()
    feed = ensure_feed(user=keeper, by=keeper)
    assert feed.token_hash is None
    same, secret = open_feed(user=keeper, by=keeper)
    assert same == feed
    assert feed_of_secret(secret) == feed


def test_a_new_link_stops_the_old_one():
    keeper = make.keeper()
    feed, old = open_feed(user=keeper, by=keeper)
    new = rotate_feed(feed=feed, by=keeper)
    assert feed_of_secret(old) is None
    assert feed_of_secret(new) == feed


def test_a_revoked_link_opens_nothing_and_a_later_one_is_another():
    keeper = make.keeper()
    feed, secret = open_feed(user=keeper, by=keeper)
    revoke_feed(feed=feed, by=keeper)
    assert feed_of_secret(secret) is None
    later, other = open_feed(user=keeper, by=keeper)
    assert later != feed
    assert feed_of_secret(other) == later
    with pytest.raises(ValidationError, match="was revoked"):
        rotate_feed(feed=feed, by=keeper)


def test_a_person_who_left_is_shown_nothing():
    helper = make.helper()
    _, secret = open_feed(user=helper, by=helper)
    helper.is_active = False
    helper.save()
    assert feed_of_secret(secret) is None


def test_others_are_managed_by_keepers_alone():
    owner = make.user("client")
    feed, _ = open_feed(user=owner, by=make.keeper())
    for act in (
        lambda by: open_feed(user=owner, by=by),
        lambda by: rotate_feed(feed=feed, by=by),
        lambda by: revoke_feed(feed=feed, by=by),
        lambda by: switch_reminders(feed=feed, on=True, by=by),
    ):
        with pytest.raises(ValidationError, match="Only a keeper manages"):
            act(make.helper())


@pytest.mark.parametrize(
    ("role", "expected"), [("keeper", True), ("helper", True), ("client", False)]
)
def test_reminders_are_at_first_for_those_who_work_here(role, expected):
    user = make.user(role)
    assert ensure_feed(user=user, by=user).has_reminders is expected


def test_switching_reminders_is_remembered_with_its_time():
    keeper = make.keeper()
    feed = ensure_feed(user=keeper, by=keeper)
    assert reminders_switched_at(feed) is None
    switch_reminders(feed=feed, on=True, by=keeper)
    assert reminders_switched_at(feed) is None
    switch_reminders(feed=feed, on=False, by=keeper)
    assert reminders_switched_at(feed) == events_about(feed)[0].at


def test_what_was_served_keeps_its_time_until_it_changes():
    feed = make.feed_token()
    first = note_served(feed=feed, digest="a", at=make.NOON, on=make.DAY)
    later = make.NOON + timedelta(hours=3)
    assert note_served(feed=feed, digest="a", at=later, on=make.DAY) == first
    assert note_served(feed=feed, digest="b", at=later, on=date(2025, 1, 21)) == later
    feed.refresh_from_db()
    assert (feed.digest, feed.changed_at, feed.last_used_on) == (
        "b",
        later,
        date(2025, 1, 21),
    )


def test_serving_the_same_again_writes_nothing(django_assert_num_queries):
    feed = make.feed_token()
    note_served(feed=feed, digest="a", at=make.NOON, on=make.DAY)
    with django_assert_num_queries(0):
        note_served(feed=feed, digest="a", at=make.NOON, on=make.DAY)
