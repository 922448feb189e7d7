"""What speaks against taking a tree in, as sentences."""

from wintering.clients.models import Client
from wintering.people.models import User
from wintering.science.hardiness import HAS_NO_DORMANCY, MUST_STAY_FROST_FREE
from wintering.science.winter import Winter
from wintering.trees.models import Evidence, Taxon, TaxonFact, Tree
from wintering.trees.queries import facts_of, facts_of_trees

KEPT_FROM_C = {
    "must stay frost-free": MUST_STAY_FROST_FREE.watch_c,
    "no dormancy": HAS_NO_DORMANCY.watch_c,
}
"""A part of a frame whose safe band begins here or warmer is for trees of such a winter
rest: where they begin to be watched. Sources stand with the limits themselves."""
FROST_FREE_FROM_C = min(KEPT_FROM_C.values())

# The classes of dormancy that a cold frame cannot give.
NOT_FOR_THE_FRAME = set(KEPT_FROM_C)


def cold_refusal(taxon: Taxon, tree: Tree | None = None) -> str:
    """Why a taxon cannot winter in the frame, with its source; empty where it can.

    tree  one that was here before: what is stated of it alone counts first

    Empty too where that is not known of the taxon itself: see `cold_doubt`.
    """
    fact = _winter_rest(taxon, tree)
    if fact is None or is_inferred(fact) or fact.value not in NOT_FOR_THE_FRAME:
        return ""
    whose = f" of {fact.speaks_of}" if fact.speaks_of else ""
    return (
        f"{taxon} cannot winter in a cold frame: {fact.value}, as is stated{whose} "
        f"({_resting_on(fact)})."
    )


def cold_doubt(taxon: Taxon, tree: Tree | None = None) -> str:
    """What is not known of a taxon's winter rest, and on what a guess rests.

    Empty where it is stated of the tree or the taxon, or of its genus by somebody who
    spoke of all of it.
    """
    fact = _winter_rest(taxon, tree)
    if fact is None:
        return (
            f"It is not known whether {taxon} may winter in a cold frame: nothing is "
            "stated of its winter rest."
        )
    if not is_inferred(fact):
        return ""
    whose = fact.speaks_of or f"the genus {taxon}"
    others = (
        "others of them may need the cold"
        if fact.value in NOT_FOR_THE_FRAME
        else "a frost may harm others of them"
    )
    return (
        f"It is not known of {taxon} itself whether it may winter in a cold frame: "
        f"“{fact.value}” is only stated of {whose} ({_resting_on(fact)}), and {others}."
    )


def kept_from_c(taxon: Taxon, tree: Tree | None = None) -> float:
    """From where a safe band must begin for nothing to be said of the cold [°C].

    Of a winter rest that is not known, where it does not freeze.
    """
    fact = _winter_rest(taxon, tree)
    return KEPT_FROM_C.get(fact.value if fact else "", FROST_FREE_FROM_C)


def _winter_rest(taxon: Taxon, tree: Tree | None) -> TaxonFact | None:
    facts = facts_of_trees([tree])[tree.pk] if tree else facts_of([taxon.pk])[taxon.pk]
    return facts.best("dormancy_class")


def is_inferred(fact: TaxonFact) -> bool:
    """Whether it was inferred from other plants: of a habit, or over a genus."""
    if fact.kind == Evidence.OWN:
        return False
    if fact.taxon is None:
        return True
    return fact.taxon.rank == Taxon.Rank.GENUS and fact.kind == Evidence.COMPUTED


def _resting_on(fact: TaxonFact) -> str:
    """A keeper's own reason is left out: the client reads what was agreed."""
    if fact.kind == Evidence.OWN:
        return fact.get_kind_display()
    return f"{fact.get_kind_display()}: {fact.source}"


def beyond_agreement(client: Client, winter: Winter, *, by: User) -> str:
    """What to say of one more tree than was agreed; empty where it is within."""
    agreement = client.agreements.filter(winter=winter.start_year).first()
    brought = client.stays.filter(winter=winter.start_year).values("tree").distinct()
    count = brought.count()
    if agreement is None or count < agreement.trees_agreed:
        return ""
    if not by.is_keeper:
        return f"One more tree than agreed for {winter}: needs an addendum."
    return (
        f"{agreement.trees_agreed} agreed for {winter}, this would be the "
        f"{ordinal(count + 1)}: needs an addendum."
    )


def ordinal(number: int) -> str:
    ending = {1: "st", 2: "nd", 3: "rd"}.get(number % 10, "th")
    if number % 100 in {11, 12, 13}:
        ending = "th"
    return f"{number}{ending}"
