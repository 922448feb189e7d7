"""Dormancy: chill against its need, waking, and the stage a tree is in."""

from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from wintering.science.chill_need import (
    GENERAL_REQUIREMENT,
    Accumulated,
    Bracket,
    ChillOutlook,
    ChillUnit,
    Requirement,
    accumulated,
    chill_outlook,
)
from wintering.science.waking import (
    LEVELS,
    Crossing,
    WakeLevel,
    WakeOutlook,
    wake_outlook,
)
from wintering.science.winter import Winter

__all__ = [
    "GENERAL_REQUIREMENT",
    "LEVELS",
    "Accumulated",
    "Bracket",
    "ChillOutlook",
    "ChillUnit",
    "Crossing",
    "DormancyStage",
    "Requirement",
    "Stage",
    "WakeLevel",
    "WakeOutlook",
    "accumulated",
    "chill_outlook",
    "stage",
    "wake_outlook",
]

SWELLING, UNFOLDED = 1, 10
"""BBCH codes: leaf buds begin to swell; first leaves separated (Meier 2001, BBCH
Monograph, 2nd edition; wording from memory)."""

AUTUMN, LEAFLESS = 91, 97
"""BBCH codes: shoots are done growing, leaves still on; all leaves fallen."""

REST_BEGINS_MONTH = 11
"""Where no leaf fall was entered, a northern tree is taken to rest from November on:
own choice, the last month in which trees are carried in."""

SUMMER = (6, 7)
"""In these months a stage is known only from what was seen: own choice."""


class DormancyStage(StrEnum):
    """The physiologists' words (Lang et al. 1987, HortScience 22:371-377)."""

    ACCLIMATING = "acclimating"
    ENDODORMANT = "endodormant"
    ECODORMANT = "ecodormant"
    WAKING = "waking"
    IN_LEAF = "in leaf"


@dataclass(frozen=True)
class Stage:
    """A stage, and why it is thought to be that one."""

    name: DormancyStage
    because: str


def stage(
    on: date,
    *,
    leaf_fall_on: date | None = None,
    chill_met: str | None = None,
    w: float | None = None,
    bud_stage: int | None = None,
) -> Stage | None:
    """The dormancy stage of a tree on a day; None while nothing speaks for one.

    leaf_fall_on  day of leaf fall in the winter of that day
    chill_met     'no', 'possibly' or 'likely', from the chill outlook
    w             index of waking, from the wake outlook
    bud_stage     last leaf-bud stage seen this winter, BBCH code 0 to 99

    What was seen comes before what was computed. For trees that need cold dormancy in
    the northern hemisphere.
    """
    seen = _seen(bud_stage)
    if seen is not None:
        return seen
    if on.month in SUMMER:
        return None
    if w is not None and w >= LEVELS[WakeLevel.AWAKE]:
        return Stage(
            DormancyStage.WAKING,
            f"The warmth so far is {w:.0%} of what is asked for budburst: treat the "
            "tree as awake.",
        )
    return _resting(on, leaf_fall_on, chill_met, leafless=bud_stage is not None)


def _seen(bud_stage: int | None) -> Stage | None:
    if bud_stage is None:
        return None
    if not 0 <= bud_stage <= 99:
        raise ValueError(f"{bud_stage} is not a BBCH code: they run from 0 to 99.")
    seen = f"Bud stage BBCH {bud_stage:02d} was seen."
    if AUTUMN <= bud_stage < LEAFLESS:
        return Stage(DormancyStage.ACCLIMATING, seen)
    if UNFOLDED <= bud_stage < AUTUMN:
        return Stage(DormancyStage.IN_LEAF, seen)
    if SWELLING <= bud_stage < UNFOLDED:
        return Stage(DormancyStage.WAKING, seen)
    return None


def _resting(
    on: date, leaf_fall_on: date | None, chill_met: str | None, *, leafless: bool
) -> Stage | None:
    if leaf_fall_on is not None and on < leaf_fall_on:
        return Stage(
            DormancyStage.ACCLIMATING,
            f"The leaves were still on: they fell on {_day(leaf_fall_on)}.",
        )
    if chill_met == "likely":
        return Stage(
            DormancyStage.ECODORMANT,
            "The chill requirement is likely met: only cold holds the buds now.",
        )
    if chill_met == "possibly":
        return Stage(
            DormancyStage.ECODORMANT,
            "The chill requirement is possibly met: treat the buds as held by cold "
            "alone.",
        )
    if leaf_fall_on is None and not leafless and _autumn(on):
        return Stage(
            DormancyStage.ACCLIMATING,
            "It is autumn and no leaf fall has been entered.",
        )
    if chill_met == "no":
        return Stage(
            DormancyStage.ENDODORMANT,
            "The chill requirement is not met yet: warmth alone would not open the "
            "buds.",
        )
    return None


def _autumn(on: date) -> bool:
    return on < date(Winter.of(on).start_year, REST_BEGINS_MONTH, 1)


def _day(day: date) -> str:
    return f"{day.day} {day:%B}"
