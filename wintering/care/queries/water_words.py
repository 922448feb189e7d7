"""When a pot will want water, in words: the sentence, the evidence, what is unknown."""

from datetime import date

from wintering.care.queries.demand import AirDemand
from wintering.climate.models import Sensor
from wintering.forecast.findings.statements import Statement, day_words, measured_by
from wintering.forecast.queries.outlook import TreeOutlook
from wintering.frames.models import Frame
from wintering.science.evaporation import frame_demand_mm_d
from wintering.science.pot_water import HORIZON_DAYS, LONGEST_DAYS, Outlook
from wintering.science.potted_tree import Habit, PottedTree, held_l
from wintering.science.substrate import Range
from wintering.science.water_history import History

SUN_WM2, SUN_AIR_C = 30.0, 5.0
"""A dull winter day's mean under a pane, to say what leaving out the sun means: own
choice."""

KINDS = {
    Habit.LEAFLESS: "leafless tree",
    Habit.CONIFER: "evergreen conifer",
    Habit.BROADLEAF: "broad-leaved evergreen",
    Habit.WAKING: "tree that is waking or in leaf",
}


def sentence_of(found: Outlook, history: History, on: date) -> str:
    """The range of days and the day to look, always both."""
    assert found.check_on, "what is told has a day to look"
    look = "look today" if found.check_on <= on else f"look from {_day(found.check_on)}"
    last = history.until(on).last_look
    if last and last.word == "dry" and last.on > max(history.waterings):
        return f"Found dry on {_day(last.on)} and not watered since: {look}."
    if found.check_from is None:
        return (
            f"Not likely to want water within {HORIZON_DAYS} days of the last; {look} "
            "all the same."
        )
    if found.late is None:
        return (
            f"May want water from {_day(found.check_from)}; by when at the latest "
            f"cannot be told; {look}."
        )
    is_moist = last is not None and last.word in ("moist", "wet")
    if found.late <= on:
        if is_moist and found.late <= last.on:
            return (
                f"Found {last.word} on {_day(last.on)}, longer than reckoned: {look}."
            )
        return f"Should want water since {_day(found.late)} at the latest; {look}."
    # What was found moist did not want water before that day.
    first = max(found.check_from, last.on) if is_moist else found.check_from
    between = _between(first, found.late)
    return f"Likely to want water between {between}; {look}."


def _between(first: date, last: date) -> str:
    if (first.year, first.month) == (last.year, last.month):
        return f"{first:%a} {first.day} and {_day(last)}"
    return f"{_day(first)} and {_day(last)}"


def _day(day: date) -> str:
    return f"{day:%a} {day.day} {day:%B}"


def evidence_of(
    found: Outlook,
    tree: PottedTree,
    history: History,
    air: AirDemand,
    seen: TreeOutlook,
) -> tuple[Statement, ...]:
    held = held_l(tree)
    assert held, "what is told has a pot"
    assert found.factor, "what is told has a pace"
    last = history.until(seen.today).waterings[-1]
    kind = KINDS[tree.habit]
    return (
        Statement("Last watered", day_words(last), "", "waterings written down"),
        Statement(
            "Water that the full pot holds for the tree",
            _span(held.litres),
            "L",
            f"{held.because} {held.evidence.capitalize()}.",
        ),
        Statement(
            f"What the air asked for, mean of {_days(air.count)} known up to "
            f"{day_words(air.last)}",
            _from_to(*air.recent_mm),
            "mm a day",
            f"{measured_by(seen.exposure.air_sources)}. {air.likely.because}",
        ),
        Statement(
            "How fast it dries against what is reckoned",
            _span(found.factor),
            "times",
            f"learned from {_findings(found.findings)} in this pot"
            if found.findings
            else f"nothing found in this pot yet: any {kind}, own choice",
        ),
        Statement(
            f"Longest without a look, {kind}",
            LONGEST_DAYS[tree.habit],
            "days",
            "own choice",
        ),
    )


def _span(span: Range) -> str:
    return f"{span.likely:.2g} ({span.low:.2g} to {span.high:.2g})"


def _from_to(low: float, high: float) -> str:
    least, most = f"{low:.2g}", f"{high:.2g}"
    return least if least == most else f"{least} to {most}"


def _days(count: int) -> str:
    return "the one day" if count == 1 else f"{count} days"


def _findings(count: int) -> str:
    return "one finding" if count == 1 else f"{count} findings"


def unknown_of(found: Outlook, seen: TreeOutlook) -> tuple[str, ...]:
    sun_mm = float(frame_demand_mm_d(SUN_AIR_C, 0.0, SUN_WM2))
    said = [
        f"The sun on the pot is not known and not reckoned: {SUN_WM2:.0f} W/m² kept by "
        f"the pot would add {sun_mm:.1f} mm a day at {SUN_AIR_C:.0f} °C, so a bright "
        "place dries sooner than this says until its own pace is learned.",
        *found.unknown,
    ]
    taxon = seen.tree.taxon
    if not taxon.habit and taxon.is_evergreen is None:
        said.append(
            "Whether it keeps its leaves is not recorded: taken as a broad-leaved "
            "evergreen, the thirstiest at rest."
        )
    if _is_open(seen):
        said.append("It stands in the open: rain, snow and wind are not reckoned.")
    return tuple(said)


def _is_open(seen: TreeOutlook) -> bool:
    kind = seen.place.frame.kind if seen.place else ""
    outside = Sensor.Place.OUTSIDE
    return kind == Frame.Kind.HEELING_IN or any(
        source.sensor.place == outside for source in seen.exposure.air_sources
    )
