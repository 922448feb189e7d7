"""What a substrate holds for a tree: a prior for the pot that nobody has weighed yet.

Tables scatter so widely that one pot cannot be predicted from them; each figure is a
range, and what is learned from the pot itself counts for more.
"""

import math
import re
from collections.abc import Sequence
from dataclasses import dataclass

from wintering.science.evidence import Evidence


@dataclass(frozen=True)
class Range:
    """A low, a likely and a high value."""

    low: float
    likely: float
    high: float


@dataclass(frozen=True)
class Component:
    """One component of a substrate, as parts of its volume.

    words      how keepers name it, in lower case
    capacity   water held after drainage; air_space what drains away; None if unknown
    available  water that the tree can take before the pot counts as dry
    is_fine    peat and fine bark stay wet at the surface for longer
    source     where capacity was found; available is from memory, or own choice where
               the evidence is
    """

    name: str
    words: tuple[str, ...]
    capacity: float | None
    air_space: float | None
    available: Range
    is_fine: bool
    source: str
    evidence: Evidence

    @property
    def pattern(self) -> str:
        return rf"\b(?:{'|'.join(self.words)})\b"


POROMETER = (
    "International Journal of Agronomy 2012, article 978528, Table 1, "
    "hindawi.com/journals/ija/2012/978528/tab1"
)
SMALL_CUP = "a keeper's measurement of sifted grains in a small cup; weak"
UNVERIFIED = "from memory, no table found"

COMPONENTS = (
    Component(
        "pine bark",
        ("pine bark", "bark"),
        0.48,
        0.31,
        Range(0.15, 0.22, 0.30),
        True,
        POROMETER,
        Evidence.PUBLISHED,
    ),
    Component(
        "sphagnum peat",
        ("sphagnum peat", "peat moss", "peat"),
        0.87,
        0.11,
        Range(0.20, 0.28, 0.35),
        True,
        POROMETER,
        Evidence.PUBLISHED,
    ),
    Component(
        "perlite",
        ("perlite",),
        0.22,
        0.61,
        Range(0.05, 0.12, 0.20),
        False,
        SMALL_CUP,
        Evidence.COMMON_PRACTICE,
    ),
    Component(
        "pumice",
        ("pumice",),
        0.17,
        0.53,
        Range(0.05, 0.10, 0.18),
        False,
        SMALL_CUP,
        Evidence.COMMON_PRACTICE,
    ),
    Component(
        "lava",
        ("lava", "scoria"),
        0.18,
        0.61,
        Range(0.05, 0.10, 0.15),
        False,
        SMALL_CUP,
        Evidence.COMMON_PRACTICE,
    ),
    Component(
        "granite grit",
        ("granite grit", "granite", "grit"),
        0.08,
        0.44,
        Range(0.03, 0.05, 0.08),
        False,
        SMALL_CUP,
        Evidence.COMMON_PRACTICE,
    ),
    Component(
        "coarse sand",
        ("coarse sand", "sand"),
        0.24,
        None,
        Range(0.04, 0.08, 0.12),
        False,
        "118 mL of builder's sand held 28 g on a mailing list; weak",
        Evidence.COMMON_PRACTICE,
    ),
    Component(
        "calcined clay",
        ("calcined clay",),
        0.40,
        0.30,
        Range(0.08, 0.15, 0.22),
        False,
        UNVERIFIED,
        Evidence.FROM_MEMORY,
    ),
    Component(
        "fired clay like akadama",
        ("akadama", "fired clay"),
        0.45,
        0.28,
        Range(0.10, 0.20, 0.28),
        False,
        UNVERIFIED,
        Evidence.FROM_MEMORY,
    ),
    Component(
        "kanuma",
        ("kanuma",),
        None,
        None,
        Range(0.05, 0.18, 0.28),
        False,
        "no table found: between the leanest pumice and the richest fired clay",
        Evidence.OWN_CHOICE,
    ),
)

NAMES = "|".join(component.pattern for component in COMPONENTS)

ANY = Range(0.05, 0.15, 0.30)
"""For a substrate that nobody described: own choice, from the leanest grains above to
the richest bark."""

PLAIN_WORDS = re.compile(
    "and|with|mix|mixed|parts?|per|cent|percent|the|some|fine|coarse|small|medium|large|"
    "sifted|washed|hard|soft|old|new|double|line|grade|aged|composted|grains|only|just|"
    "pure"
)
"""Words beside components that say nothing against them."""

LEFT_OUT = re.compile(
    rf"\b(?:(?:no|without|free of|instead of)\s+(?:(?:any|{PLAIN_WORDS.pattern})\s+)*"
    rf"(?:{NAMES}|[^\W\d_]+)|not\s+(?:{NAMES}))(?:\s+n?or\s+(?:{NAMES}))*"
    rf"|(?:{NAMES})[ -]free\b"
)
"""What is said not to be in it: 'no bark', 'without peat or bark', 'peat-free'."""

GRAIN_SIZE = re.compile(r"[\d.]+(?:\s*(?:-|–|to)\s*[\d.]+)?\s*mm\b")
NUMBER = r"(?<![\d.])\d+(?:\.\d+)?(?!\.?\d)"
RATIO = re.compile(rf"{NUMBER}(?:\s*[:/-]\s*{NUMBER})+")
SHARE = re.compile(
    rf"({NUMBER})(?:/({NUMBER}))?\s*(%|per ?cent\b|parts?\b)?(?:\s+of\b)?\s*"
)

