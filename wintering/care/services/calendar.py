"""What calendars have been told, so that a thing moves there instead of doubling."""

import hashlib
import json
from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, timedelta
from typing import Any

from django.db import models, transaction

from wintering.care.models import CalendarItem

KEPT_CANCELLED = timedelta(days=14)
"""Withdrawn things are shown as cancelled so long, for programs that keep copies."""
KEPT_PAST = timedelta(days=60)
SLACK = timedelta(days=2)
"""A row outlives what is shown of it, so that 'today' may differ between readers."""

# A change of these is a new version for calendar programs (RFC 5545, 3.8.7.4).
REVISING = ("start", "end", "summary", "is_tentative")


class Audience(models.TextChoices):
    STAFF = "staff", "those who work here"
    CLIENT = "client", "the client alone"
    BOTH = "both", "the client and those who work here"


@dataclass(frozen=True, slots=True)
class Item:
    """One thing for calendars, as it is computed now.

    key             names the thing, never its day
    start, end      dates of whole days, or aware instants; the end is not included
    client_id       whose tree it is about; a client is told nothing else
    leaves_at_once  without being cancelled, where it can only have been a mistake
    remind_before   of the start
    kept_for        how long after its end it is shown
    state           for the next computation; not shown, so not a change
    """

    key: str
    start: date | datetime
    end: date | datetime
    summary: str
    description: str
    categories: tuple[str, ...]
    audience: Audience
    location: str = ""
    client_id: int | None = None
    leaves_at_once: bool = False
    is_tentative: bool = False
    remind_before: timedelta | None = None
    kept_for: timedelta = KEPT_PAST
    state: dict[str, Any] = field(default_factory=dict)

    def __post_init__(self) -> None:
        kinds = {isinstance(moment, datetime) for moment in (self.start, self.end)}
        if len(kinds) > 1 or not self.start < self.end:
            raise ValueError(f"{self.key} must end after it starts, and in like terms.")


@transaction.atomic
def locked_items() -> list[CalendarItem]:
    """All that is published, held until the surrounding transaction ends."""
    return list(CalendarItem.objects.select_for_update().order_by("key"))


@transaction.atomic
def publish(items: Iterable[Item], *, at: datetime) -> list[CalendarItem]:
    """Bring what is published in line with what is computed.

    What is new gets a row, what changed is revised in its row, and what is no longer
    computed is withdrawn: cancelled at first, then gone. Publishing the same again
    changes nothing. Returns all rows.
    """
    at = at.replace(microsecond=0)
    rows = {row.key: row for row in locked_items()}
    fresh, revised, gone = [], [], []
    for item in items:
        if _is_past(item.end, item.kept_for, at):
            continue
        row = rows.pop(item.key, None)
        if row is None:
            fresh.append(_new(item, at))
        elif _revise(row, item, at):
            revised.append(row)
    for row in rows.values():
        if row.content["leaves_at_once"] or _is_gone(row, at):
            gone.append(row.pk)
        elif row.withdrawn_at is None:
            _withdraw(row, at)
            revised.append(row)
    # Two readers at once compute the same things: the second finds them there.
    CalendarItem.objects.bulk_create(fresh, ignore_conflicts=True)
    CalendarItem.objects.bulk_update(revised, FIELDS)
    CalendarItem.objects.filter(pk__in=gone).delete()
    return list(CalendarItem.objects.order_by("key"))


FIELDS = ["sequence", "digest", "changed_at", "content", "withdrawn_at"]


def start_of(row: CalendarItem) -> date | datetime:
    return _moment(row.content["start"])


def end_of(row: CalendarItem) -> date | datetime:
    return _moment(row.content["end"])


def item_of(row: CalendarItem) -> Item:
    """What was published last, as it was computed then."""
    said = row.content
    remind_s = said["remind_s"]
    return Item(
        key=row.key,
        start=start_of(row),
        end=end_of(row),
        summary=said["summary"],
        description=said["description"],
        categories=tuple(said["categories"]),
        audience=Audience(said["audience"]),
        location=said["location"],
        client_id=said["client_id"],
        leaves_at_once=said["leaves_at_once"],
        is_tentative=said["is_tentative"],
        remind_before=None if remind_s is None else timedelta(seconds=remind_s),
        kept_for=timedelta(days=said["kept_days"]),
        state=said["state"],
    )


def _new(item: Item, at: datetime) -> CalendarItem:
    return CalendarItem(
        key=item.key,
        digest=_digest(_content(item)),
        changed_at=at,
        content=_content(item),
    )


def _revise(row: CalendarItem, item: Item, at: datetime) -> bool:
    """Bring a row up to date; false if there is nothing to write."""
    before, content = row.content, _content(item)
    digest = _digest(content)
    if row.digest != digest or row.withdrawn_at is not None:
        is_back = row.withdrawn_at is not None
        if is_back or any(before[name] != content[name] for name in REVISING):
            row.sequence += 1
        _touch(row, at)
    elif before == content:
        return False
    row.digest, row.content, row.withdrawn_at = digest, content, None
    return True


def _withdraw(row: CalendarItem, at: datetime) -> None:
    row.withdrawn_at = at
    row.sequence += 1
    _touch(row, at)


def _touch(row: CalendarItem, at: datetime) -> None:
    # Some programs take an event anew only if this moves, and it has whole seconds.
    row.changed_at = max(at, row.changed_at + timedelta(seconds=1))


def _is_gone(row: CalendarItem, at: datetime) -> bool:
    """Nobody is shown the row any more, so that it may go without a word."""
    if row.withdrawn_at is not None:
        return at - row.withdrawn_at > KEPT_CANCELLED + SLACK
    return _is_past(end_of(row), timedelta(days=row.content["kept_days"]), at)


def _is_past(end: date | datetime, kept_for: timedelta, at: datetime) -> bool:
    end_on = end.astimezone(UTC).date() if isinstance(end, datetime) else end
    return at.astimezone(UTC).date() - end_on > kept_for + SLACK


def _content(item: Item) -> dict[str, Any]:
    remind = item.remind_before
    return {
        "start": _written(item.start),
        "end": _written(item.end),
        "summary": item.summary,
        "description": item.description,
        "categories": list(item.categories),
        "location": item.location,
        "is_tentative": item.is_tentative,
        "remind_s": None if remind is None else int(remind.total_seconds()),
        "audience": str(item.audience),
        "client_id": item.client_id,
        "kept_days": item.kept_for.days,
        "leaves_at_once": item.leaves_at_once,
        "state": item.state,
    }


def _digest(content: dict[str, Any]) -> str:
    """Of what a reader sees; the state is for the program alone."""
    shown = {name: value for name, value in content.items() if name != "state"}
    return hashlib.sha256(json.dumps(shown, sort_keys=True).encode()).hexdigest()


def _written(moment: date | datetime) -> str:
    if isinstance(moment, datetime):
        return moment.astimezone(UTC).replace(microsecond=0).isoformat()
    return moment.isoformat()


def _moment(text: str) -> date | datetime:
    return datetime.fromisoformat(text) if "T" in text else date.fromisoformat(text)
