"""Which trees a person may see, and what was seen of their buds."""

from collections.abc import Iterable
from datetime import date

from django.db.models import QuerySet

from wintering.people.models import User
from wintering.trees.models import BudStage, Photo, Tree, TreeQuerySet


def trees_for(user: User) -> TreeQuerySet:
    """Those who work here see every tree; a client sees their own."""
    trees = Tree.objects.select_related("taxon", "owner")
    if user.is_staffing:
        return trees
    return trees.filter(owner__user=user) if user.is_active else trees.none()


def photos_for(user: User) -> QuerySet[Photo]:
    return Photo.objects.filter(tree__in=trees_for(user))


def bud_stages_of(
    trees: Iterable[Tree], *, since: date, until: date
) -> dict[int, BudStage]:
    """The stage last seen on each tree from one day to another, both included."""
    seen = BudStage.objects.filter(tree__in=trees, on__gte=since, on__lte=until)
    in_order = seen.select_related("tree", "by").order_by("on", "pk")
    return {stage.tree_id: stage for stage in in_order}
