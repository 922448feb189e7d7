"""Buds that move, or may soon."""

from collections.abc import Iterator
from datetime import date, timedelta

from wintering.forecast.findings.statements import (
    Finding,
    Statement,
    day_words,
    gaps,
    instant,
    measured_by,
    start_of,
)
from wintering.forecast.models import Flag
from wintering.forecast.queries.limits import is_cold_dormant
from wintering.forecast.queries.outlook import TreeOutlook
from wintering.science.bbch import GREEN
from wintering.science.dormancy import (
    LEVELS,
    WakeLevel,
    WakeOutlook,
)
from wintering.trees.models import BudStage

WAKE_LEVELS = {
    WakeLevel.WATCH: Flag.Level.WATCH,
    WakeLevel.VENTILATE: Flag.Level.WEEK,
    WakeLevel.AWAKE: Flag.Level.TONIGHT,
}


def waking_finding(outlook: TreeOutlook) -> Finding | None:
    """What was seen comes first, then the sums, then what was seen beside it."""
    if outlook.today >= outlook.early_until:
        return None
    return _seen_moving(outlook) or _waking_by_sums(outlook) or _seen_beside(outlook)


def _seen_moving(outlook: TreeOutlook) -> Finding | None:
    buds = outlook.buds
    if buds is None or not outlook.has_moving_buds or _rests_otherwise(outlook):
        return None
    is_green = buds.code >= GREEN
    level = WakeLevel.AWAKE if is_green else WakeLevel.VENTILATE
    return Finding(
        kind=Flag.Kind.WAKING_EARLY,
        level=WAKE_LEVELS[level],
        since=start_of(buds.on, outlook.zone),
        evidence=(_seen(buds, "Its own leaf buds"), *wake_evidence(outlook)),
        advice=GREEN_ADVICE if is_green else f"{level.advice} {HOLD_ADVICE}",
    )


def _rests_otherwise(outlook: TreeOutlook) -> bool:
    """Whether it is known to need no cold, so that growth in winter is no waking."""
    known = outlook.facts.best("dormancy_class")
    return known is not None and not is_cold_dormant(outlook.facts)


def _seen_beside(outlook: TreeOutlook) -> Finding | None:
    buds = outlook.look_alike
    if buds is None or outlook.stage is None:
        return None
    return Finding(
        kind=Flag.Kind.WAKING_EARLY,
        level=WAKE_LEVELS[WakeLevel.WATCH],
        since=start_of(buds.on, outlook.zone),
        evidence=(
            _seen(buds, "Another tree of its kind in the same part of the frame"),
            *wake_evidence(outlook),
        ),
        advice=f"{WakeLevel.WATCH.advice} {HOLD_ADVICE}",
    )


def _seen(buds: BudStage, whose: str) -> Statement:
    return Statement(
        f"{whose}: BBCH stage on {day_words(buds.on)}",
        f"{buds.code:02d}",
        "",
        "seen on a round; what was seen outweighs any sum",
    )


def _waking_by_sums(outlook: TreeOutlook) -> Finding | None:
    wake = outlook.wake
    if wake is None or wake.level is None or _is_over(wake, outlook.today):
        return None
    return Finding(
        kind=Flag.Kind.WAKING_EARLY,
        level=WAKE_LEVELS[wake.level],
        since=instant(wake.crossings[wake.level].at_hour),
        evidence=tuple(wake_evidence(outlook)),
        advice=f"{wake.level.advice} {HOLD_ADVICE}",
    )


def wake_words(outlook: TreeOutlook) -> str:
    """How near it is to waking, in a sentence: what was seen first, then the index."""
    buds, wake = outlook.buds, outlook.wake
    if buds and outlook.has_moving_buds:
        return (
            f"Its buds were seen at BBCH {buds.code:02d} on {day_words(buds.on)}: that "
            "outweighs the index."
        )
    if wake is None or wake.w is None:
        return ""
    if wake.level and not _is_over(wake, outlook.today):
        only_mild = wake.w < LEVELS[WakeLevel.WATCH] and wake.guard
        because = f" {wake.guard}" if only_mild else ""
        return f"{wake.level.meaning}{because}{_looked(wake)}"
    if not wake.reliable:
        return (
            f"At least so much, with {wake.missing_hours} hours missing: whether it "
            "sleeps is not known."
        )
    return f"Below 0.25: nothing speaks for waking.{_looked(wake)}"


def _looked(wake: WakeOutlook) -> str:
    if wake.seen_closed_on is None:
        return ""
    return f" Its buds were seen closed on {day_words(wake.seen_closed_on)}."


GUARD_HOLDS = timedelta(days=14)
"""A mild spell alone, without an index to speak of, is watched so long: own choice."""


def _is_over(wake: WakeOutlook, today: date) -> bool:
    """Whether only a mild spell speaks for waking, and that lies weeks back."""
    if (wake.w or 0) >= LEVELS[WakeLevel.WATCH] or wake.guard_last_on is None:
        return False
    return today - wake.guard_last_on > GUARD_HOLDS


GREEN_ADVICE = (
    "Stop holding it back: green is coming. Keep it free of frost and never with a "
    "frozen ball, cool and, once leaves unfold, bright; no feed. If you carry it out "
    "by day, into still air and shade, bring it in by dusk where the night may freeze."
)
HOLD_ADVICE = (
    "Open the vents at night while it is between −3 and +2 °C outside and the root "
    "zones stay above watch, shade before nine, and move the tree to the shaded floor. "
    "Once green shows, stop holding it and keep it free of frost: no vents at night."
)


def wake_evidence(outlook: TreeOutlook) -> Iterator[Statement]:
    """What the index of waking rests on; nothing where none is computed."""
    wake, air = outlook.wake, measured_by(outlook.exposure.air_sources)
    if wake is None:
        return
    if wake.guard:
        yield Statement(wake.guard, None, "", "own choice, on the side of caution")
    if wake.seen_closed_on and wake.counted_w is not None:
        seen_on = day_words(wake.seen_closed_on)
        yield Statement(
            f"Of the index, what came after its buds were seen closed on {seen_on}; "
            "below 0.25 it holds the warning one step lower",
            round(wake.counted_w, 2),
            "of 1",
            "computed here; buds seen outweigh the model, own choice",
        )
    yield Statement(
        "Index of waking: warmth received over warmth asked for (from 0.25 watch, from "
        "0.5 ventilate, from 0.8 treat as awake)",
        None if wake.w is None else round(wake.w, 2),
        "of 1",
        "computed here; provisional, to be checked against the buds",
    )
    yield Statement(
        f"Day-degrees above 5 °C since {day_words(outlook.warmth_start)}",
        round(wake.thermal_time_dd, 1),
        "°C d",
        air,
    )
    yield Statement(
        f"Days with a mean at or below 5 °C since {day_words(outlook.chill_start)}",
        wake.chill_days,
        "d",
        air,
    )
    yield Statement(
        f"Warmth asked for after that chill, by the curve '{wake.curve.name}'",
        round(wake.required_dd, 1),
        "°C d",
        f"{wake.curve.source} ({wake.curve.evidence})",
    )
    yield from gaps(wake.missing_hours)
