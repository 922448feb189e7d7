"""When one pot is likely to want water: a range of days, and what it rests on.

The day is one to check on, never one to water on: whether water would do harm is told
by water.why_not_water, and whether it is wanted by the keeper's finger.
"""

from dataclasses import dataclass
from datetime import date, timedelta
from functools import partial

import numpy as np
from numpy.typing import NDArray

from wintering.science.drying_factor import GAP_SD, Belief
from wintering.science.evidence import Evidence
from wintering.science.potted_tree import (
    Habit,
    Held,
    PottedTree,
    held_l,
    lost_kg,
    prior,
)
from wintering.science.substrate import Range
from wintering.science.water_history import GAP_DAYS, Demand, Drying, History, learned

LONGEST_DAYS = {
    Habit.LEAFLESS: 21,
    Habit.CONIFER: 14,
    Habit.BROADLEAF: 14,
    Habit.WAKING: 14,
}
"""Never longer without a look, whatever is reckoned: own choice."""

DUE_SHARE = 0.5
"""Water is due when this share of the available water is gone: own choice."""

LOW, HIGH = 0.1, 0.9
HORIZON_DAYS = 120


@dataclass(frozen=True)
class Outlook:
    """When to check a pot, and how sure that is.

    gone         share of the available water gone now, 10, 50 and 90 % points, at
                 most 1; None if it cannot be told
    check_from   day by which it is due with 1 chance in 10
    likely_due   ... with even chances
    late         ... with 9 chances in 10; None for a day more than 120 days after the
                 watering
    check_on     the day for the calendar: check_from, at least a day after the last
                 look and at most 14 days after it (21 for leafless trees)
    available_l  water the full pot holds for the tree [L]
    factor       how fast this tree dries against what is reckoned, 10, 50, 90 % points
    findings     words and weighings that shaped the factor
    because      what it rests on, as sentences
    unknown      what is not known and what was taken for it, as sentences
    """

    gone: Range | None
    check_from: date | None
    likely_due: date | None
    late: date | None
    check_on: date | None
    available_l: Range | None
    factor: Range | None
    findings: int
    because: str
    unknown: tuple[str, ...]
    evidence: Evidence


def outlook(tree: PottedTree, history: History, demand: Demand, on: date) -> Outlook:
    """When the pot is to be checked, seen in the morning of a day.

    history  of the present pot only: a new pot or substrate starts a new one
    demand   from the first day that history speaks of as far as it is known

    A watering counts from the beginning of its day, so the loss of a day shows on the
    next. Past days of unknown demand are filled with the mean of the known ones since
    the watering; more than 2 of them widen the range. If it cannot be told, every
    figure is None and `because` says what is missing.
    """
    history = history.until(on)
    why, held = _why_untold(tree, history, demand, on), held_l(tree)
    if why or tree.pot is None or held is None:
        return _untold(why)
    since, so_far = history.waterings[-1], (on - history.waterings[-1]).days
    mm = demand.days(since, so_far + HORIZON_DAYS, on)
    missing = np.isnan(mm)
    if missing.any():
        mm[missing] = np.nanmean(mm[:so_far])
    drying = Drying(held.litres.likely, partial(lost_kg, tree, tree.pot, held))
    start = prior(tree.habit, held)
    belief, findings = learned(start, history, drying, demand, on)
    if missing.sum() > GAP_DAYS:
        belief = Belief(belief.mean, belief.sd + GAP_SD)
    gone = np.concatenate([[0.0], drying.lost_kg(mm)]) / held.litres.likely
    return _told(
        tree,
        held,
        history,
        belief=belief,
        findings=findings,
        gone=gone,
        demand_because=demand.because,
        missing=int(missing.sum()),
    )


def _why_untold(tree: PottedTree, history: History, demand: Demand, on: date) -> str:
    if tree.pot is None:
        return (
            "The size of the pot is not known: give its length, width and height, and "
            "check by the season until then."
        )
    if not history.waterings:
        return "No watering is recorded in this pot: record the next one."
    since = history.waterings[-1]
    so_far = demand.days(since, (on - since).days, on)
    if so_far.size and np.isnan(so_far).all():
        return (
            "Nothing is known of temperature and humidity since the last watering: "
            "bring the log up to date, and check by the season until then."
        )
    return ""


