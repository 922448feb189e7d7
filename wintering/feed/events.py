"""The work as events: what is published, and what of it a person is shown."""

from collections.abc import Iterable
from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

from django.conf import settings
from django.db import transaction

from wintering.care.models import CalendarItem, FeedToken
from wintering.care.services.calendar import (
    KEPT_CANCELLED,
    Audience,
    end_of,
    item_of,
    locked_items,
    publish,
    start_of,
)
from wintering.care.services.feeds import reminders_switched_at
from wintering.feed.alerts import alert_items
from wintering.feed.ics import DOMAIN, Entry, render
from wintering.feed.stays import stay_items
from wintering.feed.watering import watering_items
from wintering.people.models import User

AHEAD = timedelta(days=400)
MOST_EVENTS = 2000
DAY = timedelta(days=1)


@transaction.atomic
def publish_work(at: datetime) -> list[CalendarItem]:
    """Publish the work of the whole place as it stands; returns all that is shown.

    Computed and written under one lock: two readers at once cannot tear it apart.
    """
    published = locked_items()
    on = at.astimezone(ZoneInfo(settings.TIME_ZONE)).date()
    items = [*watering_items(at, published), *stay_items(on), *alert_items(on)]
    return publish(items, at=at)


def calendar_of(
    feed: FeedToken, rows: Iterable[CalendarItem], at: datetime
) -> tuple[bytes, int]:
    """A person's own calendar as text, and how many events it holds."""
    entries = entries_of(feed, rows, at)
    name = "Wintering" if feed.user.is_staffing else "Wintering: your trees"
    return render(name, entries), len(entries)


def entries_of(
    feed: FeedToken, rows: Iterable[CalendarItem], at: datetime
) -> list[Entry]:
    """What a person is shown, from two months ago to a year ahead."""
    zone = ZoneInfo(feed.user.time_zone or settings.TIME_ZONE)
    today = at.astimezone(zone).date()
    theirs = [row for row in rows if _may_see(feed.user, row)]
    shown = [row for row in theirs if _is_shown(row, today, zone)]
    # Where there are too many, the oldest are left out first.
    shown.sort(key=lambda row: (_day(end_of(row), zone), row.key), reverse=True)
    switched_at = reminders_switched_at(feed)
    entries = [_entry(row, feed, switched_at) for row in shown[:MOST_EVENTS]]
    return entries or [_nothing_yet(feed, zone)]


def _may_see(user: User, row: CalendarItem) -> bool:
    audience = row.content["audience"]
    if user.is_staffing:
        return audience != Audience.CLIENT
    client = getattr(user, "client", None)
    if client is None or not user.is_active or audience == Audience.STAFF:
        return False
    return row.content["client_id"] == client.pk


def _is_shown(row: CalendarItem, today: date, zone: ZoneInfo) -> bool:
    """By the reader's own days, so that the calendar changes at midnight only."""
    if row.withdrawn_at and today - _day(row.withdrawn_at, zone) >= KEPT_CANCELLED:
        return False
    kept_for = timedelta(days=row.content["kept_days"])
    is_late_enough = _day(end_of(row), zone) >= today - kept_for
    return is_late_enough and _day(start_of(row), zone) <= today + AHEAD


def _day(moment: date | datetime, zone: ZoneInfo) -> date:
    if isinstance(moment, datetime):
        return moment.astimezone(zone).date()
    return moment


def _entry(row: CalendarItem, feed: FeedToken, switched_at: datetime | None) -> Entry:
    item = item_of(row)
    times = [row.changed_at, switched_at] if switched_at else [row.changed_at]
    return Entry(
        uid=f"{row.key.partition(':')[0]}-{row.uid}@{DOMAIN}",
        sequence=row.sequence,
        changed_at=max(times),
        start=item.start,
        end=item.end,
        summary=item.summary,
        description=item.description,
        location=item.location,
        categories=item.categories,
        is_tentative=item.is_tentative,
        is_cancelled=row.withdrawn_at is not None,
        remind_before=item.remind_before if feed.has_reminders else None,
    )


def _nothing_yet(feed: FeedToken, zone: ZoneInfo) -> Entry:
    """A calendar without a component is not valid, and this shows that it works."""
    day = feed.created_at.astimezone(zone).date()
    return Entry(
        uid=f"feed-{feed.pk}@{DOMAIN}",
        sequence=0,
        changed_at=feed.created_at.astimezone(UTC),
        start=day,
        end=day + DAY,
        summary="Connected; nothing planned yet",
    )
