"""Which trees a person may see, and what is known of their taxa."""

from wintering.trees.queries.facts import PRECEDENCE, Facts, facts_of
from wintering.trees.queries.trees import bud_stages_of, photos_for, trees_for

__all__ = [
    "PRECEDENCE",
    "Facts",
    "bud_stages_of",
    "facts_of",
    "photos_for",
    "trees_for",
]