def _told(
    tree: PottedTree,
    held: Held,
    history: History,
    *,
    belief: Belief,
    findings: int,
    gone: NDArray[np.float64],
    demand_because: str,
    missing: int,
) -> Outlook:
    since = history.waterings[-1]
    now = float(gone[-1 - HORIZON_DAYS])
    factor = Range(belief.factor(LOW), belief.likely, belief.factor(HIGH))
    check_from = _due(since, gone, factor.high)
    check_on, why_then = _check_on(tree.habit, history, check_from)
    return Outlook(
        gone=Range(
            *(min(1.0, f * now) for f in (factor.low, factor.likely, factor.high))
        ),
        check_from=check_from,
        likely_due=_due(since, gone, factor.likely),
        late=_due(since, gone, factor.low),
        check_on=check_on,
        available_l=held.litres,
        factor=factor,
        findings=findings,
        because=(
            f"Last watered on {_day(since)}. {why_then} The full pot holds about "
            f"{held.litres.likely:.2g} L that the tree can take "
            f"({held.litres.low:.2g} to {held.litres.high:.2g} L). {held.because} "
            f"{_learned_from(findings, tree.habit)} {demand_because}"
        ),
        unknown=_unknown(tree, missing),
        evidence=Evidence.COMPUTED if findings > 1 else Evidence.OWN_CHOICE,
    )


def _untold(because: str) -> Outlook:
    return Outlook(
        gone=None,
        check_from=None,
        likely_due=None,
        late=None,
        check_on=None,
        available_l=None,
        factor=None,
        findings=0,
        because=because,
        unknown=(because,),
        evidence=Evidence.OWN_CHOICE,
    )


def _due(since: date, gone: NDArray[np.float64], factor: float) -> date | None:
    """The day in which water is due, by the shares gone at the start of each day."""
    reached = int(np.searchsorted(gone * factor, DUE_SHARE))
    if reached == gone.size:
        return None
    # reached at the start of that day at the latest, so in the day before
    return since + timedelta(days=max(0, reached - 1))


def _check_on(
    habit: Habit, history: History, check_from: date | None
) -> tuple[date, str]:
    since, look = history.waterings[-1], history.last_look
    last = max(since, look.on) if look else since
    next_day, latest = last + timedelta(days=1), last + timedelta(LONGEST_DAYS[habit])
    if look and look.word == "dry" and look.on > since:
        return next_day, f"Found dry on {_day(look.on)} and not watered since."
    if check_from is None or check_from > latest:
        return latest, (
            f"Nothing says that it is dry before {_day(latest)}, but no pot goes "
            f"longer than {LONGEST_DAYS[habit]} days without a look."
        )
    if check_from < next_day and look and last == look.on:
        return next_day, (
            f"Half of its water may be gone since {_day(check_from)}; looked at on "
            f"{_day(last)} and not watered, so look again the day after."
        )
    return max(check_from, next_day), (
        f"With one chance in ten half of its water is gone by {_day(check_from)}."
    )


def _learned_from(findings: int, habit: Habit) -> str:
    if not findings:
        return (
            f"Nothing has been learned from this tree yet: the range is that of any "
            f"tree of its kind ({habit})."
        )
    times = "one finding" if findings == 1 else f"{findings} findings"
    return f"Its own pace is learned from {times} in this pot."


def _unknown(tree: PottedTree, missing: int) -> tuple[str, ...]:
    said = ["That the last watering wetted the whole ball is taken for granted."]
    if tree.habit is not Habit.LEAFLESS:
        said.append("What its leaves lose is not measured: a factor stands for it.")
    if tree.is_unglazed is None:
        said.append("Whether the pot is glazed is not known: taken as glazed.")
    if tree.is_covered is None:
        said.append("Whether moss covers the soil is not known: taken as bare.")
    if missing:
        days = "one day" if missing == 1 else f"{missing} days"
        said.append(
            f"Temperature or humidity of {days} since the watering is not known: the "
            "mean of the other days stands in"
            + (", and the range is wider." if missing > GAP_DAYS else ".")
        )
    return tuple(said)


def _day(on: date) -> str:
    return f"{on.day} {on:%B %Y}"
