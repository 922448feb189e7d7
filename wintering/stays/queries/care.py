"""Who is in care, and where each tree stands or has stood."""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date

from django.db.models import Prefetch, Q, QuerySet

from wintering.frames.models import Frame, Module
from wintering.people.models import User
from wintering.stays.models import HeldModule, Placement, Stay
from wintering.trees.models import Tree, TreeQuerySet


def stays_for(user: User) -> QuerySet[Stay]:
    """Those who work here see every stay; a client sees their own."""
    stays = Stay.objects.select_related("tree__taxon", "client")
    if user.is_staffing:
        return stays
    return stays.filter(client__user=user) if user.is_active else stays.none()


def trees_in_care(on: date) -> TreeQuerySet:
    """The keeper's own trees, and clients' trees between check-in and check-out."""
    return Tree.objects.filter(
        Q(owner=None) | Q(pk__in=Stay.objects.on(on).values("tree"))
    )


def trees_in_frame(frame: Frame, on: date) -> TreeQuerySet:
    held = HeldModule.objects.filter(module__bench__frame=frame)
    standing = Placement.objects.on(on).filter(pk__in=held.values("placement"))
    return Tree.objects.filter(pk__in=standing.values("tree"))


@dataclass(frozen=True, slots=True)
class Place:
    """Where a tree stands: frame, labels, since when, why."""

    frame: Frame
    labels: tuple[str, ...]
    microclimate_id: int
    since: date
    until: date | None
    reason: str

    @property
    def label(self) -> str:
        return ", ".join(self.labels)


def places_of(trees: Iterable[Tree | int]) -> dict[int, list[Place]]:
    """Every place each tree has stood in, oldest first."""
    ids = [tree if isinstance(tree, int) else tree.pk for tree in trees]
    placements = (
        Placement.objects.filter(tree__in=ids)
        .order_by("since", "pk")
        .prefetch_related(held_modules())
    )
    found: dict[int, list[Place]] = defaultdict(list)
    for placement in placements:
        modules = [held.module for held in placement.held.all()]
        if modules:
            found[placement.tree_id].append(_place(placement, modules))
    return dict(found)


def places_on(trees: Iterable[Tree | int], on: date) -> dict[int, Place]:
    """The place of each tree that stands somewhere on that day."""
    return {
        tree_id: place
        for tree_id, places in places_of(trees).items()
        for place in places
        if place.since <= on and (place.until is None or on < place.until)
    }


def held_modules() -> Prefetch:
    held = HeldModule.objects.select_related("module__bench__frame")
    return Prefetch("held", held.order_by("module__column", "module__row"))


def _place(placement: Placement, modules: Sequence[Module]) -> Place:
    return Place(
        frame=modules[0].bench.frame,
        labels=tuple(module.label for module in modules),
        # A tree across two microclimates is counted in that of its first module.
        microclimate_id=modules[0].microclimate_id,
        since=placement.since,
        until=placement.until,
        reason=placement.reason,
    )
