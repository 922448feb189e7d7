"""A place looked at before it is taken: does the tree fit, and the plan to choose on.

Each free module of the plan is a link that takes it into the choice or out of it, so
that choosing needs no script.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from urllib.parse import urlencode

from wintering.frames.models import Frame, Module
from wintering.stays.fit import Fit, footprint_cm
from wintering.stays.queries import FramePlan, PlanBench, PlanModule, fit_at, frame_plan
from wintering.trees.models import Tree
from wintering.web.plan import LevelDrawing, Marked, draw_level


@dataclass(frozen=True, slots=True)
class FreeBench:
    """A bench with the modules that a tree could take."""

    bench: PlanBench
    free: tuple[PlanModule, ...]
    is_too_low: bool


@dataclass(frozen=True, slots=True)
class Choice:
    """`takes` is the greater of pot and canopy along and across, in cm."""

    modules: tuple[Module, ...]
    fit: Fit | None
    takes: tuple[float, float] | None
    levels: tuple[LevelDrawing, ...]
    benches: tuple[FreeBench, ...]

    @property
    def label(self) -> str:
        return ", ".join(module.label for module in self.modules)

    @property
    def keys(self) -> frozenset[int]:
        return frozenset(module.pk for module in self.modules)


def look(tree: Tree, frame: Frame, modules: Sequence[Module], on: date) -> Choice:
    """How a tree would stand on modules of a frame on a day; none chosen is fine."""
    plan = frame_plan(frame, on)
    in_order = sorted(modules, key=lambda m: (m.bench_id, m.column, m.row))
    free = _free_benches(plan, tree)
    marked = Marked(
        module_urls=_links(free, in_order, frame),
        modules=frozenset(module.pk for module in in_order),
        tree_number=tree.number,
    )
    return Choice(
        modules=tuple(in_order),
        fit=fit_at(tree=tree, modules=in_order, on=on) if in_order else None,
        takes=footprint_cm(tree, tree.pots.filter(until=None).first()),
        levels=tuple(draw_level(plan, level, marked) for level in plan.levels),
        benches=free,
    )


def _free_benches(plan: FramePlan, tree: Tree) -> tuple[FreeBench, ...]:
    return tuple(
        FreeBench(
            bench,
            tuple(m for m in bench.modules if m.tree_number in {None, tree.number}),
            is_too_low=tree.height_cm > bench.headroom_cm,
        )
        for level in plan.levels
        for bench in level.benches
    )


def _links(
    benches: Sequence[FreeBench], chosen: Sequence[Module], frame: Frame
) -> dict[int, str]:
    return {
        module.pk: _link(_toggled(module, free.bench, chosen), frame)
        for free in benches
        for module in free.free
    }


def _toggled(
    module: PlanModule, bench: PlanBench, chosen: Sequence[Module]
) -> list[int]:
    """The choice after a click: a module of another bench begins anew."""
    kept = [one.pk for one in chosen if one.bench_id == bench.pk]
    if module.pk in kept:
        return [pk for pk in kept if pk != module.pk]
    return [*kept, module.pk]


def _link(modules: list[int], frame: Frame) -> str:
    query = [("frame", frame.slug), *(("module", pk) for pk in modules)]
    return f"?{urlencode(query)}#place"
