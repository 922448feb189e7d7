"""Rows of a block by whose they are, and time's steps from row to row of each."""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from wintering.ingest.clock import DAY_S, Int64
from wintering.ingest.labels import MOST_LABELS
from wintering.ingest.scanning import Int32

NEVER = -(2**62)  # no instant yet


@dataclass(frozen=True, slots=True, eq=False)
class Tracks:
    """The rows of each label together, in file order; one track where none is said."""

    order: Int64 | slice
    starts: Int64
    ends: Int64
    labels: Int64

    @classmethod
    def of(cls, label: Int32 | None, count: int) -> "Tracks":
        """Of `count` rows, at least one."""
        if label is None:
            zero = np.zeros(1, np.int64)
            return cls(slice(None), zero, np.array([count]), zero)
        order = np.argsort(label.astype(np.int16), kind="stable")
        ordered = label[order]
        starts = np.flatnonzero(np.diff(ordered, prepend=-1))
        ends = np.append(starts[1:], count)
        return cls(order, starts, ends, ordered[starts].astype(np.int64))

    def __iter__(self) -> Iterator[tuple[int, Int64 | slice]]:
        """Each label, and the indices of its rows."""
        for label, start, end in zip(self.labels, self.starts, self.ends, strict=True):
            if isinstance(self.order, slice):
                yield int(label), slice(start, end)
            else:
                yield int(label), self.order[start:end]


class Steps:
    """How time goes from row to row of each label, over all blocks."""

    def __init__(self) -> None:
        self._last = np.full(MOST_LABELS + 1, NEVER, np.int64)
        self._up = np.zeros(DAY_S + 1, np.int64)
        self._down = np.zeros(DAY_S + 1, np.int64)
        self.forward = self.backward = 0

    @property
    def runs_backwards(self) -> bool:
        """Whether the newest rows come first."""
        return self.backward > self.forward

    @property
    def usual_s(self) -> int:
        """The most frequent step onward in time; 0 where there is none."""
        sizes = self._down if self.runs_backwards else self._up
        return int(np.argmax(sizes)) if sizes.any() else 0

    def add(self, seconds: Int64, tracks: Tracks) -> Int64:
        """Count the steps of some rows; the row that each came after, or NEVER."""
        ordered = seconds[tracks.order]
        before = np.empty_like(ordered)
        before[1:] = ordered[:-1]
        before[tracks.starts] = self._last[tracks.labels]
        self._last[tracks.labels] = ordered[tracks.ends - 1]
        steps = (ordered - before)[before != NEVER]
        self.forward += int(np.sum(steps > 0))
        self.backward += int(np.sum(steps < 0))
        for sizes, sign in ((self._up, 1), (self._down, -1)):
            some = steps[(steps * sign > 0) & (steps * sign <= DAY_S)] * sign
            if len(some):
                counts = np.bincount(some)
                sizes[: len(counts)] += counts
        return before
