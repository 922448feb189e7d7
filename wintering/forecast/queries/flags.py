"""Which flags stand, for whom."""

from datetime import datetime

from django.db.models import Case, Max, Q, Value, When

from wintering.forecast.models import Flag, FlagQuerySet, Judging
from wintering.people.models import User
from wintering.trees.models import Tree, TreeQuerySet

URGENCY = Case(
    *(
        When(level=level, then=Value(rank))
        for rank, level in enumerate(
            (Flag.Level.TONIGHT, Flag.Level.WEEK, Flag.Level.WATCH)
        )
    )
)


def standing_flags(user: User) -> FlagQuerySet:
    """Standing flags, most urgent first; a client sees those of their own trees."""
    flags = (
        Flag.objects.standing()
        .select_related("tree__taxon", "tree__owner", "frame", "sensor")
        .order_by(URGENCY, "since", "pk")
    )
    if user.is_staffing:
        return flags
    return flags.filter(tree__owner__user=user) if user.is_active else flags.none()


def trees_waking(at: datetime) -> TreeQuerySet:
    """Trees that were flagged as waking early at an instant."""
    waking = Flag.objects.filter(kind=Flag.Kind.WAKING_EARLY, since__lte=at)
    return Tree.objects.filter(
        pk__in=waking.filter(Q(cleared_at=None) | Q(cleared_at__gt=at)).values("tree")
    )


def last_judged_at() -> datetime | None:
    """The instant up to which readings were last judged; None if they never were."""
    at: datetime | None = Judging.objects.aggregate(last=Max("at"))["last"]
    return at
