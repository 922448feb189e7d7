"""The root zone of a tree's own pot, computed from the air around it."""

import re
from dataclasses import dataclass

import numpy as np

from wintering.forecast.queries.exposure import hour_of
from wintering.forecast.queries.outlook import TreeOutlook
from wintering.science.hardiness import root_risk
from wintering.science.pots import USUAL_WALL_CM, Pot, PotMaterial, PotShape
from wintering.science.root_ball import USUAL_WATER
from wintering.science.root_zone import RootEstimate, root_estimate
from wintering.trees.models import Pot as PotRow

LOOKED_BACK_H = 45 * 24
"""So many hours are run: own choice, frozen balls remember for weeks."""

MATERIAL_WORDS = {
    PotMaterial.FIRED_CLAY: r"clay|stoneware|ceramics?|earthenware|porcelain|"
    r"terra[ -]?cotta|fired|(un)?glazed",
    PotMaterial.PLASTIC: "plastic|polypropylene|mica",
    PotMaterial.WOOD: "wood|wooden|cedar",
}
"""Whole words, the first kind found wins: 'wood-fired' is clay, and so is the pot in a
plastic saucer, for fired clay lets most heat through. A box can be of anything."""


@dataclass(frozen=True, eq=False)
class OwnPot:
    """What the model says of the tree's own pot.

    coldest_c  coldest hour of the last day and night, least at the rim, where the young
               roots are, and most in the ball as a whole [°C]
    may_kill   whether the rim may have come to what kills the roots
    hours      hours until the act value is reached if the air stays as it is now, least
               at the rim and most in the ball as a whole; None where it does not get
               there, is there already or is not known
    """

    pot: Pot
    estimate: RootEstimate
    coldest_c: tuple[float, float]
    may_kill: bool
    hours: tuple[float, float] | None
    assumed: str


def own_pot(outlook: TreeOutlook, row: PotRow | None) -> OwnPot | None:
    """None where the pot's measures or the air around it are not known."""
    pot = pot_of(row)
    if row is None or pot is None:
        return None
    end = hour_of(outlook.at)
    air = outlook.exposure.air.window(end - LOOKED_BACK_H, end)
    estimate = root_estimate(air, pot)
    rim, low, high = (
        root_risk(each.window(end - 24, end), outlook.root_limits)
        for each in (estimate.rim, estimate.low, estimate.high)
    )
    if rim is None or low is None or high is None:
        return None
    return OwnPot(
        pot=pot,
        estimate=estimate,
        coldest_c=(rim.lowest_c, high.lowest_c),
        may_kill=rim.lowest_c <= outlook.root_limits.kill_c,
        hours=_hours_to_act(outlook, estimate, (low.latest_c, high.latest_c)),
        assumed=_assumed(row, pot),
    )


def pot_of(row: PotRow | None) -> Pot | None:
    """The pot as the heat of its ball sees it; None without its three measures."""
    if row is None or row.height_cm is None:
        return None
    # Where nothing is told fired clay, which lets most heat through.
    material = _material(row.material) or PotMaterial.FIRED_CLAY
    # An outline of another kind counts as the oval within it: the smaller ball.
    shape = PotShape.OVAL if row.shape == PotRow.Shape.OTHER else PotShape(row.shape)
    long, short = sorted((row.width_cm, row.depth_cm), reverse=True)
    try:
        return Pot(
            shape=shape,
            length_cm=long,
            width_cm=long if shape is PotShape.ROUND else short,
            height_cm=row.height_cm,
            wall_cm=USUAL_WALL_CM[material],
            material=material,
        )
    except ValueError:  # measures that leave no room for a ball
        return None


def _material(words: str) -> PotMaterial | None:
    """What the pot is said to be made of; None if no word says it."""
    kinds = MATERIAL_WORDS.items()
    found = (kind for kind, known in kinds if re.search(rf"(?i)\b({known})\b", words))
    return next(found, None)


def _assumed(row: PotRow, pot: Pot) -> str:
    dry, wet = USUAL_WATER
    told = "" if _material(row.material) else ", not told"
    return (
        f"A pot of {pot.volume_l:.1f} L, wall of {pot.material}{told}; water {dry:.0%} "
        f"to {wet:.0%} of its volume, since nobody knows how wet it is; still air, no "
        "sun, no mulch."
    )


def _hours_to_act(
    outlook: TreeOutlook, estimate: RootEstimate, latest_c: tuple[float, float]
) -> tuple[float, float] | None:
    end = hour_of(outlook.at)
    air_c = float(outlook.exposure.air.window(end - 1, end).c[0])
    limit_c = outlook.root_limits.act_c
    # of a sensor that fell silent nobody knows how much of that time is gone already
    if np.isnan(air_c) or air_c >= limit_c or max(latest_c) <= limit_c:
        return None
    return estimate.coast_h(from_c=latest_c, air_c=air_c, limit_c=limit_c)
