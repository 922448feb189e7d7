"""Moisture checks as events: one a frame and day, which moves until it is done."""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

from django.db.models import Max

from wintering.care.models import CalendarItem, Observation, Round
from wintering.care.queries import DueCheck, watering_due
from wintering.care.services.calendar import Audience, Item, item_of
from wintering.feed.wording import day_words, paragraphs, trees_words
from wintering.frames.models import Frame

DAY = timedelta(days=1)
ADVICE = (
    "Water only a pot that is dry in its upper 1 to 2 cm, with the root zone above "
    "1 °C (34 °F), in the morning, with cool water; never a frozen ball (common "
    "practice)."
)
# A round that looked at half of an event's trees has done it: own choice.
DONE_SHARE = 0.5


@dataclass(frozen=True, slots=True)
class Walked:
    """A round as far as its frame's events need it."""

    pk: int
    at: datetime
    checked: frozenset[int]


def watering_items(at: datetime, published: Sequence[CalendarItem]) -> list[Item]:
    """The checks that are due in every frame, and those that were walked."""
    rows: dict[int, list[CalendarItem]] = defaultdict(list)
    for row in published:
        kind, _, rest = row.key.partition(":")
        if kind == "watering":
            rows[int(rest.split(":")[0])].append(row)
    walked = _walked_since([row for theirs in rows.values() for row in theirs])
    newest = dict(Round.objects.values_list("frame").annotate(Max("pk")).order_by())
    return [
        item
        for frame in Frame.objects.all()
        for item in _of_frame(
            frame, at, rows[frame.pk], walked[frame.pk], newest.get(frame.pk, 0)
        )
    ]


def _is_open(row: CalendarItem) -> bool:
    return row.withdrawn_at is None and "round" not in row.content["state"]


def _walked_since(rows: list[CalendarItem]) -> dict[int, list[Walked]]:
    """Rounds that open events have taken no notice of yet by frame, oldest first."""
    found: dict[int, list[Walked]] = defaultdict(list)
    seen = [row.content["state"]["seen"] for row in rows if _is_open(row)]
    if not seen:
        return found
    rounds = list(Round.objects.filter(pk__gt=min(seen)).order_by("at", "pk"))
    checked: dict[int, set[int]] = defaultdict(set)
    looked_at = Observation.objects.filter(round__in=rounds).exclude(
        moisture=Observation.Moisture.NOT_CHECKED
    )
    for round_id, tree_id in looked_at.values_list("round_id", "tree_id"):
        checked[round_id].add(tree_id)
    for one in rounds:
        trees = frozenset(checked[one.pk])
        found[one.frame_id].append(Walked(one.pk, one.at, trees))
    return found


def _of_frame(
    frame: Frame,
    at: datetime,
    rows: list[CalendarItem],
    walked: list[Walked],
    newest_round: int,
) -> list[Item]:
    zone = ZoneInfo(frame.time_zone)
    today = at.astimezone(zone).date()
    groups: dict[date, list[DueCheck]] = defaultdict(list)
    for due in watering_due([frame], today):
        groups[max(due.due_on, today)].append(due)
    done, still_open = _done([row for row in rows if _is_open(row)], walked, zone)
    return [
        *(item_of(row) for row in rows if "round" in row.content["state"]),
        *done,
        *_due_items(frame, today, groups, still_open, _next_number(rows), newest_round),
    ]


def _done(
    rows: list[CalendarItem], walked: list[Walked], zone: ZoneInfo
) -> tuple[list[Item], list[CalendarItem]]:
    """Events that a round has done since they were published, and the others."""
    done, left = [], sorted(rows, key=lambda row: (row.content["start"], row.key))
    for one in walked:
        for row in left:
            state = row.content["state"]
            trees = set(state["trees"])
            share = len(trees & one.checked) / len(trees)
            if one.pk > state["seen"] and share >= DONE_SHARE:
                done.append(_done_item(item_of(row), one, len(trees), zone))
                left = [other for other in left if other is not row]
                break
    return done, left


def _done_item(item: Item, walked: Walked, due: int, zone: ZoneInfo) -> Item:
    local = walked.at.astimezone(zone)
    looked_at = len(set(item.state["trees"]) & walked.checked)
    words = f"Walked on {day_words(local.date())} at {local:%H:%M}."
    counts = f"{looked_at} of {trees_words(due)} looked at."
    return Item(
        key=item.key,
        start=local.date(),
        end=local.date() + DAY,
        summary=f"Done: {item.summary}",
        description=f"{words} {counts}",
        categories=item.categories,
        audience=item.audience,
        location=item.location,
        state={**item.state, "seen": walked.pk, "round": walked.pk},
    )


def _due_items(
    frame: Frame,
    today: date,
    groups: dict[date, list[DueCheck]],
    rows: list[CalendarItem],
    number: int,
    seen: int,
) -> list[Item]:
    keys = _continued(groups, rows)
    items = []
    for day in sorted(groups):
        if day not in keys:
            keys[day] = f"watering:{frame.pk}:{number}"
            number += 1
        items.append(_due_item(keys[day], frame, day, today, groups[day], seen))
    return items


def _continued(
    groups: dict[date, list[DueCheck]], rows: list[CalendarItem]
) -> dict[date, str]:
    """Which published event goes on as which: the one with most trees in common."""
    pairs = []
    for row in rows:
        trees = set(row.content["state"]["trees"])
        for day, dues in groups.items():
            common = len(trees & {due.tree_id for due in dues})
            if common:
                moved = row.content["start"] != day.isoformat()
                pairs.append((-common, moved, day, row.key))
    keys: dict[date, str] = {}
    for _, _, day, key in sorted(pairs):
        if day not in keys and key not in keys.values():
            keys[day] = key
    return keys


def _next_number(rows: list[CalendarItem]) -> int:
    return 1 + max((int(row.key.rsplit(":", 1)[1]) for row in rows), default=0)


def _due_item(
    key: str,
    frame: Frame,
    day: date,
    today: date,
    dues: list[DueCheck],
    seen: int,
) -> Item:
    reasons = sorted({due.reason for due in dues})
    late = sorted(due.latest_on for due in dues if due.is_overdue)
    if late:
        reasons.insert(0, f"Overdue: the last good day was {day_words(late[0])}.")
    return Item(
        key=key,
        start=day,
        end=day + DAY,
        summary=f"Check moisture: {frame.name}, {trees_words(len(dues))}",
        description=_description(reasons, dues),
        categories=("Watering",),
        audience=Audience.STAFF,
        location=frame.name,
        remind_before=timedelta(hours=6),
        state={"trees": sorted(due.tree_id for due in dues), "seen": seen},
    )


def _description(reasons: list[str], dues: list[DueCheck]) -> str:
    """The trees by place; when they were checked once, where that is the same."""
    checks = {due.last_check_on for due in dues}
    is_shared = len(checks) == 1
    head = [*reasons, ADVICE]
    if is_shared:
        head.append(f"All {_checked(dues[0])}.")
    lines = [
        f"{due.place_label} {due.number} {due.name}"
        + ("" if is_shared else f", {_checked(due)}")
        for due in dues
    ]
    return paragraphs(head, lines)


def _checked(due: DueCheck) -> str:
    if due.last_check_on is None:
        return "not checked yet"
    return f"checked {day_words(due.last_check_on)}"
