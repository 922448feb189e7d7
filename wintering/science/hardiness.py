"""How much cold roots and tops bear, and how near the readings came to it."""

import re
from dataclasses import dataclass, replace
from datetime import date
from enum import StrEnum

import numpy as np

from wintering.science.bbch import AUTUMN, GREEN
from wintering.science.evidence import Evidence
from wintering.science.series import Hourly
from wintering.science.units import f_to_c

WATCH_MARGIN_K, ACT_MARGIN_K = 4.0, 2.0
"""Watch and act lie so far above the temperature that kills: common practice."""

USUAL_MARGINS = (
    "watch 4 and act 2 degrees (°C) above what kills, by common practice; earlier "
    "where it is said so"
)


class RootClass(StrEnum):
    """Classes of hardiness for trees without a figure of their own, hardiest first."""

    RA = "RA"
    RB = "RB"
    RC = "RC"
    RD = "RD"
    RE = "RE"


class WhereMeasured(StrEnum):
    """The temperature a limit speaks of; without its place it means nothing."""

    ROOT_ZONE = "root zone"
    AIR = "air"


@dataclass(frozen=True)
class RootLimits:
    """Temperatures at which to watch, to act, and at which damage is expected [°C].

    root_class  None where the tree's taxon has a figure of its own
    where       RE speaks of the air around green tips, all others of the root zone
    meaning     the trees a class is for
    source      what the kill figure rests on
    because     why these limits apply to this tree, as a sentence
    margins     what watch and act rest on
    """

    root_class: RootClass | None
    kill_c: float
    watch_c: float
    act_c: float
    where: WhereMeasured
    meaning: str
    source: str
    evidence: Evidence
    because: str = ""
    margins: str = USUAL_MARGINS


def _class(
    root_class: RootClass, kill_c: float, meaning: str, source: str, evidence: Evidence
) -> RootLimits:
    return RootLimits(
        root_class=root_class,
        kill_c=kill_c,
        watch_c=round(kill_c + WATCH_MARGIN_K, 1),
        act_c=round(kill_c + ACT_MARGIN_K, 1),
        where=WhereMeasured.ROOT_ZONE,
        meaning=meaning,
        source=source,
        evidence=evidence,
    )


ROOT_CLASSES = {
    RootClass.RA: _class(
        RootClass.RA,
        -25.0,
        "spruce, larch, hardy pines, most junipers",
        "-14 °F (-25.6 °C) for pine, most juniper and spruce: F. Gouin, extension "
        "column, 2006, bayweekly.com/old-site/year06/issuexiv47/gardenerxiv47.html; "
        "larch and arborvitae by analogy, common practice",
        Evidence.COMMON_PRACTICE,
    ),
    RootClass.RB: _class(
        RootClass.RB,
        -9.4,
        "ordinary temperate deciduous trees, Japanese maple, stewartia, beech",
        "the '15 degree rule' (15 °F): a bonsai society's page on wintering; a list "
        "naming maple, stewartia and beech, second-hand",
        Evidence.COMMON_PRACTICE,
    ),
    RootClass.RC: _class(
        RootClass.RC,
        -6.7,
        "boxwood, holly, magnolia, privet; satsuki and trident maple",
        "20 °F for boxwood, holly, magnolia and privet: F. Gouin, extension column, "
        "2006, bayweekly.com/old-site/year06/issuexiv47/gardenerxiv47.html; satsuki "
        "and trident maple by trade opinion, common practice",
        Evidence.COMMON_PRACTICE,
    ),
    RootClass.RD: _class(
        RootClass.RD,
        -5.0,
        "any tree whose roots were worked on in the last 12 months; seedlings",
        "23 °F for immature roots of American holly against 9 °F for mature ones: "
        "H. Mathers, second-hand; young roots of yew did not harden: J. ASHS "
        "96:83-87, 1971, doi 10.21273/jashs.96.1.83; that it lapses after 12 months "
        "is common practice",
        Evidence.COMMON_PRACTICE,
    ),
    RootClass.RE: RootLimits(
        root_class=RootClass.RE,
        kill_c=-3.0,
        watch_c=0.0,
        act_c=-1.5,
        where=WhereMeasured.AIR,
        meaning="anything with green tips or open leaves",
        source=(
            "-3 °C (27 °F), watch and act by common practice, a little milder than "
            "was measured: half of the emerging leaves of seven temperate trees are "
            "killed at -3.5 to -8.3 °C by species, J. Ecology 2014, doi "
            "10.1111/1365-2745.12251"
        ),
        evidence=Evidence.COMMON_PRACTICE,
        margins="common practice for green growth",
    ),
}


