"""The keeper's local days as runs of clock hours."""

from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta, tzinfo

import numpy as np
from numpy.typing import NDArray

from wintering.science.series import HOUR_S


@dataclass(frozen=True, eq=False)
class LocalDays:
    """Consecutive local days; where the clock changes, one has 23 or 25 hours.

    first   the first day
    starts  number of the first clock hour of each day since 1970-01-01 00:00 UTC, and
            last of all the hour after the last day
    """

    first: date
    starts: NDArray[np.int64]

    def __len__(self) -> int:
        return self.starts.size - 1

    def day(self, index: int) -> date:
        """The date of a day by its place in the row."""
        return self.first + timedelta(days=index)

    @property
    def first_hour(self) -> int:
        return int(self.starts[0])

    @property
    def end_hour(self) -> int:
        """The hour after the last day."""
        return int(self.starts[-1])

    @property
    def last_hours(self) -> NDArray[np.int64]:
        """The last hour of each day, counted from first_hour."""
        last: NDArray[np.int64] = self.starts[1:] - self.starts[0] - 1
        return last

    def sums(self, hours: NDArray[np.float64]) -> NDArray[np.float64]:
        """Sum for each day of values given for the hours from first_hour on."""
        if not len(self):
            return np.empty(0)
        return np.add.reduceat(hours, self.starts[:-1] - self.starts[0])


def local_days(since: date, until: date, zone: tzinfo) -> LocalDays:
    """The days from since up to and without until, as a zone's clocks count them.

    An hour belongs to the day in which it begins, so where clocks stand half an hour
    off UTC a day begins with the first whole UTC hour after midnight.
    """
    count = max(0, (until - since).days)
    midnights = (
        datetime.combine(since + timedelta(days=n), time(), zone).astimezone(UTC)
        for n in range(count + 1)
    )
    starts = [-(-int(midnight.timestamp()) // HOUR_S) for midnight in midnights]
    return LocalDays(since, np.array(starts, dtype=np.int64))
