"""What would follow for trees if a fact were stated, or taken back."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime

from django.db.models import Q

from wintering.forecast.findings import findings_of
from wintering.forecast.models import Flag
from wintering.forecast.queries.limits import established_limits_of
from wintering.forecast.queries.outlook import TreeOutlook, tree_outlooks
from wintering.stays.queries import NOT_FOR_THE_FRAME, is_inferred
from wintering.trees.models import Taxon, TaxonFact, Tree, TreeQuerySet
from wintering.trees.queries import FactChange

NOT_KNOWN, AS_NOW = "not known", "as now"
WATCH = "Watch from"
LATER_KILL = "Roots a year after their work: killed at"
LATER_WATCH = "Roots a year after their work: watch from"


@dataclass(frozen=True, slots=True)
class Reckoned:
    """One thing reckoned for a tree; the unit is empty where there is none."""

    what: str
    value: float | str
    unit: str = ""


@dataclass(frozen=True, slots=True)
class Difference:
    before: Reckoned
    after: Reckoned


@dataclass(frozen=True, slots=True)
class Effect:
    """A tree for which something would be reckoned otherwise."""

    tree: Tree
    differences: tuple[Difference, ...]


def trees_spoken_of(fact: TaxonFact, trees: TreeQuerySet) -> TreeQuerySet:
    """Those of some trees to which a fact can apply."""
    if fact.tree_id:
        return trees.filter(pk=fact.tree_id)
    if fact.taxon is None:
        return trees.filter(taxon__habit=fact.habit)
    if fact.taxon.rank == Taxon.Rank.GENUS:
        genus = fact.taxon.genus_name
        of_genus = Q(taxon=fact.taxon)
        for start in (f"{genus} ", f"×{genus} "):
            of_genus |= Q(taxon__scientific_name__startswith=start)
        return trees.filter(of_genus)
    return trees.filter(taxon=fact.taxon)


def effects_of(change: FactChange, trees: Sequence[Tree], at: datetime) -> list[Effect]:
    """The trees that a change makes a difference to, and what difference.

    The number of statements does not grow with the trees.
    """
    before, after = tree_outlooks(trees, at), tree_outlooks(trees, at, change)
    found = []
    for tree in trees:
        both = zip(_reckoned(before[tree.pk]), _reckoned(after[tree.pk]), strict=True)
        differences = tuple(Difference(old, new) for old, new in both if old != new)
        if differences:
            found.append(Effect(tree, differences))
    return found


def _reckoned(outlook: TreeOutlook) -> Iterator[Reckoned]:
    """Always the same things in the same order, so that two can be compared."""
    limits, need, chill = outlook.root_limits, outlook.requirement, outlook.chill
    yield Reckoned("Roots killed at", limits.kill_c, "°C")
    yield Reckoned("Act at", limits.act_c, "°C")
    yield Reckoned(WATCH, limits.watch_c, "°C")
    # Root work hides what roots are taken to bear once it is a year old.
    later = established_limits_of(outlook.facts)
    is_hidden = limits.kill_c != later.kill_c
    yield Reckoned(LATER_KILL, later.kill_c if is_hidden else AS_NOW, "°C")
    yield Reckoned(LATER_WATCH, later.watch_c if is_hidden else AS_NOW, "°C")
    top = outlook.facts.best("zone_limit_temp")
    yield Reckoned("Top survives to about", _or_not_known(top and top.low), "°C")
    rest = outlook.facts.best("dormancy_class")
    yield Reckoned("Winter rest", rest.value if rest else NOT_KNOWN)
    yield Reckoned("May stand in a frame that freezes", _may_freeze(rest))
    asked = f"{need.low:g} to {need.high:g} {need.unit.words}" if need else NOT_KNOWN
    yield Reckoned("Chill needed", asked)
    yield Reckoned("Chill met", chill.met if chill else NOT_KNOWN)
    stage = outlook.stage
    yield Reckoned("Stage", stage.name if stage else NOT_KNOWN)
    flags = [Flag.Kind(found.kind).label for found in findings_of(outlook)]
    yield Reckoned("Flagged", ", ".join(flags) or "nothing")


def _may_freeze(rest: TaxonFact | None) -> str:
    if rest is None or is_inferred(rest):
        return NOT_KNOWN
    return "no" if rest.value in NOT_FOR_THE_FRAME else "yes"


def _or_not_known(value: float | None) -> float | str:
    return NOT_KNOWN if value is None else value
