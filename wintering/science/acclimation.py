"""How much cold the top and the roots of a tree bear on each day of a winter.

From an unhardened value U a part hardens in autumn towards its midwinter limit M, and
loses hardiness again on warm days once its rest is ending:

    bears = U - x (U - M) + loss          x, loss: see hardening.py

Each day has a mild and a hardy end, which carry the margin. For northern winters.
"""

from dataclasses import dataclass
from datetime import date, timedelta
from itertools import pairwise

import numpy as np

from wintering.science.bbch import AUTUMN, GREEN, SWELLING
from wintering.science.days import LocalDays
from wintering.science.evidence import Evidence
from wintering.science.hardening import (
    HARDY,
    MILD,
    ROOT_LOSS_K,
    TOP_LOSS_K,
    Days,
    DaysMet,
    SeasonDays,
    lost_k,
    root_drift_k,
    root_hardened,
    top_hardened,
)
from wintering.science.hardiness import ROOT_CLASSES, RootClass
from wintering.science.series import Hourly

TOP_UNHARDENED_C = (-2.0, -3.0)
"""Mild and hardy end for green tissue: a tenth of open apple flowers die at 28 °F
(extension.psu.edu, Critical Temperatures for Various Fruits); -3 °C for green tissue of
grapevine (Ferguson et al. 2011)."""

ROOT_UNHARDENED_C = (-3.0, -5.0)
"""Immature roots of American holly die at -5 °C (H. Mathers, second-hand); the mild end
is own choice. Young roots of yew hardened under no treatment (Mityga & Lanphear), so
this range holds all winter for roots that were worked on within 12 months."""

SWELLING_MILD_C, GREEN_HARDY_C = -7.8, -8.3
"""Swelling buds: a tenth of peach buds die at 18 °F when they first swell (source as
for flowers). Emerging leaves of the hardiest of seven trees are half killed at -8.3 °C
(J. Ecology 2014, doi 10.1111/1365-2745.12251)."""

ENDS = (MILD, HARDY)

WEAK_MARGIN_K = 3.0
"""Weak trees get a margin by common practice; how much is own choice."""

AFTERNOON_H = (12, 18)
WARM_AFTERNOON_C, RAISE_K, RAISED_FOR = 12.0, 5.0, timedelta(days=10)

SOURCE = (
    "Hardening after grapevine (Ferguson et al. 2011), loss after Kovaleski 2021 and "
    "Kalberer et al. 2007, roots after Lindström & Stattin 1994; lent to this tree "
    "with a margin of own choice. The extreme on record, apple bark that lost 15 "
    "degrees on the Celsius scale in one day in a warm greenhouse (Howell & Weiser "
    "1970, doi 10.21273/jashs.95.2.190), is beyond these rates"
)


@dataclass(frozen=True)
class Limit:
    """What a part bears in midwinter [°C], and what that rests on."""

    midwinter_c: float
    source: str
    evidence: Evidence


@dataclass(frozen=True)
class TreeState:
    """What is known of one tree.

    top, root     midwinter limits; None where nothing is known
    roots_worked  whether the roots were worked on within 12 months; None if unknown,
                  which counts as yes
    weak          whether it came in weak
    bud_stage     last leaf-bud stage seen, BBCH code
    buds_seen_on  the day on which it was seen: from then on it counts. None: not known,
                  so it counts on the last day alone, and the course steps there
    """

    top: Limit | None
    root: Limit | None
    roots_worked: bool | None
    weak: bool = False
    bud_stage: int | None = None
    buds_seen_on: date | None = None


@dataclass(frozen=True)
class Tolerance:
    """What a part bears on a day [°C], from the mild end to the hardy one, and why.

    Below the mild end damage is possible, below the hardy end it is expected.
    """

    mild_c: float
    hardy_c: float
    because: str
    source: str
    evidence: Evidence


@dataclass(frozen=True, eq=False)
class PartSeason:
    """The season of a top or of roots: a value a day from first on, and today's."""

    first: date
    mild_c: Days
    hardy_c: Days
    today: Tolerance


@dataclass(frozen=True, eq=False)
class Season:
    """None where no midwinter limit is known for a part."""

    top: PartSeason | None
    root: PartSeason | None


def season(days: SeasonDays, tree: TreeState) -> Season | None:
    """Hardiness of top and roots from 1 September to the last day given.

    None if no day has a temperature at all: not known, which is not the same as hardy.
    Days before the first one given count as days without a temperature.
    """
    if np.isnan(days.air_c).all():
        return None
    met = DaysMet.of(days)
    if not met.months.size:
        return None
    return Season(
        top=_top(met, tree, tree.top) if tree.top else None,
        root=_root(met, tree, tree.root) if tree.root else None,
    )


