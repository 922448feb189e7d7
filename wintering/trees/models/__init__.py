"""Taxa with their sourced facts, and the trees themselves."""

from wintering.trees.models.taxa import Evidence, Taxon, TaxonFact, TaxonQuerySet
from wintering.trees.models.trees import (
    AccessionCounter,
    BudStage,
    Photo,
    Pot,
    Tree,
    TreeQuerySet,
)

__all__ = [
    "AccessionCounter",
    "BudStage",
    "Evidence",
    "Photo",
    "Pot",
    "Taxon",
    "TaxonFact",
    "TaxonQuerySet",
    "Tree",
    "TreeQuerySet",
]
