"""What is odd about a logger's clock. Nothing is altered: the keeper is told.

Instants are whole seconds since 1970-01-01 00:00 UTC. That time runs back from row to
row is the file reader's to see.
"""

import numpy as np
from numpy.typing import ArrayLike

from wintering.science.doubts import HOUR_S, Doubt, Kind

AHEAD_S = 5 * 60
"""A clock may be so far ahead before its readings count as future: own choice."""

EXACT_S = 2
"""A jump of an hour is exact to so much, for loggers that round: own choice."""


def future(seconds: ArrayLike, now_s: int) -> list[Doubt]:
    """Readings more than 5 min later than an instant given, as one doubt.

    The figure is how far the last one lies ahead [h].
    """
    at = np.asarray(seconds, dtype=np.int64)
    late = at[at > now_s + AHEAD_S]
    if not late.size:
        return []
    ahead_h = float(late.max() - now_s) / HOUR_S
    words = (
        f"{late.size} reading(s) lie in the future, the last by {ahead_h:.1f} h. "
        "Set the logger's clock, and check the time zone that it was read with."
    )
    since, until = int(late.min()), int(late.max())
    return [Doubt(Kind.CLOCK, since, until, round(ahead_h, 3), "h", words)]


def hour_jumps(seconds: ArrayLike) -> list[Doubt]:
    """Places where the clock went an hour too far or back, in the order of the rows.

    seconds  instants in the order in which the logger wrote them

    The usual step is the median of those forward. Where it is half an hour or more
    nothing is told: a missing reading looks the same. The figure is +1 or -1 h.
    """
    at = np.asarray(seconds, dtype=np.int64)
    step = np.diff(at)
    forward = np.sort(step[step > 0])
    if not forward.size:
        return []
    usual = int(forward[(forward.size - 1) // 2])
    if usual >= HOUR_S // 2:
        return []
    off = step - usual
    found = np.flatnonzero(np.abs(np.abs(off) - HOUR_S) <= EXACT_S)
    return [
        Doubt(
            Kind.CLOCK,
            *(int(min(at[i], at[i + 1])), int(max(at[i], at[i + 1]))),
            *(1.0 if off[i] > 0 else -1.0, "h"),
            "The clock went on by an hour too much: a change to summer time, or "
            f"{HOUR_S // usual} readings are missing."
            if off[i] > 0
            else "The clock went back by an hour, so one hour was written twice: a "
            "change to winter time.",
        )
        for i in found
    ]