def _top(met: DaysMet, tree: TreeState, limit: Limit) -> PartSeason:
    hardened = [top_hardened(met.air_c[n], met.psi[n], n) for n in ENDS]
    lost = [lost_k(met.air_c[n], met.psi[n], TOP_LOSS_K[n]) for n in ENDS]
    mild, hardy = (
        _bears(limit, tree, TOP_UNHARDENED_C[n], hardened[n], lost[n], n) for n in ENDS
    )
    way_k = [c - limit.midwinter_c for c in TOP_UNHARDENED_C]
    reasons = _reasons(way_k, hardened, lost, "Warm days while rest was ending")
    if met.rest_unknown:
        reasons.append("How far its rest is over is not known.")
    if tree.bud_stage is not None:
        since = _seen_from(met, tree.buds_seen_on)
        reasons += _with_buds(mild[since:], hardy[since:], tree.bud_stage)
    return _part(
        "The top",
        met.first,
        tree,
        limit,
        mild,
        hardy,
        reasons,
        missing=met.air_missing,
    )


def _root(met: DaysMet, tree: TreeState, limit: Limit) -> PartSeason:
    if tree.roots_worked is not False:
        return _worked_root(met, tree, limit)
    hardened = [root_hardened(met.root_c[n], n) for n in ENDS]
    lost = [
        lost_k(met.root_c[n], met.psi[n], ROOT_LOSS_K[n])
        + root_drift_k(met.root_c[n], met.months, n)
        for n in ENDS
    ]
    mild, hardy = (
        _bears(limit, tree, ROOT_UNHARDENED_C[n], hardened[n], lost[n], n) for n in ENDS
    )
    way_k = [c - limit.midwinter_c for c in ROOT_UNHARDENED_C]
    reasons = _reasons(way_k, hardened, lost, "Warm days, and late winter itself,")
    return _part(
        "The roots",
        met.first,
        tree,
        limit,
        mild,
        hardy,
        reasons,
        missing=met.root_missing,
    )


def _worked_root(met: DaysMet, tree: TreeState, limit: Limit) -> PartSeason:
    young = ROOT_CLASSES[RootClass.RD]
    mildest, hardiest = (max(c, limit.midwinter_c) for c in ROOT_UNHARDENED_C)
    mild = np.full(met.months.size, mildest + (WEAK_MARGIN_K if tree.weak else 0.0))
    when = (
        "The last root work is not known, which counts as this year"
        if tree.roots_worked is None
        else "Its roots were worked on within 12 months"
    )
    reasons = [f"{when}: young roots are taken not to harden at all (common practice)."]
    stated = Limit(hardiest, young.source, young.evidence)
    hardy = np.full(mild.shape, hardiest)
    return _part("The roots", met.first, tree, stated, mild, hardy, reasons, missing=0)


def _bears(
    limit: Limit,
    tree: TreeState,
    unhardened_c: float,
    hardened: Days,
    lost: Days,
    end: int,
) -> Days:
    margin = WEAK_MARGIN_K if tree.weak and end == MILD else 0.0
    way_k = unhardened_c - limit.midwinter_c
    if way_k <= 0:
        # such a tree never bears more cold than in summer
        return np.full(hardened.shape, limit.midwinter_c + margin)
    return np.minimum(unhardened_c, unhardened_c - hardened * way_k + lost + margin)


def _seen_from(met: DaysMet, seen_on: date | None) -> int:
    """The day from which the buds count, by its place in the row."""
    last = met.months.size - 1
    return last if seen_on is None else min(max((seen_on - met.first).days, 0), last)


def _with_buds(mild_c: Days, hardy_c: Days, bud_stage: int) -> list[str]:
    """Set what buds of that stage bear, in place; and say so."""
    if not 0 <= bud_stage <= 99:
        raise ValueError(f"{bud_stage} is not a BBCH code: they run from 0 to 99.")
    seen = f"Bud stage BBCH {bud_stage:02d} was seen: "
    if GREEN <= bud_stage < AUTUMN:
        np.maximum(mild_c, TOP_UNHARDENED_C[MILD], out=mild_c)
        np.maximum(hardy_c, GREEN_HARDY_C, out=hardy_c)
        return [seen + "green tissue bears little frost."]
    if SWELLING <= bud_stage < GREEN:
        np.maximum(mild_c, SWELLING_MILD_C, out=mild_c)
        return [seen + "the buds swell."]
    return []


