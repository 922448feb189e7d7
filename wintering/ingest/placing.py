"""Rows into instants: the second pass over a log, when all questions are settled.

A clock that was put back shows an hour twice, and only the rows around it can tell
which is which. Rows of such an hour wait until what follows them has been read, so that
it makes no difference where one block of lines ends and the next begins.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime, tzinfo
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from wintering.ingest.clock import DAY_S, Int64, is_shown_twice, to_utc
from wintering.ingest.dates import NO_DAY, Order, days_of
from wintering.ingest.labels import MOST_LABELS
from wintering.ingest.refusals import LogQuestion
from wintering.ingest.scanning import Block, Int32, Rejected
from wintering.ingest.stamps import NAIVE
from wintering.ingest.survey import MOST_REJECTED, Rejections, Survey
from wintering.ingest.tracks import NEVER, Steps, Tracks

Pass = Literal["first", "second"]
_AFTER = 2  # rows that must follow a repeated hour to tell it apart: own choice
_MOST_WAITING = 1_000_000  # rows; no logger writes so many in two hours


@dataclass(frozen=True, slots=True, eq=False)
class Placed:
    """Rows whose instants are known."""

    block: Block
    seconds: Int64  # since 1970, UTC
    local: Int64  # what the logger's clock showed

    def at(self, chosen: NDArray[np.bool_] | Int64) -> "Placed":
        return Placed(self.block.at(chosen), self.seconds[chosen], self.local[chosen])

    @property
    def offset_s(self) -> Int32:
        return (self.local - self.seconds).astype(np.int32)


class Placer:
    """Gives each row its instant; says which rows have none, and what is odd."""

    def __init__(
        self,
        survey: Survey,
        *,
        order: Order | None,
        zone: tzinfo | None,
        repeated_hour: Pass | None,
    ) -> None:
        self.name = survey.name
        self.rejections = Rejections()
        self._is_written = survey.dialect.times.form == "written"
        self._stated_min = survey.dialect.offset_min
        self._order, self._zone, self._repeated = order, zone, repeated_hour
        steps = survey.steps(order)
        self._is_backward, self._usual_s = steps.runs_backwards, steps.usual_s
        self._waiting: Block | None = None
        # The last two local times of each label, the later one last.
        self._before = np.full((MOST_LABELS + 1, _AFTER), NEVER, np.int64)
        self._went = Steps()
        self._back: tuple[int, int, int] | None = None  # row, local before and after
        self._back_count = 0
        self._missing: tuple[int, int] | None = None  # row, local

    def place(self, block: Block, *, is_last: bool = False) -> Iterator[Placed]:
        """What can be placed of the waiting rows and these."""
        if self._waiting is not None:
            block = Block.joined([self._waiting, block])
            self._waiting = None
        if not len(block):
            return
        placed = self._dated(block)
        if not len(placed.block):
            return
        naive = placed.block.offset_min == NAIVE
        if self._is_written and self._stated_min is None and naive.any():
            is_settled = self._settled(placed, naive, is_last=is_last)
            if not is_settled.all():
                self._waiting = placed.block.at(~is_settled)
                placed, naive = placed.at(is_settled), naive[is_settled]
            placed = self._on_the_clock(placed, naive)
        if len(placed.block):
            self._note_steps(placed)
            yield placed

    def warnings(self) -> list[str]:
        told = []
        if self._missing:
            row, local = self._missing
            told.append(
                f"Row {row} says {clock_text(local)}, a time that the clocks of "
                f"{self._zone} skipped: a logger that does not change its clock needs "
                "a fixed offset such as -05:00 as its zone."
            )
        if self._back:
            row, before, after = self._back
            told.append(
                f"Time runs back at row {row}, from {clock_text(before)} to "
                f"{clock_text(after)}, and in {self._back_count} place(s) in all: "
                "check the logger's clock and its zone."
            )
        return told

    def _dated(self, block: Block) -> Placed:
        """Rows with a date of the calendar; naive ones still on their local clock."""
        if not self._is_written:
            return Placed(block, block.second, block.second)
        days = days_of(block.date_key, self._order)
        is_date = days != NO_DAY
        if not is_date.all():
            self._reject(block.at(~is_date), "its date is not in the calendar")
            block, days = block.at(is_date), days[is_date]
        local = days * DAY_S + block.second
        stated = NAIVE if self._stated_min is None else self._stated_min
        offset = np.where(block.offset_min == NAIVE, stated, block.offset_min)
        return Placed(block, local - np.where(offset == NAIVE, 0, offset) * 60, local)

    def _settled(
        self, placed: Placed, naive: NDArray[np.bool_], *, is_last: bool
    ) -> NDArray[np.bool_]:
        """Which rows need not wait: enough rows follow them."""
        is_settled = np.ones(len(naive), bool)
        assert self._zone is not None, "a zone is asked for before rows are placed"
        if is_last or len(naive) > _MOST_WAITING:
            return is_settled
        twice = naive & is_shown_twice(placed.local, self._zone)
        if not twice.any():
            return is_settled
        rows = np.flatnonzero(naive)
        for _, own in Tracks.of(_labels_at(placed.block, rows), len(rows)):
            at = rows[own]
            repeated = np.flatnonzero(twice[at])
            if len(repeated) and repeated[-1] >= len(at) - _AFTER:
                is_settled[at[_run_start(twice[at], int(repeated[-1])) :]] = False
        return is_settled

    def _on_the_clock(self, placed: Placed, naive: NDArray[np.bool_]) -> Placed:
        """Naive rows in UTC, label by label; times that never were are left out."""
        assert self._zone is not None, "a zone is asked for before rows are placed"
        seconds = placed.seconds.copy()
        is_good = np.ones(len(seconds), bool)
        is_shuffled = np.zeros(len(seconds), bool)
        rows = np.flatnonzero(naive)
        if not len(rows):
            return placed
        tracks = Tracks.of(_labels_at(placed.block, rows), len(rows))
        if not is_shown_twice(placed.local[rows], self._zone).any():
            found = to_utc(placed.local[rows], self._zone)
            seconds[rows], is_good[rows] = found.seconds, ~found.is_missing
            for label, own in tracks:
                self._remember(label, placed.local[rows[own]])
        else:
            for label, own in tracks:
                self._place_label(
                    label, rows[own], placed, seconds, is_good, is_shuffled
                )
        placed = Placed(placed.block, seconds, placed.local)
        if is_good.all():
            return placed
        self._skip(placed.at(~is_good & ~is_shuffled))
        self._refuse_shuffled(placed.at(is_shuffled))
        return placed.at(is_good)

    def _place_label(
        self,
        label: int,
        rows: Int64,
        placed: Placed,
        seconds: Int64,
        is_good: NDArray[np.bool_],
        is_shuffled: NDArray[np.bool_],
    ) -> None:
        assert self._zone is not None, "a zone is asked for before rows are placed"
        before = self._before[label]
        before = before[before != NEVER]
        local = np.concatenate([before, placed.local[rows]])
        way = slice(None, None, -1 if self._is_backward else 1)
        found = to_utc(
            local[way], self._zone, usual_s=self._usual_s, repeated=self._repeated
        )
        unsure = np.flatnonzero(found.is_unsure[way][len(before) :])
        if len(unsure):
            row = int(placed.block.row[rows[unsure[0]]])
            self._ask(row, int(placed.local[rows[unsure[0]]]))
        seconds[rows] = found.seconds[way][len(before) :]
        is_shuffled[rows] = found.is_shuffled[way][len(before) :]
        is_good[rows] = ~found.is_missing[way][len(before) :] & ~is_shuffled[rows]
        self._remember(label, placed.local[rows])

    def _remember(self, label: int, local: Int64) -> None:
        kept = np.concatenate([self._before[label], local[-_AFTER:]])[-_AFTER:]
        self._before[label] = kept

    def _ask(self, row: int, local: int) -> None:
        raise LogQuestion(
            f"{self.name}: row {row} says {clock_text(local)}, an hour that the clocks "
            f"of {self._zone} showed twice, and the rows around it do not tell which "
            "it is; say whether such rows belong to the first or the second. A logger "
            "that does not change its clock needs a fixed offset such as -05:00 "
            "instead.",
            about="repeated_hour",
        )

    def _skip(self, placed: Placed) -> None:
        """Times that the clock skipped in spring."""
        if not len(placed.block):
            return
        told = [
            Rejected(
                int(row),
                f"{clock_text(int(local))}: the clocks of {self._zone} skipped this "
                "time",
            )
            for row, local in zip(
                placed.block.row[:MOST_REJECTED], placed.local, strict=False
            )
        ]
        if self._missing is None:
            self._missing = int(placed.block.row[0]), int(placed.local[0])
        self.rejections.add(told, len(placed.block) - len(told))

    def _refuse_shuffled(self, placed: Placed) -> None:
        """Readings of a repeated hour whose order was lost by sorting."""
        told = [
            Rejected(
                int(row),
                f"{clock_text(int(local))} stands there twice running, and the clocks "
                f"of {self._zone} showed it twice: which reading came first is lost. "
                "Bring the log in as the logger wrote it, not sorted by its times.",
            )
            for row, local in zip(
                placed.block.row[:MOST_REJECTED], placed.local, strict=False
            )
        ]
        self.rejections.add(told, len(placed.block) - len(told))

    def _reject(self, block: Block, reason: str) -> None:
        told = [Rejected(int(row), reason) for row in block.row[:MOST_REJECTED]]
        self.rejections.add(told, len(block) - len(told))

    def _note_steps(self, placed: Placed) -> None:
        """Where time runs back, which a changed or wrongly placed clock would do."""
        tracks = Tracks.of(placed.block.label, len(placed.block))
        before = self._went.add(placed.seconds, tracks)
        ordered = placed.seconds[tracks.order]
        steps = (ordered - before) * (-1 if self._is_backward else 1)
        back = np.flatnonzero((before != NEVER) & (steps < 0))
        if not len(back):
            return
        self._back_count += len(back)
        if self._back is None:
            local, row = placed.local[tracks.order], placed.block.row[tracks.order]
            at = int(back[np.argmin(row[back])])
            # On the logger's clock as it is now: the row before may be in no block.
            shown = int(before[at] + local[at] - ordered[at])
            self._back = int(row[at]), shown, int(local[at])


def clock_text(local_s: int) -> str:
    return f"{datetime.fromtimestamp(int(local_s), UTC):%Y-%m-%d %H:%M}"


def _labels_at(block: Block, rows: Int64) -> Int32 | None:
    return None if block.label is None else block.label[rows]


def _run_start(chosen: NDArray[np.bool_], last: int) -> int:
    """Where the unbroken run of chosen rows begins that ends at `last`."""
    others = np.flatnonzero(~chosen[:last])
    return int(others[-1]) + 1 if len(others) else 0
