"""What was sent, read: measurements, or what is wrong with which row of it."""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal, InvalidOperation

from wintering.climate.measurements import GREATEST, LONGEST_NAME, UNITS, Measurement

__all__ = [
    "MOST_PROBLEMS",
    "MOST_READINGS",
    "UNITS",
    "UNSEEN",
    "Measurement",
    "NotUnderstood",
    "Problem",
    "exact",
    "measurement",
]

MOST_READINGS = 20_000  # in one post: own choice, two weeks of one sensor a minute
MOST_PROBLEMS = 20  # told at once; what is wrong is mostly wrong in every row
# Before this a device's clock was never set; own choice, older than any device here.
EARLIEST_S = 946_684_800  # 2000-01-01 in UTC
AHEAD_S = 300  # a device's clock may be a little fast: own choice

# Controls, and what nobody sees or what turns round what stands beside it (Unicode's
# characters of format, and its separators of lines): names would look alike.
UNSEEN = (
    r"\x00-\x1f\x7f-\x9f\xad\u061c\u180e\u200b-\u200f\u2028-\u202e"
    r"\u2060-\u2064\u2066-\u206f\ufeff\ufff9-\ufffb"
)
# Nor halves of characters, which no text may hold, nor blanks at the ends.
_NO_NAME = re.compile(rf"[{UNSEEN}\ud800-\udfff]|^\s|\s\Z")


@dataclass(frozen=True, slots=True)
class Problem:
    """A row that cannot be understood; rows count from 1, None is all of it."""

    row: int | None
    reason: str


class NotUnderstood(Exception):
    """Nothing of what was sent is kept; the problems say what to mend."""

    def __init__(self, problems: Sequence[Problem]) -> None:
        super().__init__(" ".join(problem.reason for problem in problems))
        self.problems = tuple(problems)

    @classmethod
    def because(cls, reason: str, row: int | None = None) -> "NotUnderstood":
        return cls([Problem(row, reason)])


def exact(text: str) -> Decimal:
    """A number as it is written, or a ValueError whose text says what is wrong."""
    try:
        return Decimal(text)
    except InvalidOperation as error:
        raise ValueError(f"'{text[:20]}' has too large an exponent.") from error


def measurement(
    *, name: str, second: int, value: Decimal, unit: str, received_s: float
) -> Measurement:
    """A measurement that can be kept, or a ValueError whose text says what to mend.

    received_s  when it came in, seconds since 1970
    """
    if not 0 < len(name) <= LONGEST_NAME or _NO_NAME.search(name):
        raise ValueError(
            f"Name the sensor with 1 to {LONGEST_NAME} plain characters, without "
            "blanks at its ends."
        )
    if unit not in UNITS:
        known = ", ".join(UNITS)
        raise ValueError(f"The unit '{unit[:20]}' is not known: send {known}.")
    # Compared alone: reckoning with a vast exponent would overflow.
    if not value.is_finite() or not -GREATEST <= value <= GREATEST:
        raise ValueError(f"The value must be a number from -{GREATEST} to {GREATEST}.")
    if second < EARLIEST_S:
        raise ValueError("That time is before 2000: set the logger's clock.")
    if second > received_s + AHEAD_S:
        raise ValueError(
            f"That time lies more than {AHEAD_S // 60} minutes ahead: set the "
            "logger's clock, and send times with their offset from UTC."
        )
    return Measurement(name, second, value, unit)