def _reasons(
    way_k: list[float], hardened: list[Days], lost: list[Days], what_cost: str
) -> list[str]:
    if min(way_k) <= 0:
        return ["Such a tree does not harden."]
    least, most = (float(each[-1]) for each in hardened)
    reasons = [
        f"Autumn and winter have brought hardiness {least:.0%} to {most:.0%} of the "
        "way there."
    ]
    # no more can be lost than was gained
    much, little = (
        min(float(lost[n][-1]), way_k[n] * float(hardened[n][-1])) for n in ENDS
    )
    if much >= 0.5:
        low, high = sorted((round(little), round(much)))
        reasons.append(f"{what_cost} have cost {low} to {high} K of it.")
    return reasons


def _part(
    name: str,
    first: date,
    tree: TreeState,
    limit: Limit,
    mild: Days,
    hardy: Days,
    reasons: list[str],
    *,
    missing: int,
) -> PartSeason:
    mild_c, hardy_c = float(mild[-1]), float(hardy[-1])
    words = [
        f"{name} should bear {_told(mild_c)} °C now, at best {_told(hardy_c)} °C; "
        f"the midwinter limit is {_told(limit.midwinter_c)} °C ({limit.evidence}).",
        *reasons,
    ]
    if tree.weak:
        words.append(
            f"The tree is weak: a margin is common practice, its {WEAK_MARGIN_K:.0f} K "
            "are own choice."
        )
    if missing:
        words.append(
            f"{missing} of {mild.size} days since 1 September have no temperature and "
            "count as days of a mild and of a cold winter."
        )
    today = Tolerance(
        mild_c=mild_c,
        hardy_c=hardy_c,
        because=" ".join(words),
        source=f"{limit.source}. {SOURCE}.",
        evidence=Evidence.OWN_CHOICE,
    )
    return PartSeason(first, mild, hardy, today)


def _told(c: float) -> str:
    """With one decimal: pages say it roughly, and this is what they round."""
    return f"{c:.1f}".replace("-", "−")


@dataclass(frozen=True)
class WatchRaise:
    """Whether warm afternoons raise the temperature at which a tree is watched.

    raise_k     added to the watch value [K]; 0 while nothing raises it
    until       first day on which it no longer holds; None while nothing raises it
    afternoons  the warm afternoons since the chill was fulfilled
    unknown     afternoons since then that lack an hour and saw no warmth: they may
                have been warm
    """

    raise_k: float
    until: date | None
    afternoons: tuple[date, ...]
    unknown: int
    because: str


def watch_raise(
    air: Hourly, days: LocalDays, *, fulfilled_on: date | None, on: date
) -> WatchRaise:
    """What warm afternoons after the chill is fulfilled mean for the day `on`.

    air           hourly air at the tree
    days          the local days that may count
    fulfilled_on  the day on which the chill was, at the earliest, fulfilled; the next
                  day is the first that counts. None: not fulfilled yet

    Two afternoons above 12 °C raise the watch value by 5 K for 10 days: common practice
    (apple bark lost up to 15 °C of hardiness in one warm day, Howell & Weiser 1970,
    doi 10.21273/jashs.95.2.190). Own choice: an afternoon is 12 to 18 hours after local
    midnight, one hour above is enough, the two lie within 10 days, and the 10 days
    count from the later one.
    """
    warm: list[date] = []
    unknown = 0
    for index in range(len(days)):
        day = days.day(index)
        if fulfilled_on is None or not fulfilled_on < day <= on:
            continue
        noon = int(days.starts[index]) + AFTERNOON_H[0]
        c = air.window(noon, noon + AFTERNOON_H[1] - AFTERNOON_H[0]).c
        if (c > WARM_AFTERNOON_C).any():
            warm.append(day)
        elif np.isnan(c).any():
            unknown += 1
    pairs = pairwise(warm)
    ends = [late + RAISED_FOR for early, late in pairs if late - early <= RAISED_FOR]
    until = ends[-1] if ends and on < ends[-1] else None
    return WatchRaise(
        raise_k=RAISE_K if until else 0.0,
        until=until,
        afternoons=tuple(warm),
        unknown=unknown,
        because=_raise_words(fulfilled_on, warm, until),
    )


def _raise_words(
    fulfilled_on: date | None, warm: list[date], until: date | None
) -> str:
    if fulfilled_on is None:
        return "The chill is not fulfilled yet: warm afternoons do not count."
    afternoons = "afternoon" if len(warm) == 1 else "afternoons"
    counted = f"{len(warm)} {afternoons} above {WARM_AFTERNOON_C:.0f} °C"
    if until is None:
        return f"{counted} since the chill was fulfilled: the watch value stands."
    return (
        f"{counted} since the chill was fulfilled, the last on {warm[-1].day} "
        f"{warm[-1]:%B}: watch {RAISE_K:.0f} K earlier before {until.day} {until:%B} "
        "(common practice)."
    )
