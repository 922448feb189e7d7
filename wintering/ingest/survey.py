"""The first pass over a log: what has to be known of the whole before any is stored.

Its state does not grow with the file: it keeps counts, the different dates, and the
first of what was rejected.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from wintering.ingest.cells import OTHER_UNIT
from wintering.ingest.clock import DAY_S
from wintering.ingest.dates import NO_DAY, Order, days_of, is_any_day
from wintering.ingest.labels import MOST_LABELS, Labels
from wintering.ingest.scanning import NO_VALUE, Block, Codes, Int32, Int64, Rejected
from wintering.ingest.sniffing import Dialect
from wintering.ingest.stamps import NAIVE, is_certain
from wintering.ingest.tracks import Steps, Tracks

MOST_REJECTED = 10_000  # listed one by one; more are only counted
# A column that never says its unit is taken for °C while its values speak for it: what
# hardly falls below 20, or rises above 45 other than by a spike, may be °F or K. Both
# bounds are own choices: 20 to 50 is where the two may be mixed up.
LOW_C, HIGH_C = 20_000, 45_000
_CODES = OTHER_UNIT + 1
_FIRST_KEPT = 200  # dates of first rows without an offset


@dataclass(frozen=True, slots=True, eq=False)
class Tally:
    """What the values of one series are like, in thousandths as they are written."""

    stated: NDArray[np.int64]  # how many state each unit, none first
    below: int  # LOW_C
    above: int  # HIGH_C
    low: int
    high: int

    @property
    def count(self) -> int:
        return int(self.stated.sum())


class Rejections:
    """The first of the rows left out, and how many there are."""

    def __init__(self) -> None:
        self.first: list[Rejected] = []
        self.count = 0

    def add(self, told: tuple[Rejected, ...] | list[Rejected], more: int = 0) -> None:
        """Some rows; `more` of them are not told one by one."""
        self.count += len(told) + more
        self.first += told[: max(0, MOST_REJECTED - len(self.first))]

    def joined(self, other: "Rejections") -> "Rejections":
        both = Rejections()
        both.count = self.count + other.count
        together = [*self.first, *other.first]
        both.first = sorted(together, key=lambda told: told.row)[:MOST_REJECTED]
        return both


class Survey:
    """Everything that a log's rows tell together."""

    def __init__(
        self, name: str, dialect: Dialect, column_count: int, labels: Labels
    ) -> None:
        self.name = name
        self.dialect = dialect
        self.labels = labels
        self.row_count = 0
        self.rejections = Rejections()
        self.date_keys: set[int] = set()
        self.has_naive = False
        self._naive: dict[int, int] = {}  # date key, second of the day
        self._steps: dict[Order | None, Steps] = {}
        size = (MOST_LABELS + 1 if labels.columns else 1, column_count)
        self._stated = np.zeros((*size, _CODES), np.int64)
        self._below, self._above = np.zeros(size, np.int64), np.zeros(size, np.int64)
        self._low = np.full(size, 2**31 - 1, np.int64)
        self._high = np.full(size, NO_VALUE, np.int64)

    def add(self, block: Block) -> None:
        self.rejections.add(block.rejected)
        if not len(block):
            return
        self.row_count += len(block)
        tracks = Tracks.of(block.label, len(block))
        self._note_times(block, tracks)
        for which, values in enumerate(block.values):
            self._note_values(which, values, block.units[which], tracks)

    def tally(self, which: int, labels: list[int]) -> Tally:
        """What the values of one column and some labels are like."""
        return Tally(
            self._stated[labels, which].sum(axis=0),
            int(self._below[labels, which].sum()),
            int(self._above[labels, which].sum()),
            int(self._low[labels, which].min()),
            int(self._high[labels, which].max()),
        )

    def steps(self, order: Order | None) -> Steps:
        """How time went on, its dates read in that order."""
        return self._steps.get(order) or next(iter(self._steps.values()), Steps())

    def first_naive(self, order: Order | None) -> int:
        """The first local time in the calendar that came without an offset."""
        for key, second in self._naive.items():
            day = int(days_of(np.array([key]), order)[0])
            if day != NO_DAY:
                return day * DAY_S + second
        return 0

    def _note_times(self, block: Block, tracks: Tracks) -> None:
        offset_s = np.where(block.offset_min == NAIVE, 0, block.offset_min) * 60
        if self.dialect.times.form != "written":
            self._count(None, block.second, tracks)
            return
        heads = np.flatnonzero(np.diff(block.date_key, prepend=-1))
        keys = set(block.date_key[heads].tolist()) - self.date_keys
        self.date_keys |= {key for key in keys if is_any_day(key)}
        if self.dialect.offset_min is None and not self.dialect.zone:
            self._note_naive(block)
        for order in self._orders():
            days = days_of(block.date_key, order)
            local = np.where(days == NO_DAY, 0, days) * DAY_S + block.second
            self._count(order, local - offset_s, tracks)

    def _orders(self) -> tuple[Order | None, ...]:
        """The orders that dates may be in, by the first block's."""
        if self._steps:
            return tuple(self._steps)
        is_clear = all(is_certain(key) for key in self.date_keys)
        return (None,) if is_clear else ("dmy", "mdy", "ymd")

    def _count(self, order: Order | None, seconds: Int64, tracks: Tracks) -> None:
        self._steps.setdefault(order, Steps()).add(seconds, tracks)

    def _note_naive(self, block: Block) -> None:
        naive = np.flatnonzero(block.offset_min == NAIVE)
        heads = naive[np.flatnonzero(np.diff(block.date_key[naive], prepend=-1))]
        for at in heads.tolist():
            key = int(block.date_key[at])
            if is_any_day(key):
                self.has_naive = True
                if len(self._naive) < _FIRST_KEPT:
                    self._naive.setdefault(key, int(block.second[at]))

    def _note_values(
        self, which: int, values: Int32, codes: Codes | None, tracks: Tracks
    ) -> None:
        ordered, at = values[tracks.order], (tracks.labels, which)
        is_there = ordered != NO_VALUE
        sums = np.add.reduceat
        starts = tracks.starts
        if codes is None:
            self._stated[*at, 0] += sums(is_there, starts, dtype=np.int64)
        else:
            of_row = codes[tracks.order]
            for code in np.unique(of_row):
                has_it = is_there & (of_row == code)
                self._stated[*at, code] += sums(has_it, starts, dtype=np.int64)
        self._below[at] += sums(is_there & (ordered < LOW_C), starts, dtype=np.int64)
        self._above[at] += sums(ordered > HIGH_C, starts, dtype=np.int64)
        filled = np.where(is_there, ordered, 2**31 - 1)
        self._low[at] = np.minimum(self._low[at], np.minimum.reduceat(filled, starts))
        self._high[at] = np.maximum(
            self._high[at], np.maximum.reduceat(ordered, starts)
        )
