"""What was done to a tree, by the time it happened and not the time it was typed."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta

from django.utils import timezone

from wintering.people.models import Event
from wintering.trees.attributes import label_of

# Said by the line itself, or of no use to a reader.
SILENT = {"number", "name", "sha256", "was", "now", "at", "on"}
# An event is told the other way round here: not 'Hana took back', but 'by Hana'.
WORDS = {
    "corrected the pot of": "pot corrected",
    "saw the buds of": "buds seen",
    "stated": "own value stated",
    "took back": "own value taken back",
    "confirmed the check-in of": "check-in confirmed",
    "was cleared of": "flag cleared",
    "was flagged": "flag raised",
}
# Names of what was written down that do not read as they are kept.
NAMES = {
    "height_cm": "height with pot",
    "identity": "how sure of the name",
    "original_script": "name in its original script",
    "root_work_on": "last root work",
    "leaf_fall_on": "leaf fall",
}
UNITS = ("cm", "kg")
ANSWERS = {"True": "yes", "False": "no"}
UNKNOWN = "not known"
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
        words=WORDS.get(event.verb, event.verb),
        by=event.by.name if event.by else "",
        noted=noted(event),
        recorded_at=event.at if is_typed_later else None,
    )


def noted(event: Event) -> str:
    """'width 30 → 31 cm' of a change; else what was written down with it."""
    was, now = event.detail.get("was"), event.detail.get("now")
    if isinstance(was, dict) and isinstance(now, dict):
        changes = (
            _measured(_name(name, event.verb), name, was[name], now.get(name))
            for name in was
        )
        return "; ".join(changes)
    if isinstance(was, dict):
        # As pots were corrected before their new sizes were kept one by one.
        before = (_measured(_name(name, event.verb), name, was[name]) for name in was)
        told = f"before: {'; '.join(before)}"
        return f"{told}; now {now}" if now else told
    return "; ".join(_written(event.detail))


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


def _name(name: str, verb: str) -> str:
    """A pot has a height of its own; a tree's is measured with its pot."""
    if verb == "changed" and name in NAMES:
        return NAMES[name]
    return (name.removesuffix(f"_{_unit(name)}") or name).replace("_", " ")


def _unit(name: str) -> str:
    unit = name.rpartition("_")[2]
    return unit if unit in UNITS else ""


def _measured(words: str, name: str, *stood: object) -> str:
    """A measure reads on to its unit, a word stands behind a colon."""
    known = [_known(content) for content in stood]
    unit = _unit(name)
    if not unit:
        return f"{words}: {' → '.join(known)}"
    last = max((n for n, text in enumerate(known) if text != UNKNOWN), default=None)
    if last is not None:
        known[last] += f" {unit}"
    return f"{words} {' → '.join(known)}"


def _known(content: object) -> str:
    if content in (None, ""):
        return UNKNOWN
    text = str(content)
    return ANSWERS.get(text, text.removesuffix(".0"))


def _written(detail: dict[str, object]) -> Iterator[str]:
    """What was written down, a stated value by its question."""
    for name, content in detail.items():
        is_told = name not in SILENT or _is_place(name, content)
        if not is_told or content in (None, "", [], False):
            continue
        if name == "attribute":
            yield f"{label_of(str(content))}: {_plain(detail.get('value'))}"
        elif name == "bbch":
            yield f"BBCH {content}"
        elif name != "value" or "attribute" not in detail:
            yield f"{name.replace('_', ' ')}: {_plain(content)}"


def _plain(content: object) -> str:
    if content is True:
        return "yes"
    if isinstance(content, list):
        return ", ".join(map(str, content))
    # Kinds are kept as the program names them.
    return str(content).replace("_", " ")
