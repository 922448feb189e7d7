"""What is known of taxa, best evidence first."""

from collections.abc import Iterable
from dataclasses import dataclass, field

from wintering.trees.models import Evidence, TaxonFact

# What stands before what when several values of one attribute are known.
PRECEDENCE = [
    Evidence.OWN,
    Evidence.PUBLISHED,
    Evidence.COMPUTED,
    Evidence.PRACTICE,
    Evidence.CHOICE,
    Evidence.MEMORY,
]


@dataclass(frozen=True, slots=True)
class Facts:
    """All that is stated of one taxon, best evidence first in each attribute."""

    taxon_id: int
    stated: dict[str, list[TaxonFact]] = field(default_factory=dict)

    def all(self, attribute: str) -> list[TaxonFact]:
        return self.stated.get(attribute, [])

    def best(self, attribute: str) -> TaxonFact | None:
        """The value that stands before the others; None where nothing is known."""
        return next(iter(self.all(attribute)), None)

    def limits(self, attribute: str) -> list[TaxonFact]:
        """Only those values that a warning may rest on."""
        return [fact for fact in self.all(attribute) if fact.usable_as_limit is True]


def facts_of(taxon_ids: Iterable[int]) -> dict[int, Facts]:
    """The facts of several taxa in one statement."""
    found = {taxon_id: Facts(taxon_id) for taxon_id in taxon_ids}
    for fact in TaxonFact.objects.filter(taxon_id__in=found).select_related("by"):
        found[fact.taxon_id].stated.setdefault(fact.attribute, []).append(fact)
    for facts in found.values():
        for stated in facts.stated.values():
            stated.sort(key=_standing)
    return found


def _standing(fact: TaxonFact) -> tuple[int, int]:
    """Kind of evidence first; the keeper's newest value before their older ones."""
    newest_first = -fact.pk if fact.kind == Evidence.OWN else fact.pk
    return PRECEDENCE.index(Evidence(fact.kind)), newest_first
