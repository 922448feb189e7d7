"""The printed bench sheet: a frame's plan to scale, its trees as a list, an index."""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from datetime import datetime
from typing import Any

from wintering.forecast.queries.limits import root_limits_of
from wintering.printing.cautions import AT_THE_FRAME
from wintering.printing.papers import (
    BOTTOM_MM,
    MARGIN_MM,
    SCALES,
    SIZES,
    TOP_MM,
    Paper,
    scale_for,
)
from wintering.printing.plans import Numbering, in_route_order, level_data, rectangle
from wintering.printing.typesetting import Form, Printed, typeset
from wintering.printing.words import band, both_units, local_moment, long_day
from wintering.science.hardiness import RootLimits
from wintering.science.winter import Winter
from wintering.stays.queries import FramePlan, PlanTree
from wintering.trees.models import Tree
from wintering.trees.names import plain
from wintering.trees.queries import facts_of_trees

Limits = Mapping[int, RootLimits]


def bench_sheet(
    plan: FramePlan,
    *,
    limits: Limits,
    made_at: datetime,
    paper: Paper = Paper.A4,
    form: Form = Form.PDF,
) -> Printed:
    """The sheet of a frame as it stands on the plan's day.

    limits   root-zone limits of each tree by its key; one without is said not known
    made_at  printed on every page; the same plan and instant give the same bytes

    Refused with a sentence where the frame fits the paper at no scale.
    """
    content = _content(plan, limits, made_at, paper)
    return typeset("sheet.typ", content, form=form, made_at=made_at)


def limits_on(plan: FramePlan) -> dict[int, RootLimits]:
    """Root-zone limits of the trees on a plan, on its day."""
    on_it = [tree.pk for tree in plan.trees]
    trees = Tree.objects.filter(pk__in=on_it).select_related("taxon")
    facts = facts_of_trees(trees)
    return {tree.pk: root_limits_of(tree, facts[tree.pk], on=plan.on) for tree in trees}


def _content(
    plan: FramePlan, limits: Limits, made_at: datetime, paper: Paper
) -> dict[str, Any]:
    frame, scale = plan.frame, scale_for(plan.frame, paper)
    parts = list(frame.microclimates.all())
    walk = in_route_order(plan)
    numbering = Numbering(
        hatches={part.name: n for n, part in enumerate(parts)},
        lines={tree.pk: n for n, tree in enumerate(walk, start=1)},
        limits=limits,
    )
    return {
        "paper": _paper(paper),
        "frame": {
            "name": frame.name,
            "width_cm": frame.width_cm,
            "depth_cm": frame.depth_cm,
            "north_deg": frame.north_deg,
        },
        "winter": Winter.of(plan.on).name,
        "on": long_day(plan.on),
        "printed": local_moment(made_at, frame.time_zone),
        "scale": scale,
        "bar": {"step_cm": SCALES[scale].step_cm, "parts": SCALES[scale].parts},
        "fittings": [
            {"word": one.get_kind_display(), **rectangle(one)} for one in plan.fittings
        ],
        "parts": [
            {
                "name": part.name,
                "hatch": numbering.hatches[part.name],
                "band": band(part.safe_low_c, part.safe_high_c),
            }
            for part in parts
        ],
        "levels": [level_data(one, frame.depth_cm, numbering) for one in plan.levels],
        "limits": _limits_key(limits.values()),
        "cautions": [{"text": c.text, "source": c.source} for c in AT_THE_FRAME],
        "by_name": _by_name(walk),
        "by_owner": _by_owner(walk),
    }


def _paper(paper: Paper) -> dict[str, float]:
    size = SIZES[paper]
    return {
        "width_mm": size.width_mm,
        "height_mm": size.height_mm,
        "margin_mm": MARGIN_MM,
        "top_mm": TOP_MM,
        "bottom_mm": BOTTOM_MM,
    }


def _limits_key(limits: Iterable[RootLimits]) -> list[dict[str, str]]:
    """What each root class on the sheet means, warmest limit first."""
    by_class = {one.root_class: one for one in limits if one.root_class}
    warmest = sorted(by_class.values(), key=lambda one: -one.kill_c)
    return [
        {
            "class": str(one.root_class),
            "meaning": one.meaning,
            "watch": both_units(one.watch_c),
            "act": both_units(one.act_c),
            "source": one.source,
        }
        for one in warmest
    ]


def _by_name(walk: list[PlanTree]) -> list[dict[str, str]]:
    ordered = sorted(walk, key=lambda tree: plain(tree.name))
    return [
        {
            "name": tree.name,
            "script": tree.original_script,
            "number": tree.number,
            "label": tree.label,
        }
        for tree in ordered
    ]


def _by_owner(walk: list[PlanTree]) -> list[dict[str, Any]]:
    marks: dict[str, list[dict[str, str]]] = defaultdict(list)
    # Numbers grow longer with the years: T-1000 comes after T-999.
    for tree in sorted(walk, key=lambda tree: (len(tree.number), tree.number)):
        marks[tree.owner_mark].append({"number": tree.number, "label": tree.label})
    return [{"mark": mark, "trees": marks[mark]} for mark in sorted(marks)]
