"""What is known of a tree's needs and limits, turned into what science asks for."""

from dataclasses import replace
from datetime import date

from wintering.science.dormancy import GENERAL_REQUIREMENT, ChillUnit, Requirement
from wintering.science.evidence import Evidence
from wintering.science.hardiness import (
    HAS_NO_DORMANCY,
    MUST_STAY_FROST_FREE,
    RootClass,
    RootKill,
    RootLimits,
    root_class,
)
from wintering.science.waking import RANKS
from wintering.stays.queries import is_inferred
from wintering.trees.models import Evidence as Kind
from wintering.trees.models import TaxonFact, Tree
from wintering.trees.queries import Facts

COLD_DORMANCY = "needs cold dormancy"
# Units of chill, the one first that tells most in a cold winter: portions count no
# frozen hours and take back what warmth undid; hours at or below 7.2 °C count every
# frozen hour, and stand for a need only where nothing else is known. Own choice.
UNITS = (
    ChillUnit.PORTIONS,
    ChillUnit.CHILL_HOURS_0_7,
    ChillUnit.UTAH,
    ChillUnit.COLD_DAYS,
    ChillUnit.CHILL_HOURS_BELOW_7,
)
COUNTS_FROZEN = (
    "this unit counts frozen hours too: in a cold winter it is met too early"
)
TENDER = {
    "must stay frost-free": MUST_STAY_FROST_FREE,
    "no dormancy": HAS_NO_DORMANCY,
}
# Root ages whose killing temperature speaks for an established tree.
ESTABLISHED = {"", "mature", "not stated"}
YOUNG = "immature"


def requirement_of(facts: Facts) -> Requirement | None:
    """The chill a tree's taxon needs; None where nothing says that it needs any.

    The keeper's own figure alone, where it stands first; else, in the first of `UNITS`
    that there is a usable figure in, the highest of the best kind; else, for trees that
    need cold dormancy, the general published one.
    """
    figures = [fact for fact in facts.all("chilling_requirement") if _is_usable(fact)]
    if not figures:
        return GENERAL_REQUIREMENT if is_cold_dormant(facts) else None
    chosen = figures[0] if figures[0].kind == Kind.OWN else _chosen(figures)
    unit = ChillUnit(chosen.unit)
    counts_frozen = unit is ChillUnit.CHILL_HOURS_BELOW_7
    return Requirement(
        low=chosen.low,
        high=_high(chosen),
        unit=unit,
        source="; ".join([source_of(chosen), *[COUNTS_FROZEN] * counts_frozen]),
        evidence=Evidence(chosen.kind),
    )


def _chosen(figures: list[TaxonFact]) -> TaxonFact:
    """Figures in different units are never compared: the unit is chosen first."""
    unit = min((ChillUnit(fact.unit) for fact in figures), key=UNITS.index)
    counted = [fact for fact in figures if fact.unit == unit]
    best = [fact for fact in counted if fact.kind == counted[0].kind]
    return max(best, key=lambda fact: (_high(fact), fact.low))


def wake_rank_of(facts: Facts) -> int | None:
    """Its rank in the order of waking, 1 first to 5 last; None if it is not known.

    Ranks are by common practice; where there is none, the order of budbreak in words.
    """
    rank, order = facts.best("wake_rank"), facts.best("budbreak_order")
    if rank and rank.low is not None:
        return int(rank.low)
    return RANKS.get(order.value) if order else None


def is_cold_dormant(facts: Facts) -> bool:
    """Whether the taxon is known to need cold dormancy."""
    dormancy = facts.best("dormancy_class")
    return dormancy is not None and dormancy.value == COLD_DORMANCY


def _is_usable(fact: TaxonFact) -> bool:
    may_warn = fact.usable_as_limit is True or fact.kind == Kind.OWN
    return may_warn and fact.unit in set(ChillUnit) and bool(fact.low)


def _high(fact: TaxonFact) -> float:
    return fact.low if fact.high is None else fact.high


