"""Two records of one sensor that differ: what the difference is most likely made of.

A reason is only given where nearly all readings agree with it and no other reason
explains them as well; else there is none.
"""

from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray

from wintering.science.units import ZERO_C_IN_K, c_to_f

_LEAST = 6  # readings that a reason rests on: own choice
_SHARE = 0.95  # of the readings that must agree with a reason: own choice
_SPREAD_K = 1.0  # with less between them, a ratio looks like an offset: own choice
# Records are mostly written to a tenth of a degree, so two of them may differ by this
# from rounding alone.
_ROUNDING_K = 0.0501
_UNIT_K = 0.11  # rounding of both records, one of them in °F
_STEP_S = 900  # zones differ by whole quarters of an hour
_FARTHEST_S = 26 * 3600  # between the zones that are farthest apart: -12:00 and +14:00


class Reason(StrEnum):
    NEW_IS_F = "new is °F"
    STORED_IS_F = "stored is °F"
    NEW_IS_K = "new is K"
    STORED_IS_K = "stored is K"
    CLOCK = "clock"
    ROUNDING = "rounding"
    OFFSET = "offset"


@dataclass(frozen=True, slots=True)
class Disagreement:
    largest_k: float  # the largest difference either way
    median_k: float  # of new less stored
    reason: Reason | None
    shift_s: int = 0  # with CLOCK: so much the new record's clock is ahead


def disagreement(
    seconds: NDArray[np.int64],
    stored_c: NDArray[np.float64],
    new_c: NDArray[np.float64],
    *,
    around_s: NDArray[np.int64],
    around_c: NDArray[np.float64],
) -> Disagreement:
    """How two records differ, and why if that is clear.

    seconds            instants at which they differ, in order [s]
    stored_c, new_c    what each says there [°C], at least one
    around_s, around_c  the stored record before, at and after those instants, in order
    """
    apart = new_c - stored_c
    largest = float(apart[np.argmax(np.abs(apart))])
    median = float(np.median(apart))
    if len(apart) < _LEAST:
        return Disagreement(largest, median, None)
    reason = _of_units(stored_c, new_c)
    if reason is None and (shift := _clock(seconds, new_c, around_s, around_c)):
        return Disagreement(largest, median, Reason.CLOCK, shift)
    if reason is None and _mostly(np.abs(apart) <= _ROUNDING_K):
        reason = Reason.ROUNDING
    if reason is None and _mostly(np.abs(apart - median) <= _ROUNDING_K):
        reason = Reason.OFFSET
    return Disagreement(largest, median, reason)


def _of_units(
    stored_c: NDArray[np.float64], new_c: NDArray[np.float64]
) -> Reason | None:

    if _mostly(np.abs(new_c - stored_c - ZERO_C_IN_K) <= _UNIT_K):
        return Reason.NEW_IS_K
    if _mostly(np.abs(stored_c - new_c - ZERO_C_IN_K) <= _UNIT_K):
        return Reason.STORED_IS_K
    if np.ptp(np.minimum(stored_c, new_c)) < _SPREAD_K:
        return None
    if _mostly(np.abs(new_c - c_to_f(stored_c)) <= _UNIT_K):
        return Reason.NEW_IS_F
    if _mostly(np.abs(stored_c - c_to_f(new_c)) <= _UNIT_K):
        return Reason.STORED_IS_F
    return None


def _clock(
    seconds: NDArray[np.int64],
    new_c: NDArray[np.float64],
    around_s: NDArray[np.int64],
    around_c: NDArray[np.float64],
) -> int:
    """How far the new record's clock is ahead; 0 where no one shift explains it."""
    if np.ptp(new_c) < _SPREAD_K:
        return 0
    found = [
        shift
        for shift in range(-_FARTHEST_S, _FARTHEST_S + 1, _STEP_S)
        if shift and _agrees(seconds - shift, new_c, around_s, around_c)
    ]
    return found[0] if len(found) == 1 else 0


def _agrees(
    seconds: NDArray[np.int64],
    new_c: NDArray[np.float64],
    around_s: NDArray[np.int64],
    around_c: NDArray[np.float64],
) -> bool:
    at = np.minimum(np.searchsorted(around_s, seconds), len(around_s) - 1)
    is_there = around_s[at] == seconds
    # What lies beyond the stored record can't be compared; most must.
    if is_there.sum() < max(_LEAST, len(seconds) / 2):
        return False
    return _mostly(np.abs(around_c[at] - new_c)[is_there] <= _ROUNDING_K)


def _mostly(agrees: NDArray[np.bool_]) -> bool:
    return bool(agrees.mean() >= _SHARE)
