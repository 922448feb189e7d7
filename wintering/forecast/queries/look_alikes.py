"""Trees of the same kind in the same place whose buds were seen to move."""

from collections.abc import Mapping, Sequence
from datetime import date, timedelta

from wintering.forecast.queries.buds import speaking_stage
from wintering.science.bbch import SWELLING, UNFOLDED
from wintering.stays.queries import Place, places_on
from wintering.trees.models import BudStage, Tree
from wintering.trees.queries import bud_stages_of

TELLS_FOR = timedelta(days=30)
"""What was seen longer ago tells nothing of the tree beside it: own choice."""


def look_alikes(
    trees: Sequence[Tree], places: Mapping[int, Place | None], today: date
) -> dict[int, BudStage]:
    """For each tree the furthest bud stage of another of its kind, in its microclimate.

    Only buds that swell or open, seen within the last 30 days and after the last look
    at the tree's own buds. Trees of one kind share taxon and cultivar.
    """
    of_taxa = Tree.objects.filter(taxon__in={tree.taxon_id for tree in trees})
    seen = bud_stages_of(of_taxa, since=today - TELLS_FOR, until=today)
    said = (speaking_stage(s, s.tree, today) for s in seen.values())
    moving = [s for s in said if s and SWELLING <= s.code < UNFOLDED]
    moving.sort(key=lambda stage: (-stage.code, stage.pk))
    theirs = places_on([stage.tree_id for stage in moving], today)
    found: dict[int, BudStage] = {}
    for tree in trees:
        own, place = seen.get(tree.pk), places[tree.pk]
        for stage in moving:
            is_news = own is None or own.on < stage.on
            beside = theirs.get(stage.tree_id)
            if is_news and _are_alike(tree, stage.tree) and _share(place, beside):
                found.setdefault(tree.pk, stage)
    return found


def _are_alike(one: Tree, other: Tree) -> bool:
    kinds = {(tree.taxon_id, tree.cultivar) for tree in (one, other)}
    return one.pk != other.pk and len(kinds) == 1


def _share(one: Place | None, other: Place | None) -> bool:
    """Whether both stand in one microclimate."""
    return bool(one and other and one.microclimate_id == other.microclimate_id)
