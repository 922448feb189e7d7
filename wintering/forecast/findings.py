"""What an outlook amounts to: risks, how urgent, on what evidence, what to do."""

from collections.abc import Iterator
from dataclasses import asdict, dataclass
from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from wintering.climate.models import Sensor
from wintering.climate.sources import Source
from wintering.forecast.models import Flag
from wintering.forecast.queries.outlook import TreeOutlook
from wintering.science.dormancy import (
    AUTUMN,
    LEVELS,
    SWELLING,
    WakeLevel,
    WakeOutlook,
)
from wintering.science.hardiness import GREEN_FROM, RootLimits, RootRisk
from wintering.science.series import HOUR_S
from wintering.trees.models import BudStage

QUIET_FOR, SILENT_FOR = timedelta(hours=6), timedelta(hours=24)
"""A sensor is quiet after six hours and silent after a day: own choice."""

PUT_AWAY_AFTER = timedelta(days=30)
"""One that has not read for so long is taken to be out of use: own choice."""

CLEAR_MARGIN_K = 1.0
"""A flag about cold stands until it is so much warmer: common practice."""

WAKE_LEVELS = {
    WakeLevel.WATCH: Flag.Level.WATCH,
    WakeLevel.VENTILATE: Flag.Level.WEEK,
    WakeLevel.AWAKE: Flag.Level.TONIGHT,
}


@dataclass(frozen=True, slots=True)
class Statement:
    """One piece of evidence: what, how much, and where that comes from."""

    text: str
    value: float | str | None
    unit: str
    source: str


@dataclass(frozen=True, slots=True)
class Finding:
    """A risk that stands at an instant."""

    kind: str
    level: str
    since: datetime
    evidence: tuple[Statement, ...]
    advice: str

    @property
    def as_json(self) -> list[dict[str, object]]:
        return [asdict(statement) for statement in self.evidence]


def findings_of(outlook: TreeOutlook) -> Iterator[Finding]:
    """The risks of one tree. What is not known gives none, and says so elsewhere."""
    for found in (_cold(outlook), _chill(outlook), _waking(outlook)):
        if found:
            yield found


def is_still_cold(outlook: TreeOutlook) -> bool:
    """Whether a standing flag about cold stays, though no new one would be raised.

    Without readings it stays: no data is never good news.
    """
    pairs = [(outlook.roots, outlook.root_limits, outlook.exposure.root_sources)]
    if outlook.green_limits:
        pairs.append(
            (outlook.green, outlook.green_limits, outlook.exposure.air_sources)
        )
    # Where no sensor speaks there is nothing to wait for.
    return any(
        risk is None or risk.lowest_c <= limits.watch_c + CLEAR_MARGIN_K
        for risk, limits, sources in pairs
        if sources
    )


def _cold(outlook: TreeOutlook) -> Finding | None:
    risks = [
        (risk, limits, sources)
        for risk, limits, sources in (
            (outlook.roots, outlook.root_limits, outlook.exposure.root_sources),
            (outlook.green, outlook.green_limits, outlook.exposure.air_sources),
        )
        if risk and limits and risk.level
    ]
    if not risks:
        return None
    risk, limits, sources = min(risks, key=lambda each: each[0].level != "act")
    is_act = risk.level == "act"
    where = outlook.place.label if outlook.place else "its place"
    zone = ZoneInfo(outlook.place.frame.time_zone if outlook.place else "UTC")
    return Finding(
        kind=Flag.Kind.ROOTS_TOO_COLD,
        level=Flag.Level.TONIGHT if is_act else Flag.Level.WEEK,
        since=_instant(risk.lowest_hour),
        evidence=tuple(_cold_evidence(risk, limits, sources, where, zone)),
        advice=ACT_ADVICE if is_act else WATCH_ADVICE,
    )


ACT_ADVICE = (
    "Cover the glazing and check the heater, then move the tree to a warmer place, "
    "pot-tight on the floor. Carry nothing heavy over ice alone. Do not touch frozen "
    "twigs, and let the ball thaw slowly in the shade."
)
WATCH_ADVICE = (
    "Look at the tree and its probe today, close the vents by mid-afternoon, and have "
    "a warmer place ready."
)


