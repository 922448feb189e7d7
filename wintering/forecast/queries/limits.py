"""What is known of a tree's needs and limits, turned into what science asks for."""

from datetime import date

from wintering.science.dormancy import GENERAL_REQUIREMENT, ChillUnit, Requirement
from wintering.science.evidence import Evidence
from wintering.science.hardiness import RootClass, RootKill, RootLimits, root_class
from wintering.science.waking import RANKS
from wintering.trees.models import Evidence as Kind
from wintering.trees.models import TaxonFact, Tree
from wintering.trees.queries import Facts

COLD_DORMANCY = "needs cold dormancy"
# Root ages whose killing temperature speaks for an established tree.
ESTABLISHED = {"", "mature", "not stated"}


def requirement_of(facts: Facts) -> Requirement | None:
    """The chill a tree's taxon needs; None where nothing says that it needs any.

    A figure in a unit that is computed here, of the best kind there is and the highest
    of that kind; else, for trees that need cold dormancy, the general published one.
    """
    figures = [fact for fact in facts.all("chilling_requirement") if _is_usable(fact)]
    if figures:
        best = [fact for fact in figures if fact.kind == figures[0].kind]
        chosen = max(best, key=lambda fact: (_high(fact), fact.low))
        return Requirement(
            low=chosen.low,
            high=_high(chosen),
            unit=ChillUnit(chosen.unit),
            source=source_of(chosen),
            evidence=Evidence(chosen.kind),
        )
    return GENERAL_REQUIREMENT if is_cold_dormant(facts) else None


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
    speaks_of = f"stated of {fact.speaks_of}" if fact.speaks_of else ""
    parts = (speaks_of, fact.source, fact.qualifier, fact.address)
    return "; ".join(part for part in parts if part)


def root_limits_of(tree: Tree, facts: Facts, *, on: date) -> RootLimits:
    """Limits of a tree's root zone on a day."""
    return root_class(
        _class(facts),
        on=on,
        last_root_work_on=tree.root_work_on,
        root_kill=_kill(facts),
    )


def established_limits_of(facts: Facts) -> RootLimits:
    """Limits of the taxon's roots in midwinter, long after any work on them."""
    long_ago = date.min
    return root_class(
        _class(facts), on=date.max, last_root_work_on=long_ago, root_kill=_kill(facts)
    )


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
    mildest = max(known, key=_high)
    return RootKill(_high(mildest), source_of(mildest), Evidence(mildest.kind))


def sets_root_limit(fact: TaxonFact) -> bool:
    """Whether a root-killing temperature may be a threshold of its own.

    The keeper's own may, and a published one of established roots that has an address;
    never one that stands in from a genus or a habit.
    """
    if fact.is_fallback:
        return False
    if fact.kind == Kind.OWN:
        return True
    is_established = fact.root_age in ESTABLISHED
    return fact.usable_as_limit is True and is_established and bool(fact.address)
