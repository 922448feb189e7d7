"""When one pot is likely to want water: shown beside the settled rounds, not instead.

Nothing of it is stored, and neither calendar nor rounds go by it. Whether water would
do harm is told by `reasons_not_to_water`.
"""

from dataclasses import dataclass, replace
from datetime import date

from wintering.care.queries.demand import AirDemand, air_demand
from wintering.care.queries.potted import history_of, potted_tree
from wintering.care.queries.water_words import evidence_of, sentence_of, unknown_of
from wintering.forecast.findings.statements import Statement
from wintering.forecast.queries.outlook import TreeOutlook
from wintering.science.pot_water import Outlook, outlook
from wintering.science.potted_tree import PottedTree
from wintering.science.substrate import Range
from wintering.science.water_history import History
from wintering.stays.queries import places_of
from wintering.trees.models import Pot as PotRow

NO_AIR = (
    "Nothing is known of the air where it has stood: give its part of the frame an air "
    "sensor, bring the log up to date, and check by the season until then."
)


@dataclass(frozen=True, slots=True)
class TreeWater:
    """When to look at a pot for want of water.

    reason       why nothing can be told; then every date and share is None
    gone         share of the water it can take that is gone, 0 to 1, with 1 chance in
                 10 of less and of more
    check_from   the day by which half of it is gone with 1 chance in 10
    likely_due   ... with even chances
    late         ... with 9 chances in 10; None if that is too far off to tell
    look_on      the day to look at it; today or earlier means now
    sentence     all of that in one, for people
    evidence     what it rests on
    unknown      what is not known and what was taken for it, as sentences
    """

    reason: str
    gone: Range | None = None
    check_from: date | None = None
    likely_due: date | None = None
    late: date | None = None
    look_on: date | None = None
    sentence: str = ""
    evidence: tuple[Statement, ...] = ()
    unknown: tuple[str, ...] = ()

    @property
    def gone_pct(self) -> tuple[int, int, int] | None:
        """The shares in per cent, to the nearest 5: more would be false precision."""
        if self.gone is None:
            return None
        shares = (self.gone.low, self.gone.likely, self.gone.high)
        low, likely, high = (5 * round(20 * share) for share in shares)
        return low, likely, high


def water_of(seen: TreeOutlook, row: PotRow | None) -> TreeWater:
    """When the pot that a tree stands in is to be looked at.

    row  the present pot; None if none is recorded

    The number of statements is the same for every tree.
    """
    places = places_of([seen.tree]).get(seen.tree.pk, [])
    air = air_demand(seen, places)
    if air is None:
        return TreeWater(NO_AIR)
    tree, history = potted_tree(seen, row), history_of(seen, row, places)
    found = _in_either(tree, history, air, seen.today)
    if found.gone is None:
        return TreeWater(found.because)
    return TreeWater(
        reason="",
        gone=found.gone,
        check_from=found.check_from,
        likely_due=found.likely_due,
        late=found.late,
        look_on=found.check_on,
        sentence=sentence_of(found, history, seen.today),
        evidence=evidence_of(found, tree, history, air, seen),
        unknown=unknown_of(found, seen),
    )


def _in_either(tree: PottedTree, history: History, air: AirDemand, on: date) -> Outlook:
    """The outlook in the likely air, as wide as it is in drier air too.

    What was found in the pot is learned from in each, so that with every finding the
    two come closer to each other.
    """
    likely = outlook(tree, history, air.likely, on)
    drier = outlook(tree, history, air.high, on)
    if likely.gone is None or drier.gone is None:
        return likely
    return replace(
        likely,
        gone=Range(
            min(likely.gone.low, drier.gone.low),
            likely.gone.likely,
            max(likely.gone.high, drier.gone.high),
        ),
        check_from=_first(likely.check_from, drier.check_from),
        late=likely.late and drier.late and max(likely.late, drier.late),
        check_on=_first(likely.check_on, drier.check_on),
        findings=max(likely.findings, drier.findings),
    )


def _first(one: date | None, other: date | None) -> date | None:
    return min((day for day in (one, other) if day), default=None)
