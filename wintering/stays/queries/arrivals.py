"""What speaks against taking a tree in, as sentences."""

from wintering.clients.models import Client
from wintering.people.models import User
from wintering.science.winter import Winter
from wintering.trees.models import Taxon, Tree
from wintering.trees.queries import facts_of, facts_of_trees

# The classes of dormancy that a cold frame cannot give.
NOT_FOR_THE_FRAME = {"must stay frost-free", "no dormancy"}


def cold_refusal(taxon: Taxon, tree: Tree | None = None) -> str:
    """Why a taxon cannot winter in the frame, with its source; empty where it can.

    tree  one that was here before: what is stated of it alone counts first
    """
    facts = facts_of_trees([tree])[tree.pk] if tree else facts_of([taxon.pk])[taxon.pk]
    fact = facts.best("dormancy_class")
    if fact is None or fact.value not in NOT_FOR_THE_FRAME:
        return ""
    whose = f" of {fact.speaks_of}" if fact.speaks_of else ""
    return (
        f"{taxon} cannot winter in a cold frame: {fact.value}, as is stated{whose} "
        f"({fact.get_kind_display()}: {fact.source})."
    )


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
