"""Chill that will not be complete in time."""

from collections.abc import Iterator

from wintering.forecast.findings.statements import (
    Finding,
    Statement,
    day_words,
    gaps,
    measured_by,
)
from wintering.forecast.models import Flag
from wintering.forecast.queries.outlook import TreeOutlook
from wintering.science.dormancy import Bracket, ChillUnit


def chill_finding(outlook: TreeOutlook) -> Finding | None:
    chill = outlook.chill
    if chill is None or not chill.at_risk or outlook.today >= outlook.planned_exit:
        return None
    if not chill.is_pressing:  # a warm autumn decides nothing
        return None
    if outlook.has_moving_buds:  # it has had what it needed, and cold would harm it
        return None
    return Finding(
        kind=Flag.Kind.CHILL_AT_RISK,
        level=Flag.Level.WATCH,
        since=outlook.at,
        evidence=tuple(chill_evidence(outlook)),
        advice=_advice(outlook, chill.requirement.unit),
    )


COUNTS_IN_FROST = {ChillUnit.COLD_DAYS, ChillUnit.CHILL_HOURS_BELOW_7}


def _advice(outlook: TreeOutlook, unit: ChillUnit) -> str:
    """Too warm and too cold are remedied by opposite things."""
    mean_c = outlook.recent_mean_c
    if mean_c is not None and mean_c < 0.0 and unit not in COUNTS_IN_FROST:
        return (
            f"Its place is frozen, and frost brings no {unit.words}: cover it, or move "
            "it to where it is above freezing, at 2 to 7 °C, and keep it in longer."
        )
    return (
        "Keep the tree colder, or keep it in longer: vent on mild nights, or move "
        "it to the shaded floor, away from the outlet and the ridge."
    )


def _exit_words(outlook: TreeOutlook) -> str:
    """Whose day the planned exit is."""
    return "the planned exit" if outlook.is_exit_stated else "as no exit is planned"


def chill_evidence(outlook: TreeOutlook) -> Iterator[Statement]:
    """What the sum of chill rests on, and what it is held against."""
    chill = outlook.chill
    if chill is None:
        return
    need, unit = chill.requirement, chill.requirement.unit.words
    yield Statement(
        f"Chill since {day_words(outlook.chill_start)}",
        str(chill.so_far),
        unit,
        measured_by(outlook.exposure.air_sources),
    )
    if chill.pace:
        pace = "mean of the last 14 days"
        yield Statement("A day, as of late", str(chill.pace), unit, pace)
    if chill.projected and chill.days_left:
        yield Statement(
            f"By {day_words(chill.planned_exit)}, {_exit_words(outlook)}, at that pace",
            str(chill.projected),
            unit,
            "computed here",
        )
    asked = str(Bracket(need.low, need.high))
    yield Statement("Needed", asked, unit, f"{need.source} ({need.evidence})")
    yield from gaps(chill.missing_hours)
