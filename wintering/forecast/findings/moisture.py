"""Air that favours grey mould, and air that dries trees whose balls are frozen."""

from collections.abc import Iterator, Sequence

import numpy as np

from wintering.forecast.findings.statements import (
    Finding,
    Statement,
    day_words,
    gaps,
    instant,
    measured_by,
    moment_words,
    start_of,
)
from wintering.forecast.models import Flag
from wintering.forecast.queries.air_moisture import PartMould
from wintering.forecast.queries.outlook import TreeOutlook
from wintering.forecast.queries.thirst import SUN_FROM_DEG, Thirst
from wintering.science.desiccation import (
    DAY_DOSE_KPA_H,
    DOSE_DAYS,
    FIVE_DAY_DOSE_KPA_H,
    SUN_WARMS_K,
)
from wintering.science.mould import WET_FROM_PCT, MouldLevel

MOULD_LEVELS = {
    MouldLevel.WATCH: Flag.Level.WATCH,
    MouldLevel.ACT: Flag.Level.WEEK,
}
MOULD_ADVICE = (
    "Look at leaves, wounds and the ground below: these are conditions, no diagnosis. "
    "Vent where the dew point outside lies more than 1 K below the one inside and the "
    "trees bear that air; else keep it shut, for milder and moister air wets cold "
    "pots. Take dead leaves and flowers off and away, give the trees room, and water "
    "in the morning only."
)
WET_RULE = (
    "Sentelhas et al. 2008, Agricultural and Forest Meteorology 148:392: right in 87 "
    "to 92 % of hours at four sites, false alarms up to 31 %"
)
INDEX_RULE = (
    "computed here, own choice between published times: spores germinate in 52 wet "
    "hours at 0 °C and in 15 at 6 °C (Petaistö 2006, Baltic Forestry 12:24-33), "
    "berries from 12 °C (Broome et al. 1995, Phytopathology 85:97-102)"
)


def mould_finding(moulds: Sequence[PartMould]) -> Finding | None:
    """About a humidity sensor: the worst of the microclimates that it speaks for."""
    found = [one for one in moulds if one.has_trees and one.level in MOULD_LEVELS]
    if not found:
        return None
    return Finding(
        kind=Flag.Kind.GREY_MOULD,
        level=MOULD_LEVELS[found[0].level],
        since=instant(min(one.since_hour for one in found)),
        evidence=(*mould_evidence(found[0]), *map(_beside, found[1:])),
        advice=MOULD_ADVICE,
    )


def is_still_moist(moulds: Sequence[PartMould]) -> bool:
    """Whether a standing flag about mould stays: gaps are no good news."""
    return any(one.level is not MouldLevel.CALM for one in moulds if one.has_trees)


def mould_evidence(mould: PartMould) -> Iterator[Statement]:
    """What the index of grey mould rests on at one place."""
    air = mould.air
    bar = f"watch from {mould.watch_from:g}, act from {2 * mould.watch_from:g}"
    text = f"Index of wetness at {air.part.name} ({bar})"
    yield Statement(text, _range(*mould.index), "", INDEX_RULE)
    wet = mould.is_wet[mould.spell]
    if wet.any():
        begun = mould.first_hour + mould.spell.start
        since = moment_words(instant(begun), air.zone)
        text = f"Wet and frost-free hours since {since}"
        yield Statement(text, int(wet.sum()), "h", air.measured_by)
        c = air.air.c[-mould.is_wet.size :][mould.spell][wet]
        yield Statement(
            "Mean temperature of those hours",
            round(float(c.mean()), 1),
            "°C",
            str(air.air_source),
        )
    yield Statement("The least humidity of a wet hour", WET_FROM_PCT, "%", WET_RULE)
    if not air.is_at_sensor:
        yield Statement(
            f"Humidity at {air.part.name} is reckoned from the vapour where "
            f"{air.sensor.name} hangs and the temperatures of both",
            None,
            "",
            "own choice: air in one frame mixes",
        )
    for worse in mould.worse:
        yield Statement(
            f"The bar is halved for {worse}: especially susceptible",
            None,
            "",
            "U.S. Forest Service, Forest Nursery Pests; halving is own choice",
        )
    if air.warning:
        yield Statement(air.warning, None, "", "own choice")
    missing_h = mould.risk.missing_h
    yield from gaps(missing_h, "the log; reckoned once as dry and once as wet")


