"""What is going to happen to each tree, and what has been raised about it."""

from wintering.forecast.queries.exposure import Exposure, exposures
from wintering.forecast.queries.flags import standing_flags, trees_waking
from wintering.forecast.queries.outlook import TreeOutlook, tree_outlook, tree_outlooks

__all__ = [
    "Exposure",
    "TreeOutlook",
    "exposures",
    "standing_flags",
    "tree_outlook",
    "tree_outlooks",
    "trees_waking",
]
