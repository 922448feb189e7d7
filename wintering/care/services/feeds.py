"""Calendar subscriptions: a secret address each, of which only the hash is kept."""

import hashlib
import secrets
from datetime import date, datetime

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils import timezone

from wintering.care.models import FeedToken
from wintering.people.models import User
from wintering.people.queries import events_about
from wintering.people.services import record

SWITCHED_REMINDERS = "switched reminders in"


def ensure_feed(*, user: User, by: User) -> FeedToken:
    """The open subscription of a person, made without a link where there is none."""
    _own_or_keeper(user, by)
    feed, is_new = FeedToken.objects.get_or_create(
        user=user,
        revoked_at=None,
        defaults={
            "created_at": timezone.now(),
            # Clients look at their trees' stays; reminders are for those who work.
            "has_reminders": user.is_staffing,
        },
    )
    if is_new:
        record(by, "opened", feed)
    return feed


@transaction.atomic
def open_feed(*, user: User, by: User) -> tuple[FeedToken, str | None]:
    """A person's subscription and the secret of its link.

    The secret is told once: None where a link has been made before.
    """
    feed = ensure_feed(user=user, by=by)
    if feed.token_hash:
        return feed, None
    return feed, rotate_feed(feed=feed, by=by)


@transaction.atomic
def rotate_feed(*, feed: FeedToken, by: User) -> str:
    """A new secret; the link made before stops at once."""
    _own_or_keeper(feed.user, by)
    _still_open(feed)
    secret = secrets.token_urlsafe(32)
    feed.token_hash = _hash(secret)
    feed.full_clean()
    feed.save(update_fields=["token_hash"])
    record(by, "made a new link for", feed)
    return secret


@transaction.atomic
def revoke_feed(*, feed: FeedToken, by: User) -> FeedToken:
    """End a subscription: its link answers like one that never was."""
    _own_or_keeper(feed.user, by)
    _still_open(feed)
    feed.revoked_at = timezone.now()
    feed.save(update_fields=["revoked_at"])
    record(by, "revoked", feed)
    return feed


@transaction.atomic
def switch_reminders(*, feed: FeedToken, on: bool, by: User) -> FeedToken:
    _own_or_keeper(feed.user, by)
    if feed.has_reminders != on:
        feed.has_reminders = on
        feed.save(update_fields=["has_reminders"])
        record(by, SWITCHED_REMINDERS, feed, on=on)
    return feed


def reminders_switched_at(feed: FeedToken) -> datetime | None:
    """When the reminders last changed: each event has changed with them."""
    switched = events_about(feed).filter(verb=SWITCHED_REMINDERS).first()
    return switched.at if switched else None


def feed_of_secret(secret: str) -> FeedToken | None:
    """The subscription that a link opens, if it is open and its person still here."""
    feeds = FeedToken.objects.select_related("user__client")
    return feeds.filter(
        token_hash=_hash(secret), revoked_at=None, user__is_active=True
    ).first()


def note_served(*, feed: FeedToken, digest: str, at: datetime, on: date) -> datetime:
    """Remember what was served; returns since when it has read like that."""
    changed: list[str] = []
    if feed.digest != digest or feed.changed_at is None:
        feed.digest, feed.changed_at = digest, at.replace(microsecond=0)
        changed += ["digest", "changed_at"]
    if feed.last_used_on != on:
        feed.last_used_on = on
        changed.append("last_used_on")
    if changed:
        feed.save(update_fields=changed)
    return feed.changed_at


def _hash(secret: str) -> str:
    return hashlib.sha256(secret.encode()).hexdigest()


def _own_or_keeper(user: User, by: User) -> None:
    if by.pk != user.pk and not by.is_keeper:
        raise ValidationError("Only a keeper manages the calendar of someone else.")
    if not user.is_active:
        raise ValidationError(f"{user.name} is no longer active here.")


def _still_open(feed: FeedToken) -> None:
    if feed.revoked_at is not None:
        raise ValidationError("This calendar link was revoked. Make a new one.")