def _cold_evidence(
    risk: RootRisk,
    limits: RootLimits,
    sources: tuple[Source, ...],
    where: str,
    zone: ZoneInfo,
) -> Iterator[Statement]:
    measured = "; ".join(map(str, sources))
    yield Statement(
        f"Coldest {limits.where} at {where} in the last 24 hours, "
        f"{_words(_instant(risk.lowest_hour), zone)}",
        round(risk.lowest_c, 1),
        "°C",
        measured,
    )
    yield Statement(
        f"Latest {limits.where}, {_words(_instant(risk.latest_hour), zone)}",
        round(risk.latest_c, 1),
        "°C",
        measured,
    )
    yield Statement(f"Watch: {limits.because}", limits.watch_c, "°C", limits.source)
    yield Statement(
        "Act: 2 K above what kills (common practice)"
        if limits.root_class != "RE"
        else "Act, for green growth (common practice)",
        limits.act_c,
        "°C",
        limits.source,
    )
    if risk.missing_hours:
        yield Statement(
            "Hours of the last 24 without a reading; they may have been colder",
            risk.missing_hours,
            "h",
            measured,
        )


def _chill(outlook: TreeOutlook) -> Finding | None:
    chill = outlook.chill
    if chill is None or not chill.at_risk or outlook.today >= outlook.planned_exit:
        return None
    need = chill.requirement
    return Finding(
        kind=Flag.Kind.CHILL_AT_RISK,
        level=Flag.Level.WATCH,
        since=outlook.at,
        evidence=(
            Statement(
                f"Chill since {outlook.chill_start}",
                str(chill.so_far),
                need.unit.words,
                "; ".join(map(str, outlook.exposure.air_sources)),
            ),
            Statement(
                f"Projected for {chill.planned_exit} at the pace of the last 14 days",
                str(chill.projected),
                need.unit.words,
                "computed here",
            ),
            Statement(
                "Needed",
                f"{need.low:g} to {need.high:g}",
                need.unit.words,
                f"{need.source} ({need.evidence})",
            ),
            *_gaps(chill.missing_hours),
        ),
        advice=(
            "Keep the tree colder, or keep it in longer: vent on mild nights, or move "
            "it to the shaded floor, away from the outlet and the ridge."
        ),
    )


def _gaps(missing_hours: int) -> tuple[Statement, ...]:
    if not missing_hours:
        return ()
    return (Statement("Hours without a reading", missing_hours, "h", "the log"),)


def _waking(outlook: TreeOutlook) -> Finding | None:
    """What was seen comes first, then the sums, then what was seen beside it."""
    if outlook.today >= outlook.planned_exit:
        return None
    return _seen_moving(outlook) or _waking_by_sums(outlook) or _seen_beside(outlook)


def _seen_moving(outlook: TreeOutlook) -> Finding | None:
    buds = outlook.buds
    if buds is None or not SWELLING <= buds.code < AUTUMN:
        return None
    if buds.on < outlook.chill_start:  # the leaves of last summer
        return None
    awake = buds.code >= GREEN_FROM
    level = WakeLevel.AWAKE if awake else WakeLevel.VENTILATE
    return Finding(
        kind=Flag.Kind.WAKING_EARLY,
        level=WAKE_LEVELS[level],
        since=_start_of(buds.on, outlook.zone),
        evidence=(_seen(buds, "Its own leaf buds"), *_sums(outlook)),
        advice=f"{level.advice} {HOLD_ADVICE}",
    )


def _seen_beside(outlook: TreeOutlook) -> Finding | None:
    buds = outlook.look_alike
    if buds is None or outlook.stage is None:
        return None
    return Finding(
        kind=Flag.Kind.WAKING_EARLY,
        level=WAKE_LEVELS[WakeLevel.WATCH],
        since=_start_of(buds.on, outlook.zone),
        evidence=(
            _seen(buds, f"{buds.tree.number}, of the same kind in the same part"),
            *_sums(outlook),
        ),
        advice=f"{WakeLevel.WATCH.advice} {HOLD_ADVICE}",
    )


