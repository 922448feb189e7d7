"""What is going to happen to each tree, and what has been raised about it."""

from wintering.forecast.queries.counts import ChillCounts, chill_counts
from wintering.forecast.queries.exposure import Exposure, exposures
from wintering.forecast.queries.flags import (
    last_judged_at,
    standing_flags,
    trees_waking,
)
from wintering.forecast.queries.futures import Ahead, ahead_of
from wintering.forecast.queries.outlook import TreeOutlook, tree_outlook, tree_outlooks
from wintering.forecast.queries.own_pot import OwnPot, own_pot
from wintering.forecast.queries.seasons import season_of

__all__ = [
    "Ahead",
    "ChillCounts",
    "Exposure",
    "OwnPot",
    "TreeOutlook",
    "ahead_of",
    "chill_counts",
    "exposures",
    "last_judged_at",
    "own_pot",
    "season_of",
    "standing_flags",
    "tree_outlook",
    "tree_outlooks",
    "trees_waking",
]
