"""Which trees a person may see, and what is known of their taxa."""

from wintering.trees.queries.facts import (
    PRECEDENCE,
    FactChange,
    Facts,
    facts_of,
    facts_of_trees,
)
from wintering.trees.queries.names import name_as_written
from wintering.trees.queries.trees import bud_stages_of, photos_for, trees_for

__all__ = [
    "PRECEDENCE",
    "FactChange",
    "Facts",
    "bud_stages_of",
    "facts_of",
    "facts_of_trees",
    "name_as_written",
    "photos_for",
    "trees_for",
]