def _seen(buds: BudStage, whose: str) -> Statement:
    return Statement(
        f"{whose}: BBCH stage on {buds.on.day} {buds.on:%B %Y}",
        f"{buds.code:02d}",
        "",
        f"seen by {buds.by.name}; what was seen outweighs any sum",
    )


def _sums(outlook: TreeOutlook) -> Iterator[Statement]:
    if outlook.wake:
        yield from _wake_evidence(outlook, outlook.wake)


def _start_of(day: date, zone: ZoneInfo) -> datetime:
    return datetime.combine(day, time(), zone)


def _waking_by_sums(outlook: TreeOutlook) -> Finding | None:
    wake = outlook.wake
    if wake is None or wake.level is None or _is_over(wake, outlook.today):
        return None
    return Finding(
        kind=Flag.Kind.WAKING_EARLY,
        level=WAKE_LEVELS[wake.level],
        since=_instant(wake.crossings[wake.level].at_hour),
        evidence=tuple(_wake_evidence(outlook, wake)),
        advice=f"{wake.level.advice} {HOLD_ADVICE}",
    )


GUARD_HOLDS = timedelta(days=14)
"""A mild spell alone, without an index to speak of, is watched so long: own choice."""


def _is_over(wake: WakeOutlook, today: date) -> bool:
    """Whether only a mild spell speaks for waking, and that lies weeks back."""
    counted = wake.counted_w or 0
    if counted >= LEVELS[WakeLevel.WATCH] or wake.guard_last_on is None:
        return False
    return today - wake.guard_last_on > GUARD_HOLDS


HOLD_ADVICE = (
    "Open the vents at night while it is between −3 and +2 °C outside and the root "
    "zones stay above watch, shade before nine, and move the tree to the shaded floor. "
    "Once green shows, stop holding it: bright, cool and free of frost."
)


def _wake_evidence(outlook: TreeOutlook, wake: WakeOutlook) -> Iterator[Statement]:
    air = "; ".join(map(str, outlook.exposure.air_sources))
    since = outlook.chill_start
    if wake.guard:
        yield Statement(wake.guard, None, "", "own choice, on the side of caution")
    if wake.seen_closed_on and wake.counted_w is not None:
        seen_on = f"{wake.seen_closed_on.day} {wake.seen_closed_on:%B}"
        yield Statement(
            f"Of the index, what came after its buds were seen closed on {seen_on}: "
            "the levels rest on this",
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
        f"Day-degrees above 5 °C since {outlook.warmth_start}",
        round(wake.thermal_time_dd, 1),
        "°C d",
        air,
    )
    yield Statement(
        f"Days with a mean at or below 5 °C since {since}", wake.chill_days, "d", air
    )
    yield Statement(
        f"Warmth asked for after that chill, by the curve '{wake.curve.name}'",
        round(wake.required_dd, 1),
        "°C d",
        f"{wake.curve.source} ({wake.curve.evidence})",
    )
    yield from _gaps(wake.missing_hours)


def quiet_finding(
    sensor: Sensor, last_at: datetime | None, at: datetime
) -> Finding | None:
    """A sensor that was in use and has gone quiet."""
    if last_at is None or not QUIET_FOR <= at - last_at < PUT_AWAY_AFTER:
        return None
    silent = at - last_at >= SILENT_FOR
    hours = (at - last_at) / timedelta(hours=1)
    return Finding(
        kind=Flag.Kind.SENSOR_QUIET,
        level=Flag.Level.TONIGHT if silent else Flag.Level.WEEK,
        since=last_at,
        evidence=(
            Statement(
                f"Hours since the last reading of {sensor.name} "
                f"({sensor.get_place_display()}), "
                f"{_words(last_at, ZoneInfo(sensor.frame.time_zone))}",
                round(hours, 1),
                "h",
                "the log",
            ),
        ),
        advice=(
            "Go and look: battery, cable, logger, power. Until it reads again nothing "
            "is known of its place; no news is not good news."
        ),
    )


def _instant(hour: int) -> datetime:
    return datetime.fromtimestamp(hour * HOUR_S, UTC)


def _words(at: datetime, zone: ZoneInfo) -> str:
    """An instant as the frame's own clock shows it."""
    local = at.astimezone(zone)
    return f"{local:%A} {local.day} {local:%B %H:%M %Z}"
