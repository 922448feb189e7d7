"""What is known of taxa and trees, best evidence first."""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

from django.db.models import Q

from wintering.trees.models import Evidence, Taxon, TaxonFact, Tree

# What stands before what when several values of one attribute are known.
PRECEDENCE = [
    Evidence.OWN,
    Evidence.PUBLISHED,
    Evidence.COMPUTED,
    Evidence.PRACTICE,
    Evidence.CHOICE,
    Evidence.MEMORY,
]

# Words of caution do not contradict each other: those of genus and habit stand too.
ADDING_UP = {"caution", "note"}

# A tree, a taxon, a genus or a habit, and what is stated of it by attribute.
Subject = tuple[str, object]
Stated = dict[str, list[TaxonFact]]


@dataclass(frozen=True, slots=True)
class Facts:
    """All that is stated of one tree or taxon, what stands first in front.

    What is stated of the tree itself comes before what is stated of its taxon. Only
    where neither says anything does the genus speak, and after it the habit (cautions
    and notes of all of them stand); each fact tells of whom it speaks
    (`TaxonFact.speaks_of`). What is stated of a genus is a tree's own where the tree is
    filed under the genus itself.
    """

    stated: Stated = field(default_factory=dict)

    def all(self, attribute: str) -> list[TaxonFact]:
        return self.stated.get(attribute, [])

    def best(self, attribute: str) -> TaxonFact | None:
        """The value that stands before the others; None where nothing is known."""
        return next(iter(self.all(attribute)), None)

    def limits(self, attribute: str) -> list[TaxonFact]:
        """Only those values that a warning may rest on."""
        return [fact for fact in self.all(attribute) if fact.usable_as_limit is True]


@dataclass(frozen=True, slots=True)
class FactChange:
    """A fact put in or taken out in thought, to see what would follow from it."""

    put_in: TaxonFact | None = None
    taken_out: TaxonFact | None = None


def facts_of(taxon_ids: Iterable[int]) -> dict[int, Facts]:
    """The facts of several taxa, in two statements."""
    taxa = Taxon.objects.in_bulk(set(taxon_ids))
    found = _by_subject(_standing_facts(taxa.values(), trees=[]))
    return {pk: _resolved(taxon, found) for pk, taxon in taxa.items()}


def facts_of_trees(
    trees: Iterable[Tree], change: FactChange | None = None
) -> dict[int, Facts]:
    """The facts of several trees whose taxa are loaded, in one statement."""
    known = list(trees)
    facts = _standing_facts({tree.taxon for tree in known}, trees=known)
    found = _by_subject(_changed(facts, change) if change else facts)
    return {
        tree.pk: _resolved(tree.taxon, found, own=("tree", tree.pk)) for tree in known
    }


def _standing_facts(taxa: Iterable[Taxon], trees: list[Tree]) -> list[TaxonFact]:
    known = list(taxa)
    genera = {taxon.genus_name for taxon in known}
    habits = {taxon.habit for taxon in known} - {""}
    asked = (
        Q(taxon__in=known)
        | Q(taxon__rank=Taxon.Rank.GENUS, taxon__scientific_name__in=genera)
        | Q(habit__in=habits)
        | Q(tree__in=trees)
    )
    facts = TaxonFact.objects.standing().filter(asked)
    return list(facts.select_related("by", "taxon"))


def _changed(facts: list[TaxonFact], change: FactChange) -> list[TaxonFact]:
    out = change.taken_out.pk if change.taken_out else None
    left = [fact for fact in facts if fact.pk != out]
    return [*left, change.put_in] if change.put_in else left


def _by_subject(facts: Iterable[TaxonFact]) -> dict[Subject, Stated]:
    found: dict[Subject, Stated] = defaultdict(lambda: defaultdict(list))
    for fact in facts:
        for subject in _subjects_of(fact):
            found[subject][fact.attribute].append(fact)
    for stated in found.values():
        for several in stated.values():
            several.sort(key=_standing)
    return found


def _subjects_of(fact: TaxonFact) -> list[Subject]:
    if fact.tree_id:
        return [("tree", fact.tree_id)]
    if fact.taxon is None:
        return [("habit", fact.habit)]
    subjects: list[Subject] = [("taxon", fact.taxon_id)]
    if fact.taxon.rank == Taxon.Rank.GENUS:
        subjects.append(("genus", fact.taxon.scientific_name))
    return subjects


def _subjects(taxon: Taxon) -> list[Subject]:
    """Who may speak for a taxon, the nearest first."""
    own: Subject = ("taxon", taxon.pk)
    if taxon.rank == Taxon.Rank.GENUS:
        return [own, ("habit", taxon.habit)]
    return [own, ("genus", taxon.genus_name), ("habit", taxon.habit)]


def _resolved(
    taxon: Taxon,
    found: Mapping[Subject, Stated],
    own: Subject | None = None,
) -> Facts:
    stated: Stated = {}
    for subject in _subjects(taxon):
        for attribute, several in found.get(subject, {}).items():
            if attribute in ADDING_UP:
                said = stated.get(attribute, [])
                words = {fact.value for fact in said}
                stated[attribute] = [
                    *said,
                    *(f for f in several if f.value not in words),
                ]
            else:
                stated.setdefault(attribute, several)
    for attribute, several in found.get(own, {}).items() if own else ():
        stated[attribute] = [*several, *stated.get(attribute, [])]
    if taxon.rank != Taxon.Rank.GENUS:
        return Facts(stated)
    return Facts(
        {
            name: [fact.read_for(taxon) for fact in facts]
            for name, facts in stated.items()
        }
    )


def _standing(fact: TaxonFact) -> tuple[int, int]:
    """Kind of evidence first; the keeper's newest value before their older ones.

    A value only thought of has no key yet and counts as the newest.
    """
    number = fact.pk or 2**63
    newest_first = -number if fact.kind == Evidence.OWN else number
    return PRECEDENCE.index(Evidence(fact.kind)), newest_first
