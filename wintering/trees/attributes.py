"""What can be stated of a taxon or a tree: its question, unit and vocabulary."""

from dataclasses import dataclass
from enum import StrEnum

from wintering.science.dormancy import ChillUnit
from wintering.science.hardiness import RootClass


class Answer(StrEnum):
    """How a value is given."""

    RANGE = "range"
    CHOICE = "choice"
    TEXT = "text"


@dataclass(frozen=True, slots=True)
class Attribute:
    """One thing to be known.

    units            unit and its words, the usual one first
    choices          value and its words, for a choice
    lowest, highest  what a number can be
    is_limit         warnings rest on the keeper's own value of it
    """

    name: str
    label: str
    answer: Answer = Answer.TEXT
    units: tuple[tuple[str, str], ...] = ()
    choices: tuple[tuple[str, str], ...] = ()
    lowest: float | None = None
    highest: float | None = None
    is_limit: bool = False


def _choice(name: str, label: str, *values: str, is_limit: bool = False) -> Attribute:
    pairs = tuple((value, value) for value in values)
    return Attribute(name, label, Answer.CHOICE, choices=pairs, is_limit=is_limit)


def _celsius(
    name: str, label: str, lowest: float, highest: float, *, is_limit: bool = False
) -> Attribute:
    return Attribute(
        name,
        label,
        Answer.RANGE,
        units=(("°C", "°C"),),
        lowest=lowest,
        highest=highest,
        is_limit=is_limit,
    )


CHILL_UNITS = tuple((unit.value, unit.words) for unit in ChillUnit)

# In the order in which a keeper asks.
ATTRIBUTES = {
    attribute.name: attribute
    for attribute in (
        _choice(
            "dormancy_class",
            "Winter rest",
            "needs cold dormancy",
            "needs cool rest",
            "must stay frost-free",
            "no dormancy",
        ),
        Attribute(
            "chilling_requirement",
            "Chill needed",
            Answer.RANGE,
            units=CHILL_UNITS,
            lowest=1,
            highest=4000,
            is_limit=True,
        ),
        Attribute("chilling_optimum", "Chill for the fullest budbreak"),
        _choice("root_class", "Root class", *RootClass, is_limit=True),
        _celsius("root_kill_temp", "Roots killed at", -60, 0, is_limit=True),
        Attribute("root_survival_range", "Roots survived down to"),
        Attribute("root_hardiness_class", "Root hardiness in words"),
        _celsius("zone_limit_temp", "Top survives to about", -60, 5),
        Attribute("usda_zone_min", "Coldest hardiness zone (USDA)"),
        Attribute("usda_zone_max", "Warmest hardiness zone (USDA)"),
        _celsius("advised_storage_min", "Coldest storage advised", -30, 20),
        Attribute("winter_light", "Light in winter"),
        Attribute("caution", "Caution"),
        Attribute(
            "wake_rank",
            "Wake rank, 1 first to 5 last",
            Answer.RANGE,
            units=(("rank", "of 5"),),
            lowest=1,
            highest=5,
        ),
        Attribute("budbreak_order", "Order of budbreak"),
        Attribute("forcing_requirement", "Warmth to budbreak"),
        Attribute("chill_days_threshold", "Chill days before warmth tells"),
        Attribute("thermal_time_group", "Thermal time group"),
        Attribute("thermal_time_a", "Thermal time to leaf growth, least (a)"),
        Attribute(
            "thermal_time_b", "Thermal time to leaf growth, added without chill (b)"
        ),
        Attribute("thermal_time_k", "Thermal time, fall with chill (k)"),
        Attribute("thermal_time_r", "Thermal time, rate (r)"),
        Attribute("exit_group", "Order of spring exit, a first"),
        Attribute("note", "Note"),
    )
}


def label_of(name: str) -> str:
    known = ATTRIBUTES.get(name)
    return known.label if known else name.replace("_", " ").capitalize()


def by_question(name: str) -> tuple[int, str]:
    """Sorts attributes as a keeper asks for them, unforeseen ones last."""
    known = list(ATTRIBUTES)
    return known.index(name) if name in known else len(known), name