COLUMN_CM, PER_CM, LEAST_FACTOR, MOST_FACTOR = 7.6, 0.02, 0.80, 1.15
"""Published columns are 7.6 cm high. Shallow pots hold more per litre: raising a core
from 3.8 to 15.2 cm cut what bark held by 20 to 42 % (Owen & Altland 2008, HortScience
43:505). 2 % a centimetre and the limits are own choice."""


@dataclass(frozen=True)
class Holding:
    """The share of a pot's volume that is water a tree can take.

    is_fine   true where the surface is reckoned to stay wet for longer
    because   what was recognised, as a sentence
    evidence  of a component alone; own choice for a mix or a wider range
    """

    available: Range
    is_fine: bool
    because: str
    evidence: Evidence


def height_factor(soil_depth_cm: float) -> float:
    """How much more, or less, a litre holds in a pot of that depth than in a column."""
    factor = 1 + PER_CM * (COLUMN_CM - soil_depth_cm)
    return min(max(factor, LEAST_FACTOR), MOST_FACTOR)


def holding(substrate: str | None) -> Holding:
    """What a substrate holds, from the keeper's words for it.

    substrate  such as 'akadama, pumice, lava 2:1:1' or '60 % bark, 40 % pumice'; None
               or empty if unknown

    Parts are taken from a ratio with one number for each component, in their order, or
    from a number beside each name: before it, as per cent, parts or fractions, or as
    shares of 100 or 1; else as equal, which is said. What is said not to be in it does
    not count. A word that is not known here widens the range to that of any substrate.
    Mixing by volume is own choice: of mixes only the weight is well predicted from
    components (Gabriel, Altland & Owen 2009, HortScience 44:874-878).
    """
    text = (substrate or "").strip().lower()
    mix = GRAIN_SIZE.sub(" ", LEFT_OUT.sub(" ", text))
    found = _recognised(mix)
    if not found:
        # fine is the cautious side: it goes on drying for longer
        known = f"No component of “{substrate}” is known"
        because = known if text else "The substrate is not known"
        because += ", so the range of any is used."
        return Holding(ANY, True, because, Evidence.OWN_CHOICE)
    components = [component for component, _ in found]
    parts = _parts(mix, [start for _, start in found])
    shares = [part / sum(parts or [len(found)]) for part in parts or [1.0] * len(found)]
    available = _mixed([c.available for c in components], shares)
    named = list(zip(components, shares, strict=True))
    because = ", ".join(f"{100 * share:.0f} % {c.name}" for c, share in named)
    if parts is None:
        because += " (parts not given, taken as equal)"
    strange = _strange_words(mix)
    if strange:
        available = _widened(available)
        because += f"; “{', '.join(strange)}” is not known here, so the range is wider"
    simple = len(found) == 1 and not strange
    return Holding(
        available=available,
        is_fine=sum(share for c, share in named if c.is_fine) >= 0.5,
        because=f"Substrate: {because}.",
        evidence=_evidence(components[0]) if simple else Evidence.OWN_CHOICE,
    )


def _evidence(alone: Component) -> Evidence:
    chosen = alone.evidence is Evidence.OWN_CHOICE
    return Evidence.OWN_CHOICE if chosen else Evidence.FROM_MEMORY


def _mixed(ranges: Sequence[Range], shares: Sequence[float]) -> Range:
    pairs = list(zip(ranges, shares, strict=True))
    return Range(
        sum(r.low * share for r, share in pairs),
        sum(r.likely * share for r, share in pairs),
        sum(r.high * share for r, share in pairs),
    )


def _widened(known: Range) -> Range:
    return Range(min(known.low, ANY.low), known.likely, max(known.high, ANY.high))


def _recognised(text: str) -> list[tuple[Component, int]]:
    """Components named in the text and where their names begin, in order."""
    matches = ((c, re.search(c.pattern, text)) for c in COMPONENTS)
    found = [(component, match.start()) for component, match in matches if match]
    return sorted(found, key=lambda pair: pair[1])


def _strange_words(text: str) -> list[str]:
    for component in COMPONENTS:
        text = re.sub(component.pattern, " ", text)
    words = re.findall(r"[^\W\d_]{3,}", text)
    return [word for word in words if not PLAIN_WORDS.fullmatch(word)]


def _parts(text: str, starts: Sequence[int]) -> list[float] | None:
    """The parts of the components, or None if the text does not give one for each."""
    if len(starts) == 1:
        return [1.0]
    for parts in (_ratio(text), _shares(text, starts)):
        if parts and len(parts) == len(starts) and min(parts) > 0:
            return parts if math.isfinite(sum(parts)) else None
    return None


def _ratio(text: str) -> list[float] | None:
    """The numbers of the only ratio in the text; 70/30 and 70-30 only as per cent."""
    ratios = RATIO.findall(text)
    if len(ratios) != 1:
        return None
    numbers = [float(number) for number in re.findall(NUMBER, ratios[0])]
    return numbers if ":" in ratios[0] or math.isclose(sum(numbers), 100) else None


def _shares(text: str, starts: Sequence[int]) -> list[float] | None:
    """The numbers beside the names, if they cannot be anything else."""
    numbers = list(SHARE.finditer(text))
    below = [float(number[2] or 1) for number in numbers]
    if len(numbers) != len(starts) or not all(below):
        return None
    parts = [float(n[1]) / over for n, over in zip(numbers, below, strict=True)]
    if all(number[3] for number in numbers) or all(n.end() in starts for n in numbers):
        return parts
    whole = any(math.isclose(sum(parts), total) for total in (1, 100))
    return parts if whole else None
