"""The plan of a frame on a day, and whether a tree would fit a place on it."""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from django.db.models import Prefetch

from wintering.frames.models import Bench, Fitting, Frame, Module
from wintering.stays.fit import Fit, Rectangle, fit_of
from wintering.stays.models import HeldModule, Placement
from wintering.stays.queries.arrivals import cold_doubt, cold_refusal, kept_from_c
from wintering.stays.queries.care import held_modules
from wintering.trees.models import Pot, Tree


@dataclass(frozen=True, slots=True)
class PlanModule:
    pk: int
    label: str
    x_cm: float
    y_cm: float
    width_cm: float
    depth_cm: float
    microclimate: str
    tree_number: str | None


@dataclass(frozen=True, slots=True)
class PlanTree:
    """A pot's footprint, or the canopy's where that is greater, on the plan."""

    number: str
    name: str
    original_script: str
    owner_mark: str
    x_cm: float
    y_cm: float
    width_cm: float
    depth_cm: float
    height_cm: float
    weight_kg: float | None
    labels: tuple[str, ...]
    pk: int
    taxon_id: int

    @property
    def label(self) -> str:
        return ", ".join(self.labels)


@dataclass(frozen=True, slots=True)
class PlanBench:
    pk: int
    name: str
    x_cm: float
    y_cm: float
    width_cm: float
    depth_cm: float
    height_cm: float
    headroom_cm: float
    weight_limit_kg: float | None
    load_kg: float
    modules: tuple[PlanModule, ...]
    trees: tuple[PlanTree, ...]


@dataclass(frozen=True, slots=True)
class PlanLevel:
    """Benches that are drawn together, because none lies above another."""

    name: str
    height_cm: float
    benches: tuple[PlanBench, ...]


@dataclass(frozen=True, slots=True)
class FramePlan:
    frame: Frame
    on: date
    fittings: tuple[Fitting, ...]
    levels: tuple[PlanLevel, ...]

    @property
    def trees(self) -> list[PlanTree]:
        benches = (bench for level in self.levels for bench in level.benches)
        return [tree for bench in benches for tree in bench.trees]


def frame_plan(frame: Frame, on: date) -> FramePlan:
    """A frame as it stands on a day, in plan coordinates, lowest level first."""
    standing = _standing(frame, on)
    levels: dict[str, list[PlanBench]] = defaultdict(list)
    benches = frame.benches.prefetch_related("modules__microclimate")
    for bench in benches:
        trees = [tree for tree in standing if tree[1][0].bench_id == bench.pk]
        levels[bench.level].append(_plan_bench(bench, trees))
    found = [
        PlanLevel(name, min(b.height_cm for b in group), tuple(group))
        for name, group in levels.items()
    ]
    found.sort(key=lambda level: level.height_cm)
    return FramePlan(frame, on, tuple(frame.fittings.all()), tuple(found))


Standing = tuple[Tree, list[Module]]


def _standing(frame: Frame, on: date) -> list[Standing]:
    placements = (
        Placement.objects.on(on)
        .filter(held__module__bench__frame=frame)
        .distinct()
        .select_related("tree__taxon", "tree__owner")
        .prefetch_related(held_modules(), _open_pots("tree__pots"))
        .order_by("tree__serial")
    )
    return [(p.tree, [held.module for held in p.held.all()]) for p in placements]


def _open_pots(lookup: str) -> Prefetch:
    return Prefetch(lookup, Pot.objects.filter(until=None), to_attr="open_pots")


