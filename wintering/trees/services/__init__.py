"""Adding trees, changing them, stating facts, and loading the catalogue."""

from wintering.trees.services.catalogue import load_catalogue
from wintering.trees.services.facts import (
    add_taxon,
    own_fact,
    state_fact,
    withdraw_fact,
)
from wintering.trees.services.trees import (
    add_tree,
    change_pot,
    change_tree,
    pot_up,
    see_buds,
)

__all__ = [
    "add_taxon",
    "add_tree",
    "change_pot",
    "change_tree",
    "load_catalogue",
    "own_fact",
    "pot_up",
    "see_buds",
    "state_fact",
    "withdraw_fact",
]
