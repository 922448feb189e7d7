"""From when until when a tree's winter is reckoned."""

from collections.abc import Sequence
from datetime import date, timedelta

from wintering.science.winter import Winter
from wintering.stays.models import Stay
from wintering.stays.queries import Place
from wintering.trees.models import Tree

LEAF_FALL_COUNTS_DAYS = 240
"""So long after it a leaf fall still starts the chill of the winter that is judged: own
choice, from November into early July."""


def chill_start_of(tree: Tree, today: date) -> date:
    """The day its leaves fell if that was entered, else 1 October of this winter."""
    return counting_leaf_fall(tree, today) or Winter.of(today).chill_start


def warmth_start_of(tree: Tree, today: date) -> date:
    """The day its leaves fell if that was entered, else 1 November of this winter."""
    return counting_leaf_fall(tree, today) or Winter.of(today).warmth_start


def counting_leaf_fall(tree: Tree, today: date) -> date | None:
    fell_on = tree.leaf_fall_on
    counts = timedelta(days=LEAF_FALL_COUNTS_DAYS)
    return fell_on if fell_on and timedelta() <= today - fell_on <= counts else None


def is_exit_stated(
    place: Place | None, chill_start: date, collected_on: date | None
) -> bool:
    """Whether somebody planned the day that `planned_exit_of` gives."""
    planned = planned_exit_of(place, chill_start, collected_on)
    return planned in (_stated(place, chill_start), collected_on)


def planned_exit_of(
    place: Place | None, chill_start: date, collected_on: date | None
) -> date:
    """By when chill should be complete: the planned exit of its frame, else the 1 March
    after; the collection if that is sooner."""
    exit_on = _stated(place, chill_start)
    if exit_on is None:
        exit_on = _winter_after(chill_start).default_exit
    return min(exit_on, collected_on or exit_on)


def early_until_of(
    place: Place | None, chill_start: date, collected_on: date | None
) -> date:
    """Until when waking is early: a stated exit or collection, else the 15 May after.

    The 1 March by which chill should be complete opens no frame.
    """
    stated = [day for day in (_stated(place, chill_start), collected_on) if day]
    return min(stated, default=_winter_after(chill_start).waking_is_early_until)


def _stated(place: Place | None, chill_start: date) -> date | None:
    """The planned exit of a tree's frame, if it is that of this winter."""
    exit_on = place.frame.exit_on if place else None
    last_day = _winter_after(chill_start).last_day
    return exit_on if exit_on and chill_start < exit_on <= last_day else None


def _winter_after(chill_start: date) -> Winter:
    """The winter that chill is for; leaves that fall from March on fell before it."""
    winter = Winter.of(chill_start)
    is_before = chill_start < winter.default_exit
    return winter if is_before else Winter(winter.start_year + 1)


def planned_ends(trees: Sequence[Tree]) -> dict[int, date]:
    """When trees in care are planned to be collected, where that was agreed."""
    stays = Stay.objects.filter(
        tree__in=[tree.pk for tree in trees], until=None, planned_until__isnull=False
    )
    return dict(stays.values_list("tree", "planned_until"))
