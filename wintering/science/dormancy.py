"""Dormancy: chill against its need, waking, and the stage a tree is in."""

from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from wintering.science.bbch import AUTUMN, LEAFLESS, SWELLING, UNFOLDED
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
from wintering.science.forcing import CHILL_DAY_C
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

REST_BEGINS_MONTH = 11
"""Where no leaf fall was entered, a northern tree is taken to rest from November on:
own choice, the last month in which trees are carried in."""

SUMMER = (6, 7)
"""In these months a stage is known only from what was seen: own choice."""

SHORT_DAY_H = 12.0
"""Shortening days from here down ask a tree to stop growing: own choice on the late
side. Willows of 59° N stopped at 15 to 16 h and those of 69° N at 22 h (Physiologia
Plantarum 1980, doi 10.1111/j.1399-3054.1980.tb03266.x): it differs with the origin."""

COOL_C = 9.0
"""At a mean of 9 °C most plum and cherry stocks stopped growing whatever the daylength,
at 12 and 15 °C some in short days only, at 21 °C none in either (Heide 2008, Scientia
Horticulturae 115:309-314). Taken for all trees: own choice."""

COLD_C = CHILL_DAY_C
"""A tree that keeps its leaves is taken to rest in short days with a mean at or below
the limit of a chill day: own choice, for want of a leaf fall that would show it."""


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
    sheds_leaves: bool = True,
    daylength_h: float | None = None,
    recent_mean_c: float | None = None,
) -> Stage | None:
    """The dormancy stage of a tree on a day; None while nothing speaks for one.

    leaf_fall_on   day of leaf fall in the winter of that day
    chill_met      'no', 'possibly' between the bounds of the need or 'likely' above the
                   upper one, from the chill outlook
    w              index of waking from the wake outlook; where buds were seen closed,
                   what counts after that
    bud_stage      last leaf-bud stage seen this winter, BBCH code 0 to 99
    sheds_leaves   False for a tree that keeps its leaves or needles: no leaf fall is
                   waited for
    daylength_h    from sunrise to sunset on that day, where the tree stands [h]
    recent_mean_c  mean of the last two weeks or so where it stands [°C]

    What was seen comes before what was computed. For trees that need cold dormancy in
    the northern hemisphere. Hardening comes in two steps, the first asked for by short
    days and the second by low temperature (red-osier dogwood: Plant Physiology 1971,
    doi 10.1104/pp.47.1.164); without both figures the calendar stands in for them.
    """
    seen = _seen(bud_stage)
    if seen is not None:
        return seen
    if on.month in SUMMER:
        return None
    if w is not None and w >= LEVELS[WakeLevel.AWAKE]:
        return Stage(
            DormancyStage.WAKING,
            f"The warmth so far is {w:.0%} of what is asked for budburst: it may be "
            "awake already.",
        )
    if sheds_leaves and leaf_fall_on is not None and on < leaf_fall_on:
        return Stage(
            DormancyStage.ACCLIMATING,
            f"The leaves were still on: they fell on {_day(leaf_fall_on)}.",
        )
    at_rest = bud_stage is not None or (
        leaf_fall_on is not None
        if sheds_leaves
        else _is_deep_autumn(daylength_h, recent_mean_c)
    )
    if chill_met not in ("possibly", "likely") and not at_rest and _autumn(on):
        return _hardening(sheds_leaves, daylength_h, recent_mean_c)
    return _resting(chill_met)


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


def _hardening(
    sheds_leaves: bool, daylength_h: float | None, recent_mean_c: float | None
) -> Stage | None:
    """Before rest; None for an evergreen still growing, as no word is for that."""
    is_short = daylength_h is not None and daylength_h <= SHORT_DAY_H
    is_cool = recent_mean_c is not None and recent_mean_c <= COOL_C
    signs = _signs(daylength_h, recent_mean_c)
    if is_short and is_cool:
        because = f"With {signs} growth has stopped and the tree hardens."
    elif is_cool:
        because = f"With {signs} growth stops: it is cool enough in any daylength."
    elif is_short:
        because = f"With {signs} hardening begins; it goes on once it is cold."
    elif daylength_h is not None and recent_mean_c is not None:
        because = f"With {signs} nothing asks the tree to stop growing yet."
        return Stage(DormancyStage.IN_LEAF, because) if sheds_leaves else None
    elif sheds_leaves:
        because = "It is late summer or autumn, and no leaf fall has been entered."
    else:
        because = (
            "It is late summer or autumn; a tree that keeps its leaves shows no more."
        )
    return Stage(DormancyStage.ACCLIMATING, because)


def _signs(daylength_h: float | None, recent_mean_c: float | None) -> str:
    words = []
    if daylength_h is not None:
        words.append(f"days of {daylength_h:.1f} h")
    if recent_mean_c is not None:
        words.append(f"a recent mean of {recent_mean_c:.1f} °C")
    return " and ".join(words)


def _is_deep_autumn(daylength_h: float | None, recent_mean_c: float | None) -> bool:
    """Short days and cold: all the sign of rest that an evergreen gives."""
    if daylength_h is None or recent_mean_c is None:
        return False
    return daylength_h <= SHORT_DAY_H and recent_mean_c <= COLD_C


def _resting(chill_met: str | None) -> Stage | None:
    if chill_met == "likely":
        return Stage(
            DormancyStage.ECODORMANT,
            "The chill requirement is likely fulfilled, its upper bound met: only cold "
            "holds the buds now.",
        )
    if chill_met == "possibly":
        return Stage(
            DormancyStage.ECODORMANT,
            "The chill requirement is possibly fulfilled, the sum lies between its "
            "bounds: treat the buds as held by cold alone.",
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
