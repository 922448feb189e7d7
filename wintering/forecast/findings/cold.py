"""Roots, and green growth, that are getting too cold."""

from collections.abc import Iterator
from zoneinfo import ZoneInfo

from wintering.climate.sources import Source
from wintering.forecast.findings.statements import (
    Finding,
    Statement,
    instant,
    measured_by,
    moment_words,
)
from wintering.forecast.models import Flag
from wintering.forecast.queries.outlook import TreeOutlook
from wintering.science.hardiness import RootLimits, RootRisk

CLEAR_MARGIN_K = 1.0
"""A flag about cold stands until it is so much warmer: common practice."""


def cold_findings(outlook: TreeOutlook) -> Iterator[Finding]:
    """Of the roots, and of green growth in the air, each with limits of its own."""
    for kind, (risk, limits, sources) in _measured(outlook).items():
        if risk and limits and risk.level:
            yield _finding(outlook, kind, risk, limits, sources)


def is_still_cold(outlook: TreeOutlook, kind: str) -> bool:
    """Whether a standing flag about cold stays, though no new one would be raised.

    Without readings it stays: no data is never good news. Where no sensor speaks there
    is nothing to wait for.
    """
    risk, limits, sources = _measured(outlook)[kind]
    if limits is None or not sources:
        return False
    return risk is None or risk.lowest_c <= limits.watch_c + CLEAR_MARGIN_K


Measured = tuple[RootRisk | None, RootLimits | None, tuple[Source, ...]]


def _measured(outlook: TreeOutlook) -> dict[str, Measured]:
    exposure = outlook.exposure
    roots = (outlook.roots, outlook.root_limits, exposure.root_sources)
    green = (outlook.green, outlook.green_limits, exposure.air_sources)
    return {Flag.Kind.ROOTS_TOO_COLD: roots, Flag.Kind.GREEN_TOO_COLD: green}


def _finding(
    outlook: TreeOutlook,
    kind: str,
    risk: RootRisk,
    limits: RootLimits,
    sources: tuple[Source, ...],
) -> Finding:
    is_act = risk.level == "act"
    where = outlook.place.label if outlook.place else "its place"
    return Finding(
        kind=kind,
        level=Flag.Level.TONIGHT if is_act else Flag.Level.WEEK,
        since=instant(risk.lowest_hour),
        evidence=tuple(_cold_evidence(risk, limits, sources, where, outlook.zone)),
        advice=ADVICE[kind, is_act],
    )


ACT_ADVICE = (
    "Cover the glazing and check the heater, then move the tree to a warmer place, "
    "pot-tight on the floor. Carry nothing heavy over ice alone. Do not touch frozen "
    "twigs, and let the ball thaw slowly in the shade."
)
GREEN_ACT_ADVICE = (
    "Cover the glazing and close the vents, or carry the tree to where it does not "
    "freeze: cool and bright, never a heated room. Do not touch frozen leaves; let "
    "them thaw in the shade."
)
GREEN_WATCH_ADVICE = (
    "Young growth bears only a few degrees of frost: close the vents by mid-afternoon, "
    "and have a place ready for it that does not freeze."
)
WATCH_ADVICE = (
    "Look at the tree and its probe today, close the vents by mid-afternoon, and have "
    "a warmer place ready."
)


ADVICE = {
    (Flag.Kind.ROOTS_TOO_COLD, True): ACT_ADVICE,
    (Flag.Kind.ROOTS_TOO_COLD, False): WATCH_ADVICE,
    (Flag.Kind.GREEN_TOO_COLD, True): GREEN_ACT_ADVICE,
    (Flag.Kind.GREEN_TOO_COLD, False): GREEN_WATCH_ADVICE,
}


def limit_evidence(limits: RootLimits) -> Iterator[Statement]:
    """What kills, where to act and from where to watch, and what that rests on."""
    killed = f"{limits.source} ({limits.evidence})"
    yield Statement("Killed at", limits.kill_c, "°C", killed)
    yield Statement("Act at", limits.act_c, "°C", limits.margins)
    because = limits.because.rstrip(".")
    yield Statement(f"Watch: {because}", limits.watch_c, "°C", limits.margins)


def _cold_evidence(
    risk: RootRisk,
    limits: RootLimits,
    sources: tuple[Source, ...],
    where: str,
    zone: ZoneInfo,
) -> Iterator[Statement]:
    measured = measured_by(sources)
    yield Statement(
        f"Coldest {limits.where} at {where}, "
        f"{moment_words(instant(risk.lowest_hour), zone)}",
        round(risk.lowest_c, 1),
        "°C",
        measured,
    )
    yield Statement(
        f"{limits.where.capitalize()} when this was last judged too cold, "
        f"{moment_words(instant(risk.latest_hour), zone)}",
        round(risk.latest_c, 1),
        "°C",
        measured,
    )
    yield from limit_evidence(limits)
    if risk.missing_hours:
        yield Statement(
            "Hours of that day and night without a reading; they may have been colder",
            risk.missing_hours,
            "h",
            measured,
        )
