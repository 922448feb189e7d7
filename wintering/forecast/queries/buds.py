"""Which bud stage still speaks for a tree."""

from datetime import date, timedelta

from wintering.forecast.queries.starts import counting_leaf_fall
from wintering.science.dormancy import AUTUMN, LEAFLESS, SWELLING
from wintering.trees.models import BudStage, Tree

AUTUMN_SPEAKS_FOR = timedelta(days=30)
"""So long leaves that were seen turning tell of the tree: own choice."""


def speaking_stage(
    buds: BudStage | None, tree: Tree, chill_start: date, today: date
) -> BudStage | None:
    """The stage last seen, unless the year has gone on since; then None.

    Leaves and green seen before leaf fall, or before the chill began, are those of last
    summer; leaves seen turning tell nothing a month later. Leafless and closed buds
    stand until something else is seen.
    """
    if buds is None or buds.code < SWELLING or buds.code >= LEAFLESS:
        return buds
    if buds.on < (counting_leaf_fall(tree, today) or chill_start):
        return None
    if buds.code >= AUTUMN and today - buds.on > AUTUMN_SPEAKS_FOR:
        return None
    return buds
