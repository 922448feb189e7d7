"""Grey mould (Botrytis cinerea): hours of wet warmth that favour it. No diagnosis.

Below 12 °C a rule of this project between two published germination times, from there
on the published equation for grape berries, joined where they meet.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from numpy.typing import ArrayLike, NDArray

from wintering.science.evidence import Evidence
from wintering.science.series import DECIMALS

WET_FROM_PCT = 90.0
"""Hours at or above count as wet: the best of three simple models at four sites, right
in 87 to 92 % of hours, with up to 31 % false alarms (Sentelhas et al. 2008,
Agricultural and Forest Meteorology 148:392). A sensor's own site may want another."""

AT_0_C_H, AT_6_C_H = 52.0, 15.0
"""Hours in which all spores germinate in the wet: Petaistö 2006, Baltic Forestry
12(1):24-33, in vitro."""

SIX_C, WARM_C, AT_12_C_H = 6.0, 12.0, 8.0
"""8 h at 12 °C: own choice, on the way to the published equation."""

FIT_C, FIT_END_C, NO_GROWTH_C = 12.0, 30.0, 40.0
LEAST_WET_H = 4
"""The equation was fitted from 12 to 30 °C and 4 to 20 h; above 40 °C and below 4 h
programs that use it return 0."""

DRY_RESET_H = 4
"""So many dry hours in a row end an event, as programs for the equation have it."""

WATCH, ACT = 1.0, 2.0
"""Index from which to watch and to act: own choice. With something that makes matters
worse each class begins at half of that."""


def broome_part(wet_h: ArrayLike, mean_c: ArrayLike) -> NDArray[np.float64]:
    """Part of grape berries infected after a wet spell, 0 to 1.

    wet_h   hours of wetness in a row
    mean_c  mean temperature of those hours [°C], from 12 to 30

    Broome, English, Marois, Latorre & Aviles 1995, Phytopathology 85:97-102. Not a
    number below 12 and above 30 °C: the equation tells no risk near freezing, where
    spores do germinate. 0 above 40 °C and for less than 4 hours.
    """
    hours = np.asarray(wet_h, dtype=np.float64)
    c = np.asarray(mean_c, dtype=np.float64)
    part = np.where((c >= FIT_C) & (c <= FIT_END_C), broome_equation(hours, c), np.nan)
    none = (hours < LEAST_WET_H) | (c > NO_GROWTH_C)
    return np.where(none, 0.0, part)


def broome_equation(wet_h: ArrayLike, mean_c: ArrayLike) -> NDArray[np.float64]:
    """The bare equation behind broome_part, without the limits of its use."""
    hours = np.asarray(wet_h, dtype=np.float64)
    logit = -2.647866 + hours * _broome_pace(np.asarray(mean_c, dtype=np.float64))
    return np.asarray(1 / (1 + np.exp(-logit)))


def _broome_pace(c: NDArray[np.float64]) -> NDArray[np.float64]:
    return np.asarray(-0.374927 + 0.061601 * c - 0.001511 * c**2)


def required_wet_h(air_c: ArrayLike) -> NDArray[np.float64]:
    """Wet hours at that temperature that make up an index of 1.

    air_c  temperature [°C]; not a number stays so

    Above 0 and up to 6 °C the pace of germination in a straight line between 52 h at 0
    and 15 h at 6 °C, then in a straight line to 8 h at 12 °C: own choice between the
    published figures. From 12 °C on, the hours in which the equation for berries
    reaches what it has after 8 h at 12 °C; above 30 °C as at 30, above 40 °C and up to
    0 °C never (infinite).
    """
    c = np.asarray(air_c, dtype=np.float64)
    faster = (1 / AT_6_C_H - 1 / AT_0_C_H) / SIX_C
    cold = 1 / (1 / AT_0_C_H + faster * np.clip(c, 0.0, SIX_C))
    cool = np.interp(c, [SIX_C, WARM_C], [AT_6_C_H, AT_12_C_H])
    pace = _broome_pace(np.clip(c, FIT_C, FIT_END_C))
    warm = AT_12_C_H * _broome_pace(np.asarray(FIT_C)) / pace
    hours = np.where(c <= SIX_C, cold, np.where(c < WARM_C, cool, warm))
    return np.where((c <= 0) | (c > NO_GROWTH_C), np.inf, hours)


