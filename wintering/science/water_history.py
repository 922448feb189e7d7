"""What a keeper found in one pot, turned into a belief about how fast it dries."""

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from datetime import date
from functools import partial
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from wintering.science.drying_factor import (
    DRY,
    MOIST,
    NOT_DRY,
    Belief,
    aged,
    found,
    unsettled,
    weighed,
)

WORDS = {"wet": MOIST, "moist": NOT_DRY, "dry": DRY}
"""The words of a round that say how much water is gone. A round has no word for
'check', so its moist says no more than not dry: own choice, the cautious reading."""

LOOKED = frozenset({*WORDS, "no_finding"})
"""Words that mean that somebody looked. Nothing to note teaches nothing: on a round
that writes down exceptions it may mean a glance."""

UNSEEN = frozenset({"frozen", "not_checked"})

SCALE_SD_KG = 0.02
"""Of one weighing with a household scale outdoors: own choice."""

GAP_DAYS = 2
"""An interval with more days of unknown demand teaches nothing (48 hours)."""

TELLING = 0.05
"""A finding counts as one if it moves the belief by this part of its width: moist on
the day after a watering tells nothing. Own choice."""


@dataclass(frozen=True)
class Word:
    """What was found in a pot on a day, in the words of a round."""

    on: date
    word: str

    def __post_init__(self) -> None:
        if self.word not in LOOKED | UNSEEN:
            raise ValueError(
                f"“{self.word}” is not a finding: use one of "
                f"{', '.join(sorted(LOOKED | UNSEEN))}."
            )


@dataclass(frozen=True)
class Weighing:
    """A pot's weight on a day [kg]; on a day of watering, after the water drained."""

    on: date
    kg: float


@dataclass(frozen=True)
class History:
    """All that happened to a tree in its present pot, in any order.

    waterings  days on which the whole ball was wetted
    changes    days of leaf fall, bud swell or a move to another place
    """

    waterings: Sequence[date]
    words: Sequence[Word] = ()
    weighings: Sequence[Weighing] = ()
    changes: Sequence[date] = ()
    scale_sd_kg: float = SCALE_SD_KG

    def until(self, on: date) -> "History":
        """The same as far as it was known in the evening of a day."""
        return History(
            waterings=sorted({day for day in self.waterings if day <= on}),
            words=sorted((w for w in self.words if w.on <= on), key=lambda w: w.on),
            weighings=sorted(
                (w for w in self.weighings if w.on <= on), key=lambda w: w.on
            ),
            changes=sorted({day for day in self.changes if day <= on}),
            scale_sd_kg=self.scale_sd_kg,
        )

    @property
    def last_look(self) -> Word | None:
        """The last time somebody looked at the pot, of a history in order."""
        return next((w for w in reversed(self.words) if w.word in LOOKED), None)


@dataclass(frozen=True, eq=False)
class Demand:
    """What the air asked for on each day, and will ask for [mm/d].

    first     the day of mm[0]
    mm        demand of each day, past and expected; not a number where unknown
    later_mm  mean demand of the season, for days to come that mm does not tell
    because   where these come from, as a sentence for people
    """

    first: date
    mm: NDArray[np.float64]
    later_mm: float
    because: str

    def __post_init__(self) -> None:
        known = self.mm[~np.isnan(self.mm)]
        if (known < 0).any() or not self.later_mm >= 0:
            raise ValueError("Demand is a number of mm a day and never below 0.")

    def days(self, since: date, count: int, on: date) -> NDArray[np.float64]:
        """Demand of count days from since on; not a number where unknown.

        Seen from the day `on`: only days from then on take the season's mean.
        """
        at = (since - self.first).days + np.arange(count)
        mm = np.full(count, np.nan)
        inside = (at >= 0) & (at < self.mm.size)
        mm[inside] = self.mm[at[inside]]
        to_come = np.arange(count) >= (on - since).days
        mm[to_come & np.isnan(mm)] = self.later_mm
        return mm


@dataclass(frozen=True)
class Lesson:
    """One thing learned on a day."""

    on: date
    apply: Callable[[Belief], Belief]
    is_finding: bool = True


@dataclass(frozen=True, eq=False)
class Drying:
    """How one pot is reckoned to dry with a factor of 1.

    available_l  water that the tree can take, full [L]
    lost_kg      for the demand of some days since a watering [mm/d], without gaps, the
                 loss up to the end of each [kg]
    """

    available_l: float
    lost_kg: Callable[[NDArray[np.float64]], NDArray[np.float64]] = field(repr=False)


def learned(
    prior: Belief, history: History, drying: Drying, demand: Demand, on: date
) -> tuple[Belief, int]:
    """The belief on a day, from the whole history, and how many findings shaped it.

    Words and weighings before the first watering, and those after more than 2 days of
    unknown demand, teach nothing. A word that the belief held likely (1 in 5 or more)
    narrows it; one that contradicts it moves it, and may leave it wider.
    """
    history = history.until(on)
    lessons = list(_lessons(history, drying, demand, on))
    # after what was found on the same day, which speaks of the time before
    lessons += [Lesson(day, unsettled, False) for day in history.changes]
    belief, last, findings = prior, None, 0
    for lesson in sorted(lessons, key=lambda lesson: lesson.on):
        if last is not None:
            belief = aged(belief, (lesson.on - last).days, prior.sd)
        after = lesson.apply(belief)
        findings += lesson.is_finding and _has_learned(belief, after)
        belief, last = after, lesson.on
    if last is not None:
        belief = aged(belief, (on - last).days, prior.sd)
    return belief, findings


def _has_learned(before: Belief, after: Belief) -> bool:
    moved = abs(after.mean - before.mean) + abs(after.sd - before.sd)
    return moved > TELLING * before.sd


def _lessons(
    history: History, drying: Drying, demand: Demand, on: date
) -> Iterator[Lesson]:
    """Of each interval from one watering to the next, or to today."""
    for since, until in pairwise([*history.waterings, on]):
        mm = demand.days(since, (until - since).days, on)
        missing = np.isnan(mm)
        if missing.all() or missing.sum() > GAP_DAYS:
            continue
        mm = np.where(missing, mm[~missing].mean(), mm)
        lost = np.concatenate([[0.0], drying.lost_kg(mm)])
        is_last = since == history.waterings[-1]
        yield from _from_words(history, drying, lost, since, until, is_last)
        yield from _from_weighings(history, lost, since, until, is_last)


def _from_words(
    history: History,
    drying: Drying,
    lost_kg: NDArray[np.float64],
    since: date,
    until: date,
    is_last: bool,
) -> Iterator[Lesson]:
    for word in history.words:
        if word.word not in WORDS or not since < word.on <= until:
            continue
        # on a day of watering only dry was surely found before the water
        if word.on == until and not is_last and word.word != "dry":
            continue
        share = float(lost_kg[(word.on - since).days]) / drying.available_l
        what = WORDS[word.word]
        yield Lesson(word.on, partial(found, reckoned=share, what=what))


def _from_weighings(
    history: History,
    lost_kg: NDArray[np.float64],
    since: date,
    until: date,
    is_last: bool,
) -> Iterator[Lesson]:
    here = [
        w
        for w in history.weighings
        if since <= w.on < until or (is_last and w.on == until)
    ]
    sd = math.sqrt(2) * history.scale_sd_kg
    for before, after in pairwise(here):
        a, b = (before.on - since).days, (after.on - since).days
        apply = partial(
            weighed,
            reckoned_kg=float(lost_kg[b] - lost_kg[a]),
            lost_kg=before.kg - after.kg,
            lost_sd_kg=sd,
        )
        yield Lesson(after.on, apply)
