"""A sensor checked in melting ice, which holds 0.0 °C: how far off it is.

One point tells an offset and no slope, so it serves near freezing, where it matters.
The stored readings stay; the offset is taken off when they are read.
"""

from collections.abc import Sequence
from dataclasses import dataclass

TAKEN = 10
"""So many readings are taken, once three in a row were equal: common practice."""

ICE_C = 0.0
"""Melting ice in clean water at the pressure of any frame. Its melting point falls by
some 0.0075 K an atmosphere, which no such sensor resolves: by Clapeyron's
equation, with 334 kJ/kg of heat and the 9.05e-5 m³/kg that ice takes up more than
water, both from memory."""

MOST_OFFSET_K = 1.0
"""A sensor further off is not corrected but replaced: common practice."""

MOST_SPREAD_K = 0.3
"""Readings further apart mean that the bath or the sensor had not settled: common
practice."""

_DECIMALS = 6  # so that an offset of exactly 1.0 is one, however it was summed


@dataclass(frozen=True, slots=True)
class IceBath:
    """What a sensor showed in ice: mean minus 0.0 °C, and highest minus lowest [K]."""

    offset_k: float
    spread_k: float

    @property
    def refusal(self) -> str:
        """Why no offset follows and what to do; empty where one does."""
        if self.spread_k > MOST_SPREAD_K:
            return (
                f"The readings lie {self.spread_k:.2f} K apart, more than "
                f"{MOST_SPREAD_K:.2f} K: the bath or the probe had not settled. Drain "
                "the water, pack the ice closer, stir, wait until three readings a "
                "minute apart are equal, then take ten new ones."
            )
        if abs(self.offset_k) > MOST_OFFSET_K:
            return (
                f"It is {self.offset_k:+.2f} K off, more than {MOST_OFFSET_K:.2f} K. "
                "Look whether the probe lies in the middle of clean crushed ice, off "
                "the walls, and check again; if it stays so, replace the sensor: one "
                "so far off is not to be corrected."
            )
        return ""


def ice_bath(shown_c: Sequence[float]) -> IceBath:
    """Offset and spread of what a sensor showed in ice.

    shown_c  its readings there [°C], ten of them
    Raises ValueError with another count: fewer do not tell how far they scatter.
    """
    if len(shown_c) != TAKEN:
        raise ValueError(f"Take {TAKEN} readings: there are {len(shown_c)}.")
    mean_c = sum(shown_c) / len(shown_c)
    return IceBath(
        offset_k=round(mean_c - ICE_C, _DECIMALS),
        spread_k=round(max(shown_c) - min(shown_c), _DECIMALS),
    )


def drift_k(offset_k: float, before_k: float) -> float:
    """How far a sensor has drifted from one check to the next [K]."""
    return round(offset_k - before_k, _DECIMALS)