def _tender(act_c: float, watch_c: float, meaning: str, source: str) -> RootLimits:
    return RootLimits(
        root_class=None,
        kill_c=0.0,
        watch_c=watch_c,
        act_c=act_c,
        where=WhereMeasured.ROOT_ZONE,
        meaning=meaning,
        source=source,
        evidence=Evidence.OWN_CHOICE,
        because=f"It belongs to the {meaning}: no class of hardy roots is for it.",
        margins="the band that such trees are wintered in, as its source has it",
    )


MUST_STAY_FROST_FREE = _tender(
    2.0,
    5.0,
    "trees that must stay frost-free",
    "wintered at 5 to 12 °C, from memory; to count them as killed when their balls "
    "freeze is own choice, on the side of caution",
)
HAS_NO_DORMANCY = _tender(
    10.0,
    12.0,
    "trees without a dormancy",
    "chilling injury is typical at about 10 °C (Swift, Colorado State University "
    "Extension, Winter Acclimation of Woody Plants); to count them as killed when "
    "their balls freeze is own choice, on the side of caution",
)


@dataclass(frozen=True)
class RootKill:
    """A stated temperature that kills the roots of a taxon [°C], and its source."""

    kill_c: float
    source: str
    evidence: Evidence = Evidence.PUBLISHED


def root_class(
    own: RootClass | None,
    *,
    on: date,
    last_root_work_on: date | None,
    bud_stage: int | None = None,
    root_kill: RootKill | None = None,
    young_kill: RootKill | None = None,
) -> RootLimits:
    """The most cautious limits that apply to a tree on a day.

    own                the class of its taxon; None if unknown, which counts as RC
    last_root_work_on  last repotting or root pruning; None if unknown, which counts as
                       this year
    bud_stage          last leaf-bud stage seen, BBCH code; from 7 on green shows
    root_kill          the taxon's own published figure, used in place of the class
    young_kill         a published figure of the taxon's young roots; where roots count
                       as worked on the milder of it and class RD applies

    Green growth gives limits for the air. The roots below it keep their own: ask again
    without the bud stage for those.
    """
    applying = [_of_taxon(own, root_kill)]
    worked = _why_young(last_root_work_on, on)
    if worked:
        applying.append(_because(RootClass.RD, worked))
    if worked and young_kill:
        applying.append(_of_young_roots(young_kill, worked))
    if bud_stage is not None and GREEN <= bud_stage < AUTUMN:
        applying.append(
            _because(RootClass.RE, f"Green shows: bud stage BBCH {bud_stage:02d}.")
        )
    return max(applying, key=lambda limits: limits.kill_c)


def is_recent(root_work_on: date, on: date) -> bool:
    """Whether root work still counts on a day: for 12 months, by common practice."""
    return on < _a_year_after(root_work_on)


def _why_young(last_root_work_on: date | None, on: date) -> str:
    """Why roots count as young on a day; empty where they do not."""
    if last_root_work_on is None:
        return "The last root work is not known, which counts as this year."
    if not is_recent(last_root_work_on, on):
        return ""
    return (
        f"The last root work was on {last_root_work_on.day} {last_root_work_on:%B %Y}, "
        "less than 12 months before."
    )


def _of_young_roots(kill: RootKill, worked: str) -> RootLimits:
    because = f"{worked} Young roots of this taxon"
    return _of_figure(kill, meaning="young roots of this taxon", because=because)


def _of_taxon(own: RootClass | None, root_kill: RootKill | None) -> RootLimits:
    if root_kill is not None:
        because = "Its roots"
        return _of_figure(root_kill, meaning="this taxon", because=because)
    if own is None:
        return _because(
            RootClass.RC, "The root class of this taxon is unknown, so RC is assumed."
        )
    return _because(own, f"The taxon belongs to root class {own}.")