def wetness_index(air_c: ArrayLike, is_wet: ArrayLike) -> NDArray[np.float64]:
    """Running sum of wet hours over those required, hour by hour.

    air_c   temperature of each hour [°C], without gaps
    is_wet  whether leaves were wet in it

    Hours at or below 0 °C add nothing and end nothing; 4 dry hours in a row, frozen
    ones not counted, set the sum back to 0. A gap is refused: mould_risk reckons gaps
    both ways.
    """
    c, wet = np.asarray(air_c, dtype=np.float64), np.asarray(is_wet, dtype=bool)
    if np.isnan(c).any():
        raise ValueError("An hour has no temperature: fill it, or use mould_risk.")
    total = np.cumsum(np.where(wet, 1 / required_wet_h(c), 0.0))
    thawed = c > 0
    ends = np.zeros(c.shape, dtype=bool)
    ends[thawed] = _run_lengths(~wet[thawed]) >= DRY_RESET_H
    # nothing is added in a dry hour, so the sum at the last end is what to take off
    base = np.maximum.accumulate(np.where(ends, total, 0.0))
    return np.round(total - base, DECIMALS)


def _run_lengths(true: NDArray[np.bool_]) -> NDArray[np.int64]:
    """For each place the number of trues in a row that end there."""
    count = np.arange(1, true.size + 1)
    return count - np.maximum.accumulate(np.where(true, 0, count))


class MouldLevel(StrEnum):
    """How much the hours favour grey mould."""

    CALM = "calm"
    WATCH = "watch"
    ACT = "act"
    UNKNOWN = "unknown"


@dataclass(frozen=True, eq=False)
class MouldRisk:
    """What the hours up to the last one mean for grey mould.

    index_low   running index of each hour, if every missing hour was dry
    index_high  the same if every missing hour was wet; equal where none is missing
    level       by the last hour; 'unknown' where the two disagree about it
    wet_h       hours that were wet and not frozen
    missing_h   hours without temperature or humidity
    because     as sentences
    """

    index_low: NDArray[np.float64]
    index_high: NDArray[np.float64]
    level: MouldLevel
    wet_h: int
    missing_h: int
    because: str
    evidence: Evidence = Evidence.OWN_CHOICE


def mould_risk(
    air_c: ArrayLike,
    rh_pct: ArrayLike,
    *,
    worse: Sequence[str] = (),
    wet_from_pct: float = WET_FROM_PCT,
) -> MouldRisk | None:
    """How far the hours of a frame favour grey mould, as a range where hours miss.

    air_c, rh_pct  hourly, not a number where missing; see humidity.usable_rh
    worse          what lowers the bar, in the keeper's words: dead leaves or flowers on
                   the bench, wounds or frost-hurt tissue, soft evergreens such as
                   redwood and cypress kinds, a crowded bench

    A missing hour is reckoned once as dry and once as wet, the latter at a temperature
    between its known neighbours. None if no hour is known.
    """
    c, rh = np.asarray(air_c, dtype=np.float64), np.asarray(rh_pct, dtype=np.float64)
    missing = np.isnan(c) | np.isnan(rh)
    if missing.all():
        return None
    known_c = np.flatnonzero(~np.isnan(c))
    c = np.interp(np.arange(c.size), known_c, c[known_c])
    wet = ~missing & (rh >= wet_from_pct)
    # in the low case a missing hour must be able to end an event: it is not frozen
    low = wetness_index(np.where(missing, np.maximum(c, 0.1), c), wet)
    high = wetness_index(c, wet | missing)
    levels = [_level(float(index[-1]), bool(worse)) for index in (low, high)]
    level = levels[0] if levels[0] == levels[1] else MouldLevel.UNKNOWN
    missing_h, wet_h = int(missing.sum()), int((wet & (c > 0)).sum())
    return MouldRisk(
        index_low=low,
        index_high=high,
        level=level,
        wet_h=wet_h,
        missing_h=missing_h,
        because=_because(level, wet_h, missing_h, worse),
    )


def _level(index: float, is_worse: bool) -> MouldLevel:
    scale = 0.5 if is_worse else 1.0
    if index >= ACT * scale:
        return MouldLevel.ACT
    return MouldLevel.WATCH if index >= WATCH * scale else MouldLevel.CALM


def _because(
    level: MouldLevel, wet_h: int, missing_h: int, worse: Sequence[str]
) -> str:
    said = {
        MouldLevel.CALM: "Conditions do not favour grey mould now.",
        MouldLevel.WATCH: "Conditions favour grey mould: look at leaves and wounds.",
        MouldLevel.ACT: (
            "Conditions have favoured grey mould for long: take dead leaves away, give "
            "room and air, and water in the morning only."
        ),
        MouldLevel.UNKNOWN: (
            "Whether conditions favour grey mould cannot be told: readings are missing "
            "in the hours that decide it. Look."
        ),
    }[level]
    said += f" {wet_h} wet and frost-free hours in all."
    if worse:
        said += f" The bar is lower for: {', '.join(worse)}."
    if missing_h:
        said += f" {missing_h} hours are missing, reckoned once as dry and once as wet."
    return said