def _plan_bench(bench: Bench, standing: list[Standing]) -> PlanBench:
    trees = tuple(_plan_tree(tree, modules) for tree, modules in standing)
    holder = {label: tree.number for tree in trees for label in tree.labels}
    modules = tuple(
        PlanModule(
            pk=module.pk,
            label=module.label,
            x_cm=bench.x_cm + module.x_cm,
            y_cm=bench.y_cm + module.y_cm,
            width_cm=module.width_cm,
            depth_cm=module.depth_cm,
            microclimate=module.microclimate.name,
            tree_number=holder.get(module.label),
        )
        for module in bench.modules.all()
    )
    return PlanBench(
        pk=bench.pk,
        name=bench.name,
        x_cm=bench.x_cm,
        y_cm=bench.y_cm,
        width_cm=bench.width_cm,
        depth_cm=bench.depth_cm,
        height_cm=bench.height_cm,
        headroom_cm=bench.headroom_cm,
        weight_limit_kg=bench.weight_limit_kg,
        load_kg=sum(tree.weight_kg or 0 for tree in trees),
        modules=modules,
        trees=trees,
    )


def _plan_tree(tree: Tree, modules: list[Module]) -> PlanTree:
    stands = _stands(tree, modules)
    return PlanTree(
        number=tree.number,
        name=tree.name,
        original_script=tree.original_script,
        owner_mark=tree.owner_mark,
        x_cm=stands.x_cm,
        y_cm=stands.y_cm,
        width_cm=stands.width_cm,
        depth_cm=stands.depth_cm,
        height_cm=tree.height_cm,
        weight_kg=tree.weight_kg,
        labels=tuple(module.label for module in modules),
        pk=tree.pk,
        taxon_id=tree.taxon_id,
    )


def _pot(tree: Tree) -> Pot | None:
    return next(iter(tree.open_pots), None)


def _stands(tree: Tree, modules: list[Module]) -> Rectangle:
    fit = fit_of(tree=tree, pot=_pot(tree), modules=modules, neighbours=(), load_kg=0)
    return fit.stands


def fit_at(*, tree: Tree, modules: Sequence[Module], on: date) -> Fit:
    """How a tree would fit on modules on a day, with what stands there already."""
    chosen = list(
        Module.objects.filter(pk__in=[module.pk for module in modules]).select_related(
            "bench__frame", "microclimate"
        )
    )
    pot = tree.pots.filter(until=None).first()
    others = [
        (other, held)
        for other, held in _standing(chosen[0].bench.frame, on)
        if other.pk != tree.pk and held[0].bench_id == chosen[0].bench_id
    ]
    fit = fit_of(
        tree=tree,
        pot=pot,
        modules=chosen,
        neighbours=[(other.number, _stands(other, held)) for other, held in others],
        load_kg=sum(other.weight_kg or 0 for other, _ in others),
    )
    taken = _taken_sentences(tree, chosen, on)
    tender, doubts = _tender_sentences(tree, chosen)
    return Fit((*taken, *tender, *fit.refusals), (*doubts, *fit.warnings), fit.stands)


def _tender_sentences(
    tree: Tree, modules: Sequence[Module]
) -> tuple[list[str], list[str]]:
    """What forbids a part of the frame that is too cold, and what is only not known."""
    from_c = kept_from_c(tree.taxon, tree)
    if all(m.microclimate.safe_low_c >= from_c for m in modules):
        return [], []
    refusal, doubt = cold_refusal(tree.taxon, tree), cold_doubt(tree.taxon, tree)
    where = (
        "Give it a part of a frame whose safe band begins at "
        f"{from_c:.0f} °C or warmer."
    )
    return [f"{refusal} {where}"] if refusal else [], [doubt] if doubt else []


def _taken_sentences(tree: Tree, modules: Sequence[Module], on: date) -> list[str]:
    """Who holds these modules on the day or afterwards."""
    held = (
        HeldModule.objects.filter(module__in=modules)
        .exclude(until__lte=on)
        .exclude(placement__tree=tree)
        .select_related("module", "placement__tree")
        .order_by("module__label", "placement__since")
    )
    return [_taken_sentence(row) for row in held]


def _taken_sentence(row: HeldModule) -> str:
    number = row.placement.tree.number
    if row.until is None:
        return f"{row.module.label} already holds {number}."
    return f"{row.module.label} holds {number} until {row.until}."
