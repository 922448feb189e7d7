"""A tree in its pot as far as water goes: what the pot holds and how it dries."""

import math
from dataclasses import dataclass
from enum import StrEnum
from statistics import NormalDist

import numpy as np
from numpy.typing import NDArray

from wintering.science.drying import COARSE, FINE, surface_loss_mm
from wintering.science.drying_factor import Belief
from wintering.science.evidence import Evidence
from wintering.science.pots import Pot
from wintering.science.substrate import Range, height_factor, holding


class Habit(StrEnum):
    """What a tree loses water with."""

    CONIFER = "evergreen conifer"
    BROADLEAF = "broad-leaved evergreen"
    LEAFLESS = "leafless"
    WAKING = "swelling buds"


USUAL_FACTOR = {
    Habit.LEAFLESS: 1.0,
    Habit.CONIFER: 1.2,
    Habit.BROADLEAF: 1.5,
    Habit.WAKING: 1.6,
}
FACTOR_SD = 0.5
"""Before anything is learned of a tree: own choice. Winter loss of evergreens is small
beside that of the wet surface, but not of a large crown over a small pot."""

WEIGHED_SD = 0.1
"""Of the logarithm of available water that was weighed: own choice."""

MOSS_PART, WALL_PART = 0.5, 0.3
"""A covered surface dries so much slower; an unglazed wall counts for so much of its
area. Own choice."""

SURELY = NormalDist().inv_cdf(0.9)
"""A range is read as the points that 10 and 90 % lie below."""


@dataclass(frozen=True)
class PottedTree:
    """A tree and its pot, as far as they matter for water.

    pot          None if its sizes are not known
    substrate    the keeper's words for it, or None
    is_unglazed  None if not known
    is_covered   true with moss or mulch on the soil; None if not known
    weighed_l    available water by two weighings [L]: drained after a thorough
                 watering, and when the keeper would water again
    """

    pot: Pot | None
    substrate: str | None
    habit: Habit
    is_unglazed: bool | None = None
    is_covered: bool | None = None
    weighed_l: float | None = None

    def __post_init__(self) -> None:
        if self.weighed_l is None:
            return
        most = 0.6 * self.pot.volume_l if self.pot else math.inf
        if not 0 < self.weighed_l <= most:
            raise ValueError(
                f"{self.weighed_l:g} L of available water cannot be: it is above 0 and "
                "at most 0.6 of the pot's volume. Weigh again."
            )


@dataclass(frozen=True)
class Held:
    """Water that the full pot holds for its tree [L], and what that rests on."""

    litres: Range
    is_fine: bool
    because: str
    evidence: Evidence


def held_l(tree: PottedTree) -> Held | None:
    """Water that the full pot holds for its tree, as weighed or from the substrate.

    None if the pot's sizes are not known.
    """
    if tree.pot is None:
        return None
    substrate = holding(tree.substrate)
    if tree.weighed_l is not None:
        spread = math.exp(SURELY * WEIGHED_SD)
        return Held(
            Range(tree.weighed_l / spread, tree.weighed_l, tree.weighed_l * spread),
            substrate.is_fine,
            "As weighed.",
            Evidence.KEEPERS_OWN,
        )
    litres = tree.pot.volume_l * height_factor(tree.pot.soil_depth_cm)
    share = substrate.available
    return Held(
        Range(litres * share.low, litres * share.likely, litres * share.high),
        substrate.is_fine,
        substrate.because,
        substrate.evidence,
    )


def prior(habit: Habit, held: Held) -> Belief:
    """What is believed of a tree's factor before anything was found in its pot.

    Only factor by available water can be seen, so doubt about the one is added to
    doubt about the other.
    """
    water_sd = math.log(held.litres.high / held.litres.low) / (2 * SURELY)
    return Belief(math.log(USUAL_FACTOR[habit]), math.hypot(FACTOR_SD, water_sd))


def lost_kg(
    tree: PottedTree, pot: Pot, held: Held, demand_mm: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Loss since a watering with a factor of 1, up to the end of each day [kg].

    demand_mm  demand of each day since [mm/d], without gaps

    A leafless tree's pot slows as its surface dries. With leaves no slowing is
    credited, because they go on drawing from below: own choice, the cautious side.
    """
    surface = pot.top_m2 * (MOSS_PART if tree.is_covered else 1.0)
    wall = pot.wall_m2 * WALL_PART if tree.is_unglazed else 0.0
    if tree.habit is Habit.LEAFLESS:
        demand_mm = surface_loss_mm(demand_mm, FINE if held.is_fine else COARSE)
    return np.cumsum(demand_mm) * (surface + wall)
