"""What a person is shown: their own, in a window that moves at their midnight."""

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

import pytest

from tests import make
from wintering.care.services.calendar import Audience, Item, publish
from wintering.care.services.feeds import ensure_feed
from wintering.feed.events import MOST_EVENTS, calendar_of, entries_of

pytestmark = pytest.mark.django_db

AT = make.NOON
DAY = timedelta(days=1)
ITEM = Item(
    key="stay:1",
    start=date(2025, 1, 21),
    end=date(2025, 1, 22),
    summary="In care",
    description="",
    categories=("Stay",),
    audience=Audience.BOTH,
    client_id=7,
)


def titles(user, *items, at=AT):
    rows = publish(items, at=AT)
    feed = ensure_feed(user=user, by=user)
    return [entry.summary for entry in entries_of(feed, rows, at)]


def test_those_who_work_here_see_all_but_what_is_for_a_client_alone():
    items = [
        replace(ITEM, key=f"stay:{audience}", audience=audience, summary=audience)
        for audience in Audience
    ]
    for role in ("keeper", "helper"):
        assert set(titles(make.user(role), *items)) == {"staff", "both"}


def test_a_client_sees_what_is_for_them_and_is_about_their_trees():
    owner = make.client(user=make.user("client"))
    items = [
        replace(
            ITEM,
            key=f"stay:{audience}:{client_id}",
            audience=audience,
            client_id=client_id,
            summary=f"{audience} {client_id}",
        )
        for audience in Audience
        for client_id in (owner.pk, owner.pk + 1, None)
    ]
    expected = {f"client {owner.pk}", f"both {owner.pk}"}
    assert set(titles(owner.user, *items)) == expected
    feed = ensure_feed(user=owner.user, by=owner.user)
    feed.user.is_active = False
    [nothing] = entries_of(feed, publish(items, at=AT), AT)
    assert nothing.summary == "Connected; nothing planned yet"


@pytest.mark.parametrize(
    ("end", "is_shown"), [(date(2024, 11, 20), False), (date(2024, 11, 21), True)]
)
def test_the_past_is_shown_for_sixty_days(end, is_shown):
    past = replace(ITEM, start=date(2024, 10, 1), end=end)
    assert ("In care" in titles(make.keeper(), past)) is is_shown


@pytest.mark.parametrize(
    ("start", "is_shown"), [(date(2026, 2, 24), True), (date(2026, 2, 25), False)]
)
def test_the_future_is_shown_for_four_hundred_days(start, is_shown):
    ahead = replace(ITEM, start=start, end=start + DAY)
    assert ("In care" in titles(make.keeper(), ahead)) is is_shown


def test_the_window_moves_at_the_readers_own_midnight():
    edge = replace(ITEM, start=date(2024, 10, 1), end=date(2024, 11, 21))
    reader = make.keeper(time_zone="America/New_York")
    # 04:59 UTC is still 20 January in New York, 05:00 is 21 January.
    before, after = (datetime(2025, 1, 21, *hm, tzinfo=UTC) for hm in ((4, 59), (5, 0)))
    assert "In care" in titles(reader, edge, at=before)
    assert "In care" not in titles(reader, edge, at=after)


def test_nothing_changes_between_two_midnights(long_frame, stand):
    stand("N1-01f")
    keeper = make.keeper(time_zone="America/New_York")
    rows = publish([ITEM], at=AT)
    feed = ensure_feed(user=keeper, by=keeper)
    morning = datetime(2025, 1, 20, 5, tzinfo=UTC)
    bodies = {
        calendar_of(feed, rows, morning + timedelta(minutes=m))[0]
        for m in range(0, 24 * 60, 90)
    }
    assert len(bodies) == 1


def test_where_there_are_too_many_the_oldest_are_left_out():
    items = [
        replace(ITEM, key=f"stay:{n}", start=day, end=day + DAY, summary=str(day))
        for n in range(MOST_EVENTS + 5)
        for day in [date(2024, 12, 1) + timedelta(days=n % 100)]
    ]
    shown = titles(make.keeper(), *items)
    assert len(shown) == MOST_EVENTS
    assert shown.count("2024-12-01") == 21 - 5
    assert shown.count("2024-12-02") == 21


def test_names_of_calendars_tell_whose_they_are():
    for role, name in (("keeper", "Wintering"), ("client", "Wintering: your trees")):
        user = make.user(role)
        body, events = calendar_of(ensure_feed(user=user, by=user), [], AT)
        assert f"\r\nX-WR-CALNAME:{name}\r\n" in body.decode()
        assert events == 1


def test_an_event_keeps_its_identity_in_every_calendar():
    one, other = make.keeper(), make.helper()
    rows = publish([ITEM], at=AT)
    feeds = [ensure_feed(user=user, by=user) for user in (one, other)]
    [first], [second] = (entries_of(feed, rows, AT) for feed in feeds)
    assert first.uid == second.uid == f"stay-{rows[0].uid}@calendar.wintering.invalid"