def _beside(mould: PartMould) -> Statement:
    text = f"Index of wetness at {mould.air.part.name}"
    return Statement(text, _range(*mould.index), "", mould.air.measured_by)


DRY_ADVICE = (
    "Shade the tree, shelter it from wind, and raise the humidity around it. Let the "
    "ball thaw slowly, to 1 to 3 °C: pour no warm water on it, and do not vent in sun "
    "while it is frozen."
)
DOSE_RULE = (
    "computed here; weights and limits are own choice, nobody published a dose. That "
    "leaves are lost while frozen roots cannot supply: University of Minnesota "
    "Extension 2020, as quoted by others"
)


def drying_finding(outlook: TreeOutlook, thirst: Thirst) -> Finding | None:
    """Surely too much asks for the week, perhaps too much for a watchful eye."""
    sure, perhaps = thirst.flagged_day, thirst.watched_day
    day = sure if sure is not None else perhaps
    if day is None:
        return None
    return Finding(
        kind=Flag.Kind.DRYING_OUT,
        level=Flag.Level.WATCH if sure is None else Flag.Level.WEEK,
        since=start_of(thirst.days.day(day), outlook.zone),
        evidence=tuple(_drying_evidence(outlook, thirst, day)),
        advice=DRY_ADVICE,
    )


def is_still_dry(thirst: Thirst) -> bool:
    """Whether a standing flag stays: near a limit, or with hours missing."""
    return thirst.is_near or thirst.missing_h > 0


def _drying_evidence(
    outlook: TreeOutlook, thirst: Thirst, day: int
) -> Iterator[Statement]:
    exposure = outlook.exposure
    when = day_words(thirst.days.day(day))
    for what, limit, least, most in _doses(thirst, day):
        text = (
            f"Drying dose {what} {when} (flagged from {limit * thirst.limit_times:g})"
        )
        yield Statement(text, _range(least, most), "kPa h", DOSE_RULE)
    frozen = int(thirst.frozen_h[max(0, day + 1 - DOSE_DAYS) : day + 1].sum())
    yield Statement(
        "Hours of those five days with the root ball at or below 0 °C (those up to "
        "2 °C count by 0.3)",
        frozen,
        "h",
        measured_by(exposure.root_sources),
    )
    humid = "; ".join(f"{one.name}, relative humidity" for one in thirst.sensors)
    yield Statement(
        "What the air lacks is reckoned from humidity and temperature",
        None,
        "",
        f"{humid}; {measured_by(exposure.air_sources)}",
    )
    yield _sun_words(thirst)
    if outlook.tree.taxon.is_evergreen is None:
        text = "Whether it keeps its leaves is not known: it counts as evergreen"
        yield Statement(text, None, "", "own choice, on the side of caution")
    missing_h = int(thirst.in_shade.missing_h[day])
    yield from gaps(missing_h, "the log; the dose may be higher by what they held")


def _doses(thirst: Thirst, day: int) -> Iterator[tuple[str, float, float, float]]:
    least, most = thirst.in_shade, thirst.in_sun or thirst.in_shade
    yield "of", DAY_DOSE_KPA_H, least.day_kpa_h[day], most.day_kpa_h[day]
    five = least.five_kpa_h[day], most.five_kpa_h[day]
    yield "of five days up to", FIVE_DAY_DOSE_KPA_H, *five


def _sun_words(thirst: Thirst) -> Statement:
    warmer = f"leaves in it are taken to be {SUN_WARMS_K:g} K warmer than the air"
    if thirst.in_sun is None:
        return Statement(
            "Sun on the leaves is left out, since nobody told where on earth the frame "
            f"lies: low confidence, {warmer}, so the dose may be higher",
            None,
            "",
            "own choice",
        )
    return Statement(
        "Sun on the leaves was not measured: the least is without any, the most with "
        f"sun whenever it stood above {SUN_FROM_DEG:g}°; {warmer}",
        None,
        "",
        "own choice",
    )


def _range(low: float, high: float) -> str:
    least, most = f"{np.round(low, 1):.1f}", f"{np.round(high, 1):.1f}"
    return least if least == most else f"{least} to {most}"
