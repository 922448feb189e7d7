"""The table of physical check values: water, air, sun, ground, counters.

Inputs and expected values are for people; each test spells its inputs out as code and
takes the expected number from its row. A row whose status says 'computed here' is a
regression value and no proof; a test against a reference library stands beside it.
"""

import csv
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import pytest

TABLE = Path(__file__).with_name("physics_checks.csv")

CLAIMED: set[str] = set()
"""Ids of the rows that some test has taken up."""


@dataclass(frozen=True)
class Row:
    check_id: str
    quantity: str
    inputs: str
    expected: str
    unit: str
    tolerance: str
    source: str
    status: str

    def check(self, *values: float) -> None:
        """Hold computed values against the row, in the order in which it prints them.

        An empty tolerance allows for half of the last printed digit.
        """
        printed = [part.strip() for part in self.expected.split("/")]
        assert len(values) == len(printed), f"{self.check_id} has {len(printed)} values"
        for value, text in zip(values, printed, strict=True):
            expected = pytest.approx(float(text), rel=0, abs=self._within(text))
            assert value == expected, self.source

    def _within(self, text: str) -> float:
        if self.tolerance:
            return float(self.tolerance) * (1 + 1e-9)
        decimals = len(text.partition(".")[2])
        return 0.5 * 10.0**-decimals


@cache
def table() -> dict[str, Row]:
    with TABLE.open(newline="") as lines:
        rows = [
            Row(
                check_id=row["check_id"],
                quantity=row["quantity"],
                inputs=row["inputs"],
                expected=row["expected"],
                unit=row["unit"],
                tolerance=row["tolerance"],
                source=f"{row['source']} | {row['address_or_memory']}",
                status=row["source_status"],
            )
            for row in csv.DictReader(lines)
        ]
    by_id = {row.check_id: row for row in rows}
    assert len(by_id) == len(rows), "two rows share an id"
    return by_id


def row(check_id: str) -> Row:
    """One row, taken up by the module that asks for it at import."""
    CLAIMED.add(check_id)
    return table()[check_id]