def _of_figure(kill: RootKill, *, meaning: str, because: str) -> RootLimits:
    """Limits from a figure of the taxon's own; because begins its sentence."""
    return RootLimits(
        root_class=None,
        kill_c=kill.kill_c,
        watch_c=round(kill.kill_c + WATCH_MARGIN_K, 1),
        act_c=round(kill.kill_c + ACT_MARGIN_K, 1),
        where=WhereMeasured.ROOT_ZONE,
        meaning=meaning,
        source=kill.source,
        evidence=kill.evidence,
        because=(
            f"{because} are killed at {kill.kill_c:.1f} °C ({kill.evidence}); watch 4 "
            "K and act 2 K above that is common practice."
        ),
    )


def _because(root_class: RootClass, because: str) -> RootLimits:
    return replace(ROOT_CLASSES[root_class], because=because)


def _a_year_after(day: date) -> date:
    try:
        return day.replace(year=day.year + 1)
    except ValueError:  # 29 February
        return date(day.year + 1, 3, 1)


WARMEST_WATCH_C = 0.0
"""A raised watch value stays at or below this: own choice, roots that do not freeze are
not hurt by cold, and a warning that always stands is none."""


def raised(limits: RootLimits, by_k: float, because: str) -> RootLimits:
    """The same limits watched by_k earlier [K]; where to act stays."""
    warmest_c = max(limits.watch_c, WARMEST_WATCH_C)
    watch_c = round(min(limits.watch_c + by_k, warmest_c), 1)
    if watch_c == limits.watch_c:
        return limits
    return replace(limits, watch_c=watch_c, because=f"{limits.because} {because}")


@dataclass(frozen=True)
class RootRisk:
    """How near a root zone came to the limits.

    lowest_c, lowest_hour  the coldest hour and its number since 1970 UTC
    level                  'act', 'watch' or None, by the coldest hour
    latest_c, latest_hour  the last hour that is known
    latest_level           'act', 'watch' or None, by that hour
    hours_at_watch, _act   hours at or below each limit; _kill where damage is expected
    missing_hours          hours without a temperature, which may have been colder
    """

    lowest_c: float
    lowest_hour: int
    level: str | None
    latest_c: float
    latest_hour: int
    latest_level: str | None
    hours_at_watch: int
    hours_at_act: int
    hours_at_kill: int
    missing_hours: int


def root_risk(root: Hourly, limits: RootLimits) -> RootRisk | None:
    """What the temperatures of some hours mean for roots with these limits.

    root  hourly temperature of the root zone (of the air for class RE)

    None if no hour has a temperature: not known, which is not the same as safe.
    """
    known = np.flatnonzero(~np.isnan(root.c))
    if not known.size:
        return None
    lowest, latest = int(np.nanargmin(root.c)), int(known[-1])
    return RootRisk(
        lowest_c=float(root.c[lowest]),
        lowest_hour=root.first_hour + lowest,
        level=_level(float(root.c[lowest]), limits),
        latest_c=float(root.c[latest]),
        latest_hour=root.first_hour + latest,
        latest_level=_level(float(root.c[latest]), limits),
        hours_at_watch=int((root.c <= limits.watch_c).sum()),
        hours_at_act=int((root.c <= limits.act_c).sum()),
        hours_at_kill=int((root.c <= limits.kill_c).sum()),
        missing_hours=root.c.size - known.size,
    )


def _level(c: float, limits: RootLimits) -> str | None:
    if c <= limits.act_c:
        return "act"
    return "watch" if c <= limits.watch_c else None


def zone_lower_limit_c(zone: str) -> float:
    """Average yearly minimum at the cold edge of a USDA hardiness zone [°C].

    zone  1 to 13, with or without the half: '4', '4a', '4b'; without it the colder

    10 °F a zone and 5 °F a half from -60 °F on (USDA Plant Hardiness Zone Map; from
    memory). It speaks of plants in the ground and of their tops: roots in a pot are
    killed by far less cold.
    """
    match = re.fullmatch(r"(1[0-3]|[1-9])([ab]?)", zone.strip().lower())
    if match is None:
        raise ValueError(
            f"“{zone}” is not a USDA hardiness zone: they run from 1a to 13b."
        )
    return f_to_c(
        -60.0 + 10.0 * (int(match[1]) - 1) + (5.0 if match[2] == "b" else 0.0)
    )
