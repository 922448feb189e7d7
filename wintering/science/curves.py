"""Curves of the warmth that a tree asks for, by the chill it has had.

Few species have one, and none was fitted to a potted tree in a frame. Each curve says
what it speaks of, for which species, and whether an early warning may rest on it.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from wintering.science.evidence import Evidence

RAMP_SHARE = 0.10
"""A curve for the start of a ramp of leafing out is asked for this much of the ramp on
top: own choice, because after 120 cold days the start itself asks for one day-degree
and the first mild day would bring it."""


@dataclass(frozen=True)
class RequirementCurve:
    """Warmth asked for budburst, falling with the chill received: a + b exp(r C).

    a, b       [°C d above 5 °C]
    r          [per chill day], negative; chill days have a mean at or below 5 °C
    source     where the three numbers were published, for people
    evidence   what kind of evidence that is
    speaks_of  what is there once the warmth is
    taxa       species that the curve is for; none for a generic one
    ramp_dd    warmth from there to full leaf [°C d], 0 where the curve is for budburst
    warns      whether an early warning may rest on it
    """

    name: str
    a: float
    b: float
    r: float
    source: str
    evidence: Evidence
    speaks_of: str = "budburst"
    taxa: tuple[str, ...] = ()
    ramp_dd: float = 0.0
    warns: bool = True

    def __post_init__(self) -> None:
        if not (self.b > 0 and self.r < 0):
            raise ValueError(
                "Chill lowers the warmth asked for: b must be above and r below 0."
            )

    def required(self, chill: ArrayLike) -> NDArray[np.float64]:
        """Thermal time asked for after so many chill days [°C d], never below 0."""
        days = np.asarray(chill, dtype=np.float64)
        return np.maximum(self.a + self.b * np.exp(self.r * days), 0.0)

    def to_wake(self, chill: ArrayLike) -> NDArray[np.float64]:
        """The same, and a tenth of the ramp where the curve is for its start [°C d]."""
        return self.required(chill) + RAMP_SHARE * self.ramp_dd


BOTTA = RequirementCurve(
    name="generic cold-deciduous tree",
    a=-68.0,
    b=638.0,
    r=-0.01,
    source=(
        "Botta et al. 2000, Global Change Biology 6:709-725, from the green-up that "
        "satellites see in cold-deciduous forests; its numbers as quoted by others. "
        "Provisional: not fitted to potted trees, nor to any one species"
    ),
    evidence=Evidence.PUBLISHED,
    speaks_of="green-up of a canopy",
)
"""The curve for a tree that has none of its own. exp(-0.01 C) reaches 68/638 after
224 chill days; from there on the first warmth is enough."""

SITKA_SPRUCE = RequirementCurve(
    name="Sitka spruce",
    a=67.4,
    b=4401.8,
    r=-0.042,
    source=(
        "Cannell & Smith 1983, J. Appl. Ecol. 20:951-963: young trees in upland "
        "Britain, day-degrees from 1 February, r² 0.92; form, base and dates as in "
        "its abstract, the three numbers from memory"
    ),
    evidence=Evidence.FROM_MEMORY,
    taxa=("Picea sitchensis",),
)
"""From 81 to 148 chill days it asks for less than the generic curve and so warns before
it. With fewer it asks for far more: this species needs its chill."""

_VEGETATION_MODEL = (
    "species file data/ins/europe.ins of a vegetation model, "
    "github.com/dbampoh/LPJ-GUESS-integrated-LandSyMM"
)


def _after_sykes(species: str, b: float, r: float) -> RequirementCurve:
    return RequirementCurve(
        name=f"{species} after Sykes et al. 1996",
        a=0.0,
        b=b,
        r=r,
        source=(
            "Sykes, Prentice & Cramer 1996, J. Biogeography 23:203-233, as noted in "
            f"the {_VEGETATION_MODEL}; a is not quoted there and taken as 0"
        ),
        evidence=Evidence.PUBLISHED,
        speaks_of="leafing out",
        taxa=(species,),
        warns=False,
    )


def _start_of_ramp(name: str, b: float, *taxa: str) -> RequirementCurve:
    return RequirementCurve(
        name=f"start of leafing out: {name}",
        a=0.0,
        b=b,
        r=-0.05,
        source=f"{_VEGETATION_MODEL}, values in use there",
        evidence=Evidence.PUBLISHED,
        speaks_of="start of a ramp of 200 °C d to full leaf",
        taxa=taxa,
        ramp_dd=200.0,
        warns=False,
    )


BEECH = _after_sykes("Fagus sylvatica", 1150.0, -0.0065)
HORNBEAM = _after_sykes("Carpinus betulus", 1200.0, -0.0075)
"""For comparison: with an unknown a they show how slowly beech and hornbeam answer to
chill, not how much warmth they ask for, and a warning could come late by it."""

BEECH_RAMP = _start_of_ramp(
    "beech, hornbeam, lime",
    600.0,
    "Fagus sylvatica",
    "Carpinus betulus",
    "Tilia cordata",
)
BIRCH_RAMP = _start_of_ramp(
    "birch, hazel, aspen",
    350.0,
    "Betula pendula",
    "Betula pubescens",
    "Corylus avellana",
    "Populus tremula",
)
OAK_RAMP = _start_of_ramp(
    "oak, ash, wych elm",
    100.0,
    "Quercus robur",
    "Quercus pubescens",
    "Fraxinus excelsior",
    "Ulmus glabra",
)
"""For comparison: even with a tenth of the ramp on top one mild day brings W to 'watch'
after a cold winter, and the oaks' numbers are a default of that model."""

CURVES = (SITKA_SPRUCE, BEECH, HORNBEAM, BEECH_RAMP, BIRCH_RAMP, OAK_RAMP, BOTTA)


def curve_for(taxon_name: str) -> RequirementCurve:
    """The curve on which an early warning rests for a taxon, by its exact name.

    Its own if one was fitted to budburst of that very species; else the generic one,
    named as such, which is provisional for all trees and beyond what it was made for
    with conifers. A cultivar or a relative gets no species' curve: own choice, since
    provenances differ by weeks.
    """
    own = [curve for curve in CURVES if curve.warns and taxon_name in curve.taxa]
    return own[0] if own else BOTTA


def curves_of(taxon_name: str) -> tuple[RequirementCurve, ...]:
    """All curves that speak of a species, for comparison; the generic one last."""
    return tuple(
        curve for curve in CURVES if taxon_name in curve.taxa or curve is BOTTA
    )
