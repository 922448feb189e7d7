"""What can be stated of a taxon or a tree: its question, unit and vocabulary."""

from dataclasses import dataclass
from enum import StrEnum

from wintering.science.dormancy import ChillUnit
from wintering.science.hardiness import RootClass


class Theme(StrEnum):
    """What a question is about, in the order of a page."""

    CAUTION = "Cautions"
    ROOTS = "Roots"
    TOP = "Top"
    REST = "Winter rest and chill"
    STORING = "In winter storage"
    WAKING = "Waking"
    NOTES = "Notes"
    # Nobody is asked these: they are there where somebody has measured.
    TRIALS = "Figures of trials and models"


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


def _number(
    name: str,
    label: str,
    lowest: float,
    highest: float,
    *units: tuple[str, str],
    is_limit: bool = False,
) -> Attribute:
    return Attribute(
        name,
        label,
        Answer.RANGE,
        units=units,
        lowest=lowest,
        highest=highest,
        is_limit=is_limit,
    )


CELSIUS = ("°C", "°C")
CHILL_UNITS = tuple((unit.value, unit.words) for unit in ChillUnit)

# In the order in which a keeper asks.
BY_THEME = {
    Theme.CAUTION: (Attribute("caution", "Caution"),),
    Theme.ROOTS: (
        _choice("root_class", "Root class", *RootClass, is_limit=True),
        _number("root_kill_temp", "Roots killed at", -60, 0, CELSIUS, is_limit=True),
        _number("root_survival_range", "Roots survived down to", -60, 0, CELSIUS),
        _number("root_tolerated_temp", "Roots have borne", -60, 0, CELSIUS),
        Attribute("root_hardiness_class", "Root hardiness in words"),
    ),
    Theme.TOP: (
        _number("zone_limit_temp", "Top survives to about", -60, 5, CELSIUS),
        Attribute("usda_zone_min", "Coldest hardiness zone (USDA)"),
        Attribute("usda_zone_max", "Warmest hardiness zone (USDA)"),
        _number("shoot_hardiness_temp", "Hardened shoots bear", -90, 5, CELSIUS),
        _number("shoot_uninjured_temp", "Shoots unhurt down to", -90, 5, CELSIUS),
        _number("shoot_damage_temp", "Shoots hurt below", -90, 5, CELSIUS),
        _number("shoot_kill_temp", "Shoots killed below", -90, 5, CELSIUS),
    ),
    Theme.REST: (
        _choice(
            "dormancy_class",
            "Winter rest",
            "needs cold dormancy",
            "needs cool rest",
            "must stay frost-free",
            "no dormancy",
            is_limit=True,
        ),
        _number(
            "chilling_requirement",
            "Chill needed",
            1,
            4000,
            *CHILL_UNITS,
            is_limit=True,
        ),
        _number(
            "chilling_optimum", "Chill for the fullest budbreak", 1, 4000, *CHILL_UNITS
        ),
        Attribute("chilling_abnormal_below", "Growth went wrong with less chill than"),
        Attribute("chilling_completion", "Chill complete by"),
    ),
    Theme.STORING: (
        _number("advised_storage_min", "Coldest storage advised", -30, 20, CELSIUS),
        Attribute("winter_light", "Light in winter"),
        _number("leaf_drop_temp", "Leaves drop below", -20, 20, CELSIUS),
    ),
    Theme.WAKING: (
        _number("wake_rank", "Wake rank, 1 first to 5 last", 1, 5, ("rank", "of 5")),
        _choice(
            "budbreak_order",
            "Order of budbreak",
            "very early",
            "early",
            "mid",
            "late",
            "very late",
        ),
        _choice("exit_group", "Order of spring exit, a first", "a", "b", "c", "d"),
        _number("leaf_frost_temp", "Frost kills young leaves at", -20, 0, CELSIUS),
        Attribute("forcing_requirement", "Warmth to budbreak"),
    ),
    Theme.NOTES: (
        Attribute("grower_observation", "What a grower saw"),
        Attribute("note", "Note"),
    ),
    Theme.TRIALS: (
        Attribute("root_hardiness_temp", "Root hardiness in one study"),
        Attribute("root_hardiness_rank", "Rank of root hardiness in one study"),
        Attribute("root_dehardening", "How roots lose hardiness"),
        Attribute("dehardening", "How hardiness is lost"),
        Attribute("dehardening_max", "Fastest loss of hardiness seen"),
        Attribute("dehardening_rate", "Loss of hardiness in a mild spell"),
        Attribute("rehardening_rate", "Hardening again"),
        Attribute("storability_needle_hardiness", "Needles ready for storing at"),
        Attribute("budbreak_experiment", "Days to budbreak, forced"),
        Attribute("chill_days_threshold", "Chill days before warmth tells"),
        Attribute("chill_days_tested_max", "Longest chilling tried"),
        Attribute("thermal_time_group", "Thermal time group"),
        Attribute("thermal_time_a", "Thermal time to leaf growth, least (a)"),
        Attribute(
            "thermal_time_b", "Thermal time to leaf growth, added without chill (b)"
        ),
        Attribute("thermal_time_k", "Thermal time, fall with chill (k)"),
        Attribute("thermal_time_r", "Thermal time, rate (r)"),
    ),
}
ATTRIBUTES = {
    attribute.name: attribute
    for attributes in BY_THEME.values()
    for attribute in attributes
}
_THEMES = {
    attribute.name: theme
    for theme, attributes in BY_THEME.items()
    for attribute in attributes
}
# Named as not known where nothing is stated: what a keeper needs for a winter.
ASKED = (
    "root_class",
    "root_kill_temp",
    "zone_limit_temp",
    "dormancy_class",
    "chilling_requirement",
    "advised_storage_min",
    "winter_light",
    "wake_rank",
    "budbreak_order",
    "forcing_requirement",
    "leaf_frost_temp",
)


def label_of(name: str) -> str:
    known = ATTRIBUTES.get(name)
    return known.label if known else name.replace("_", " ").capitalize()


def theme_of(name: str) -> Theme:
    """What an attribute is about; an unforeseen one comes from some trial."""
    return _THEMES.get(name, Theme.TRIALS)


def by_question(name: str) -> tuple[int, str]:
    """Sorts attributes as a keeper asks for them, unforeseen ones last."""
    known = list(ATTRIBUTES)
    return known.index(name) if name in known else len(known), name