def source_of(fact: TaxonFact) -> str:
    """Where a figure comes from; a keeper's reason is left out, as clients read this.

    It may speak of other people's trees, and stands on the page of facts for those who
    work here.
    """
    speaks_of = f"stated of {fact.speaks_of}" if fact.speaks_of else ""
    said = _entered(fact) if fact.kind == Kind.OWN else fact.source
    parts = (speaks_of, said, fact.qualifier, fact.address)
    return "; ".join(part for part in parts if part)


def _entered(fact: TaxonFact) -> str:
    on = fact.stated_on
    return f"entered on {on.day} {on:%B %Y}" if on else "entered by the keeper"


def root_limits_of(tree: Tree, facts: Facts, *, on: date) -> RootLimits:
    """Limits of a tree's root zone on a day."""
    return tender_limits_of(facts) or root_class(
        _class(facts),
        on=on,
        last_root_work_on=tree.root_work_on,
        root_kill=_kill(facts),
        young_kill=_young_kill(facts),
    )


def established_limits_of(facts: Facts) -> RootLimits:
    """Limits of the taxon's roots in midwinter, long after any work on them."""
    long_ago = date.min
    return tender_limits_of(facts) or root_class(
        _class(facts), on=date.max, last_root_work_on=long_ago, root_kill=_kill(facts)
    )


def tender_limits_of(facts: Facts) -> RootLimits | None:
    """Limits of a tree that must not freeze, or has no dormancy; None for all others.

    It has no class, and its roots do not harden: only the keeper's own figure stands
    before that.
    """
    own, rest = _kill(facts), facts.best("dormancy_class")
    if own and own.evidence == Kind.OWN:
        return None
    if rest is None or rest.value not in TENDER:
        return None
    limits = TENDER[rest.value]
    if not is_inferred(rest):
        return limits
    whose = rest.speaks_of or f"the genus {rest.taxon}"
    because = (
        f"It is counted as one of the {limits.meaning}, as is stated of {whose}: no "
        "class of hardy roots is for those."
    )
    return replace(limits, because=because)


def green_limits_of(
    tree: Tree, facts: Facts, *, on: date, bud_stage: int | None
) -> RootLimits | None:
    """Limits of the air around green growth; None while none shows."""
    limits = root_class(
        _class(facts), on=on, last_root_work_on=tree.root_work_on, bud_stage=bud_stage
    )
    return limits if limits.root_class is RootClass.RE else None


def _class(facts: Facts) -> RootClass | None:
    fact = facts.best("root_class")
    return RootClass(fact.value) if fact and fact.value in set(RootClass) else None


def _kill(facts: Facts) -> RootKill | None:
    """The keeper's own figure, else the mildest published one that has an address.

    A figure of its genus or its habit is no figure of the taxon's own.
    """
    stated = [f for f in facts.all("root_kill_temp") if sets_root_limit(f)]
    own = [fact for fact in stated if fact.kind == Kind.OWN]
    figures = own[:1] or stated
    known = [fact for fact in figures if fact.low is not None]
    if not known:
        return None
    return _root_kill(max(known, key=_high))


def _young_kill(facts: Facts) -> RootKill | None:
    """The mildest published figure of the taxon's young roots that has an address."""
    young = [fact for fact in facts.all("root_kill_temp") if sets_young_limit(fact)]
    return _root_kill(max(young, key=_high)) if young else None


def _root_kill(fact: TaxonFact) -> RootKill:
    return RootKill(_high(fact), source_of(fact), Evidence(fact.kind))


def sets_root_limit(fact: TaxonFact) -> bool:
    """Whether a root-killing temperature may be a threshold of its own.

    The keeper's own may, and a published one of established roots that has an address;
    never one that stands in from a genus or a habit.
    """
    if fact.is_fallback:
        return False
    if fact.kind == Kind.OWN:
        return True
    return fact.root_age in ESTABLISHED and _is_grounded(fact)


def sets_young_limit(fact: TaxonFact) -> bool:
    """Whether a root-killing temperature may be a threshold for young roots."""
    is_published = fact.kind == Kind.PUBLISHED and not fact.is_fallback
    return fact.root_age == YOUNG and is_published and _is_grounded(fact)


def _is_grounded(fact: TaxonFact) -> bool:
    """Whether a figure is one at all, may warn, and can be read where it stands."""
    is_known = fact.low is not None and bool(fact.address)
    return fact.usable_as_limit is True and is_known
