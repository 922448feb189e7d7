"""One tree in its pot, and what was found in it, as the science of water takes them."""

import re
from collections.abc import Sequence
from datetime import date, datetime, time
from itertools import pairwise
from zoneinfo import ZoneInfo

from wintering.care.models import Observation, Watering
from wintering.forecast.queries.outlook import TreeOutlook
from wintering.forecast.queries.own_pot import pot_of
from wintering.forecast.queries.starts import counting_leaf_fall
from wintering.science.bbch import AUTUMN, SWELLING
from wintering.science.dormancy import DormancyStage
from wintering.science.potted_tree import Habit, PottedTree
from wintering.science.water_history import History, Word
from wintering.stays.queries import Place
from wintering.trees.models import BudStage
from wintering.trees.models import Pot as PotRow

AWAKE = (DormancyStage.WAKING, DormancyStage.IN_LEAF)
AT_REST = (DormancyStage.ENDODORMANT, DormancyStage.ECODORMANT)

MIDWINTER = (12, 1, 2)
"""Where nothing tells the stage of a tree that sheds, it is leafless in these months:
own choice."""

CLOSED = re.compile(r"\b(glazed|plastic|mica|porcelain)\b")
UNGLAZED = ("unglazed", "terracotta", "terra cotta", "earthenware")
"""Words that say whether a wall lets vapour through; a glaze closes any clay."""

READ_ON_A_ROUND = {Observation.Moisture.NO_FINDING: Observation.Moisture.MOIST}
"""On a round moisture is felt pot by pot and what is dry is named, so nothing to note
says not dry (common practice). Without it only the dry findings of a round would teach,
and every tree would seem to dry fast."""


def potted_tree(outlook: TreeOutlook, row: PotRow | None) -> PottedTree:
    return PottedTree(
        pot=pot_of(row),
        substrate=row.substrate if row else None,
        habit=habit_of(outlook),
        is_unglazed=is_unglazed(row.material) if row else None,
    )


def habit_of(outlook: TreeOutlook) -> Habit:
    """What it loses water with now.

    Without a known habit it counts as the thirstiest that is at rest: own choice. A
    tree that still has its autumn leaves counts as one that is waking.
    """
    taxon = outlook.tree.taxon
    sheds = taxon.is_evergreen is False or taxon.habit.startswith("deciduous")
    stage = outlook.stage.name if outlook.stage else None
    if stage in AWAKE or (sheds and not _is_leafless(outlook)):
        return Habit.WAKING
    if sheds:
        return Habit.LEAFLESS
    return Habit.CONIFER if "conifer" in taxon.habit else Habit.BROADLEAF


def _is_leafless(outlook: TreeOutlook) -> bool:
    if outlook.stage:
        return outlook.stage.name in AT_REST
    fallen = counting_leaf_fall(outlook.tree, outlook.today)
    return fallen is not None or outlook.today.month in MIDWINTER


def is_unglazed(material: str) -> bool | None:
    told = material.casefold()
    if "unglazed" not in told and CLOSED.search(told):
        return False
    return True if any(word in told for word in UNGLAZED) else None


def history_of(
    outlook: TreeOutlook, row: PotRow | None, places: Sequence[Place]
) -> History:
    """All that was written down of this pot up to the outlook's instant."""
    if row is None:
        return History(waterings=[])
    zone, tree = outlook.zone, outlook.tree
    span = (datetime.combine(row.since, time(), zone), outlook.at)
    watered = Watering.objects.filter(tree=tree, at__range=span)
    seen = Observation.objects.filter(tree=tree, at__range=span).order_by("at", "pk")
    words = [_word(one, zone) for one in seen]
    return History(
        waterings=[
            at.astimezone(zone).date() for at in watered.values_list("at", flat=True)
        ],
        # What was found on the day of potting up was found in the old pot.
        words=[word for word in words if word.on > row.since],
        changes=_changes(outlook, places),
    )


def _word(seen: Observation, zone: ZoneInfo) -> Word:
    word = READ_ON_A_ROUND.get(seen.moisture) if seen.round_id else None
    return Word(seen.at.astimezone(zone).date(), word or seen.moisture)


def _changes(outlook: TreeOutlook, places: Sequence[Place]) -> list[date]:
    """Days of leaf fall, bud swell and moves into another air, this winter."""
    first, today = outlook.winter.first_day, outlook.today
    swelled = BudStage.objects.filter(
        tree=outlook.tree, code__range=(SWELLING, AUTUMN - 1), on__range=(first, today)
    )
    days = [
        counting_leaf_fall(outlook.tree, today),
        swelled.order_by("on").values_list("on", flat=True).first(),
    ]
    days += [
        place.since
        for before, place in pairwise(places)
        if place.microclimate_id != before.microclimate_id and place.since >= first
    ]
    return [day for day in days if day]
