"""What was done to a tree, by the time it happened and not the time it was typed."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta

from django.utils import timezone

from wintering.people.models import Event
from wintering.trees.models import Tree

# Said by the line itself, or of no use to a reader.
SILENT = {"number", "name", "sha256", "was", "now", "at", "on"}
# What is written down within this is not worth a second time on the line.
AT_ONCE = timedelta(hours=1)


@dataclass(frozen=True, slots=True)
class HistoryLine:
    """One event. `at` or `on`: when it happened, to the minute or to the day."""

    at: datetime | None
    on: date | None
    words: str
    by: str
    noted: str
    recorded_at: datetime | None

    @property
    def _order(self) -> datetime:
        if self.at:
            return self.at
        midnight = datetime.combine(self.on, time(), timezone.get_current_timezone())
        return midnight.astimezone(UTC)


def history(events: Iterable[Event]) -> list[HistoryLine]:
    """Newest first by when things happened."""
    return sorted(map(_line, events), key=lambda line: line._order, reverse=True)


def _line(event: Event) -> HistoryLine:
    at, on = _instant(event.detail.get("at")), _day(event.detail.get("on"))
    happened = at or event.at
    is_later = on is not None and timezone.localdate(event.at) != on
    is_typed_later = is_later or event.at - happened > AT_ONCE
    return HistoryLine(
        at=None if on and not at else happened,
        on=on if not at else None,
        words=event.verb,
        by=event.by.name if event.by else "",
        noted=noted(event),
        recorded_at=event.at if is_typed_later else None,
    )


def noted(event: Event) -> str:
    """'height cm: 40 → 45' of a change; else what was written down with it."""
    was, now = event.detail.get("was"), event.detail.get("now")
    if isinstance(was, dict) and isinstance(now, dict):
        return "; ".join(
            f"{_field(name)}: {_known(was[name])} → {_known(now.get(name))}"
            for name in was
        )
    return "; ".join(
        f"{name.replace('_', ' ')}: {_plain(content)}"
        for name, content in event.detail.items()
        if (name not in SILENT or _is_place(name, content))
        and content not in (None, "", [], False)
    )


def _is_place(name: str, content: object) -> bool:
    """'at' holds an instant of a round, but the labels of a place."""
    return name == "at" and _instant(content) is None


def _instant(content: object) -> datetime | None:
    if not isinstance(content, str):
        return None
    try:
        at = datetime.fromisoformat(content)
    except ValueError:
        return None
    return at if timezone.is_aware(at) else None


def _day(content: object) -> date | None:
    if not isinstance(content, str):
        return None
    try:
        return date.fromisoformat(content)
    except ValueError:
        return None


def _field(name: str) -> str:
    return str(Tree._meta.get_field(name).verbose_name)


def _known(content: object) -> str:
    return "not known" if content in (None, "") else str(content).removesuffix(".0")


def _plain(content: object) -> str:
    if content is True:
        return "yes"
    if isinstance(content, list):
        return ", ".join(map(str, content))
    # Kinds are kept as the program names them.
    return str(content).replace("_", " ")
