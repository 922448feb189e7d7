"""A frame's plan as data for the page: rectangles, labels, what stands where."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Protocol

from wintering.printing.words import both_units, kilograms, number
from wintering.science.hardiness import RootLimits
from wintering.stays.queries import FramePlan, PlanBench, PlanLevel, PlanTree


class Rectangular(Protocol):
    """Anything that lies on the plan [cm]."""

    x_cm: float
    y_cm: float
    width_cm: float
    depth_cm: float


@dataclass(frozen=True, slots=True)
class Numbering:
    """What is the same on all pages of a sheet.

    hatches  number of each microclimate's hatch, by its name
    lines    line of each tree in the list, by its key
    limits   root-zone limits of each tree, by its key
    """

    hatches: Mapping[str, int]
    lines: Mapping[int, int]
    limits: Mapping[int, RootLimits]


def in_route_order(plan: FramePlan) -> list[PlanTree]:
    """Level by level from the lowest, bench by bench, along each bench."""
    benches = (bench for level in plan.levels for bench in level.benches)
    return [tree for bench in benches for tree in _along(bench)]


def level_data(
    level: PlanLevel, frame_depth_cm: float, numbering: Numbering
) -> dict[str, Any]:
    return {
        "name": level.name,
        "parts": sorted({m.microclimate for b in level.benches for m in b.modules}),
        "benches": [
            {
                **_bench(bench, numbering),
                "strip": _free_strip(bench, level, frame_depth_cm),
            }
            for bench in level.benches
        ],
    }


def rectangle(shape: Rectangular) -> dict[str, float]:
    return {
        "x_cm": shape.x_cm,
        "y_cm": shape.y_cm,
        "width_cm": shape.width_cm,
        "depth_cm": shape.depth_cm,
    }


def _bench(bench: PlanBench, numbering: Numbering) -> dict[str, Any]:
    modules = {
        module.label: {
            **rectangle(module),
            "label": module.label,
            "hatch": numbering.hatches[module.microclimate],
        }
        for module in bench.modules
    }
    return {
        **rectangle(bench),
        "name": bench.name,
        "height": _height(bench),
        "headroom": f"headroom {number(bench.headroom_cm)} cm",
        "load": _load(bench),
        "modules": list(modules.values()),
        "free": [module.label for module in bench.modules if not module.tree_number],
        "trees": [
            {
                **rectangle(tree),
                "first": modules[tree.labels[0]],
                **_line(tree, numbering),
            }
            for tree in _along(bench)
        ],
    }


def _line(tree: PlanTree, numbering: Numbering) -> dict[str, Any]:
    """A tree's line in the list, and what is written into its pot."""
    limits = numbering.limits.get(tree.pk)
    return {
        "line": numbering.lines[tree.pk],
        "number": tree.number,
        "name": tree.name,
        "script": tree.original_script,
        "owner": tree.owner_mark,
        "label": tree.label,
        "height": f"{number(tree.height_cm)} cm",
        "weight": kilograms(tree.weight_kg),
        "class": "?" if limits is None else limits.root_class or "own figure",
        "act": "not known" if limits is None else both_units(limits.act_c),
    }


def _load(bench: PlanBench) -> str:
    carried = f"carries {number(bench.load_kg)} kg"
    if bench.weight_limit_kg is None:
        carried += ", limit not known"
    else:
        carried += f" of at most {number(bench.weight_limit_kg)} kg"
    unknown = sum(tree.weight_kg is None for tree in bench.trees)
    return f"{carried}, {unknown} not weighed" if unknown else carried


def _height(bench: PlanBench) -> str:
    if bench.height_cm == 0:
        return "on the floor"
    return f"{number(bench.height_cm)} cm up"


def _along(bench: PlanBench) -> list[PlanTree]:
    """A bench's trees from its first module on, as one walks past them."""
    order = {module.label: n for n, module in enumerate(bench.modules)}
    return sorted(bench.trees, key=lambda tree: order[tree.labels[0]])


def _free_strip(
    bench: PlanBench, level: PlanLevel, frame_depth_cm: float
) -> dict[str, Any]:
    """The wider strip before or behind a bench, for its caption.

    A strip that another bench borders is shared with that one's caption.
    """
    top_cm = bench.y_cm + bench.depth_cm
    beside = [
        other
        for other in level.benches
        if other.x_cm < bench.x_cm + bench.width_cm
        and bench.x_cm < other.x_cm + other.width_cm
    ]
    below = [bench.y_cm - o.y_cm - o.depth_cm for o in beside if o.y_cm < bench.y_cm]
    above = [o.y_cm - top_cm for o in beside if o.y_cm >= top_cm]
    below_cm = min([bench.y_cm, *(room / 2 for room in below)])
    above_cm = min([frame_depth_cm - top_cm, *(room / 2 for room in above)])
    return {"is_below": below_cm >= above_cm, "room_cm": max(below_cm, above_cm)}
