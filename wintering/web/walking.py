"""A round as it is walked: bench by bench, tree by tree, with what warns of water."""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any
from zoneinfo import ZoneInfo

from wintering.care.queries import DueCheck, reasons_not_to_water, watering_due
from wintering.care.services import Seen
from wintering.frames.models import Frame
from wintering.stays.queries import FramePlan, PlanTree, frame_plan
from wintering.trees.models import Tree
from wintering.web.forms.rounds import SeenForm

Typed = Mapping[str, Any] | None


@dataclass(frozen=True, slots=True)
class Stop:
    """A tree on the way. `warnings` are its own beside its bench's."""

    stands: PlanTree
    form: SeenForm
    due: DueCheck | None
    warnings: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class BenchStops:
    """A bench on the way; `warnings` hold for every tree on it."""

    name: str
    level: str
    warnings: tuple[str, ...]
    stops: tuple[Stop, ...]


@dataclass(frozen=True, slots=True)
class DueGroup:
    """Checks of one frame that fall due on the same day, in the order of the way."""

    frame: Frame
    due_on: date
    is_overdue: bool
    reason: str
    checks: tuple[DueCheck, ...]


def due_groups(checks: Iterable[DueCheck]) -> list[DueGroup]:
    """Checks, soonest first, put together by day and frame."""
    groups: dict[tuple[object, ...], list[DueCheck]] = defaultdict(list)
    for check in checks:
        key = (check.due_on, check.frame.pk, check.is_overdue, check.reason)
        groups[key].append(check)
    return [
        DueGroup(
            frame=group[0].frame,
            due_on=group[0].due_on,
            is_overdue=group[0].is_overdue,
            reason=group[0].reason,
            checks=tuple(group),
        )
        for group in groups.values()
    ]


def route(
    frame: Frame, at: datetime, typed: Typed = None, *, is_rest_checked: bool = False
) -> list[BenchStops]:
    """The way through a frame, lowest level first, along each bench."""
    today = at.astimezone(ZoneInfo(frame.time_zone)).date()
    plan = frame_plan(frame, today)
    trees = Tree.objects.in_bulk([tree.pk for tree in plan.trees])
    warned = reasons_not_to_water(list(trees.values()), at)
    due = {check.tree_id: check for check in watering_due([frame], today)}
    forms = {
        pk: SeenForm(typed, prefix=f"t{pk}", tree=tree, is_rest_checked=is_rest_checked)
        for pk, tree in trees.items()
    }
    return [
        _bench_stops(name, level, stands, forms, warned, due)
        for name, level, stands in _walked(plan)
    ]


def _walked(plan: FramePlan) -> list[tuple[str, str, list[PlanTree]]]:
    return [
        (bench.name, level.name, sorted(bench.trees, key=lambda tree: tree.labels))
        for level in plan.levels
        for bench in level.benches
        if bench.trees
    ]


def _bench_stops(
    name: str,
    level: str,
    stands: list[PlanTree],
    forms: dict[int, SeenForm],
    warned: dict[int, list[str]],
    due: dict[int, DueCheck],
) -> BenchStops:
    shared = [
        reason
        for reason in warned[stands[0].pk]
        if all(reason in warned[tree.pk] for tree in stands)
    ]
    stops = tuple(
        Stop(
            stands=tree,
            form=forms[tree.pk],
            due=due.get(tree.pk),
            warnings=tuple(r for r in warned[tree.pk] if r not in shared),
        )
        for tree in stands
    )
    return BenchStops(name, level, tuple(shared), stops)


def refused(way: Iterable[BenchStops]) -> list[Stop]:
    """Trees of which something is refused, in the order of the way."""
    stops = (stop for bench in way for stop in bench.stops)
    return [stop for stop in stops if stop.form.errors]


def noted(way: list[BenchStops]) -> list[Seen] | None:
    """What was written down, tree by tree; None where something is refused."""
    if refused(way):
        return None
    forms = [stop.form for bench in way for stop in bench.stops]
    return [form.seen(form.tree) for form in forms if form.tree and form.says_something]
