"""A winter: the season from late summer to spring exit, named by both its years."""

import re
from dataclasses import dataclass
from datetime import date
from typing import Self

FIRST_MONTH = 8


@dataclass(frozen=True, order=True)
class Winter:
    """One northern winter, 1 August to 31 July.

    start_year  the year in which it begins: 2026 for the winter 2026/27
    """

    start_year: int

    @classmethod
    def of(cls, day: date) -> Self:
        """The winter that a day belongs to."""
        return cls(day.year if day.month >= FIRST_MONTH else day.year - 1)

    @classmethod
    def parse(cls, name: str) -> Self:
        """The winter of a name such as 2026/27; anything else is a ValueError."""
        match = re.fullmatch(r"(\d{4})/(\d{2})", name.strip(), flags=re.ASCII)
        if match:
            winter = cls(int(match[1]))
            if winter.name == match[0]:
                return winter
        raise ValueError(
            f"“{name}” is not a winter: write both years, such as 2026/27."
        )

    @property
    def name(self) -> str:
        return f"{self.start_year:04d}/{(self.start_year + 1) % 100:02d}"

    @property
    def first_day(self) -> date:
        return date(self.start_year, FIRST_MONTH, 1)

    @property
    def last_day(self) -> date:
        return date(self.start_year + 1, 7, 31)

    @property
    def chill_start(self) -> date:
        """First day of chill where no leaf-fall date is known: 1 October.

        Own choice within published custom: 1 September and 1 November in California
        (ccag-eh.ucanr.edu, Chill Portions and the Dynamic Model), 1 October in
        Alabama (aces.edu, Chill Accumulation Monitoring in Alabama).
        """
        return date(self.start_year, 10, 1)

    @property
    def warmth_start(self) -> date:
        """First day whose warmth can wake a tree with no leaf-fall date: 1 November.

        Own choice: the warmth of October finds buds that are still hardening. It is
        the day from which Cannell & Smith 1983 and Murray, Cannell & Smith 1989 count
        chill days; they count warmth from 1 January or 1 February, too late for a
        frame that can be warm in December.
        """
        return date(self.start_year, 11, 1)

    @property
    def default_exit(self) -> date:
        """Day by which chill should be complete where no exit is planned: 1 March.

        Own choice: trees leave a frame from April on, but one that is to wake well
        needs its chill before the warmth of March.
        """
        return date(self.start_year + 1, 3, 1)

    @property
    def waking_is_early_until(self) -> date:
        """Day from which waking is no news where no exit is planned: 15 May.

        Own choice: trees are outdoors or may be by then, and from swelling on the
        frost that harms green is watched for on its own.
        """
        return date(self.start_year + 1, 5, 15)

    def __str__(self) -> str:
        return self.name
