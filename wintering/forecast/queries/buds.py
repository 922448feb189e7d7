"""Which bud stage still speaks for a tree."""

from datetime import date, timedelta

from wintering.forecast.queries.starts import warmth_start_of
from wintering.science.bbch import AUTUMN, LEAFLESS, SWELLING
from wintering.trees.models import BudStage, Tree

AUTUMN_SPEAKS_FOR = timedelta(days=30)
"""So long leaves that were seen turning tell of the tree: own choice."""


def speaking_stage(buds: BudStage | None, tree: Tree, today: date) -> BudStage | None:
    """The stage last seen, unless the year has gone on since; then None.

    Leaves and green seen before leaf fall, or without one before 1 November, are those
    of last summer: no bud breaks before the winter. Leaves seen turning tell nothing a
    month later. Leafless and closed buds stand until something else is seen.
    """
    if buds is None or buds.code < SWELLING or buds.code >= LEAFLESS:
        return buds
    if buds.code >= AUTUMN:
        return buds if today - buds.on <= AUTUMN_SPEAKS_FOR else None
    return None if buds.on < warmth_start_of(tree, today) else buds
