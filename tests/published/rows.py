"""The table of check values, and the small notation of its input series.

`const:T=6;hours=720`, `cycle:6x16,15x8;days=42` (value x hours, repeated),
`sin:mean=m;amp=a;period_h=24;hours=n`, `ramp:from=a;to=b;hours=n`, `sum3:hours=n`,
`join:A + B`. They give the hourly values themselves, not functions to be averaged.
"""

import csv
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray

from wintering.science.units import f_to_c

TABLE = Path(__file__).with_name("chill_checks.csv")

CLAIMED: set[str] = set()
"""Ids of the rows that some test has taken up."""


@dataclass(frozen=True)
class Row:
    check_id: str
    model: str
    series: str
    expected: str
    tolerance: str
    source: str

    @property
    def value(self) -> float:
        return float(self.expected)

    @property
    def within(self) -> float:
        """Exact rows allow for the last bits of a float, no more."""
        return 1e-12 if self.tolerance == "exact" else float(self.tolerance)

    def check(self, value: float) -> None:
        assert value == pytest.approx(self.value, rel=0, abs=self.within), self.source


@cache
def table() -> dict[str, Row]:
    with TABLE.open(newline="") as lines:
        rows = [
            Row(
                check_id=row["check_id"],
                model=row["model"],
                series=row["input_or_regime"],
                expected=row["expected"],
                tolerance=row["tolerance"],
                source=f"{row['source']} | {row['address_or_memory']}",
            )
            for row in csv.DictReader(lines)
        ]
    by_id = {row.check_id: row for row in rows}
    assert len(by_id) == len(rows), "two rows share an id"
    return by_id


def rows_of(model: str, *, but: tuple[str, ...] = ()) -> pytest.MarkDecorator:
    """A test for every row of a model, its id and source in the test's name."""
    rows = [row for row in table().values() if row.model == model]
    return _one_test_each([row for row in rows if row.check_id not in but])


def rows_named(*check_ids: str) -> pytest.MarkDecorator:
    """A test for single rows."""
    return _one_test_each([table()[check_id] for check_id in check_ids])


def _one_test_each(rows: list[Row]) -> pytest.MarkDecorator:
    assert rows, "no such row"
    CLAIMED.update(row.check_id for row in rows)
    ids = [f"{row.check_id} <{row.source}>" for row in rows]
    return pytest.mark.parametrize("row", rows, ids=ids)


def series(text: str) -> NDArray[np.float64]:
    """The hourly temperatures [°C] that a notation stands for."""
    kind, _, rest = text.partition(":")
    if kind == "join":
        return np.concatenate([series(part) for part in rest.split(" + ")])
    if kind == "cycle":
        return _cycle(rest)
    given = dict(part.split("=") for part in rest.split(";"))
    hours = int(given.pop("hours"))
    numbers = {name: float(number) for name, number in given.items()}
    h = np.arange(hours)
    if kind == "const":
        c = f_to_c(numbers["TF"]) if "TF" in numbers else numbers["T"]
        return np.full(hours, c)
    if kind == "sin":
        phase = 2 * np.pi * h / numbers["period_h"]
        return numbers["mean"] + numbers["amp"] * np.sin(phase)
    if kind == "ramp":
        return np.linspace(numbers["from"], numbers["to"], hours)
    assert kind == "sum3", text
    return 5.03 + sum(
        amp * np.sin(2 * np.pi * h / period)
        for amp, period in ((5, 24), (4, 168), (3, 720))
    )


def _cycle(text: str) -> NDArray[np.float64]:
    if "day 1 =" in text:
        days = [part.split("=")[1] for part in text.split(";")]
        return np.concatenate([_pieces(day) for day in days])
    pieces, days = text.split(";days=")
    return np.tile(_pieces(pieces), int(days))


def _pieces(text: str) -> NDArray[np.float64]:
    pairs = [piece.split("x") for piece in text.strip().split(",")]
    return np.concatenate([np.full(int(h), float(c)) for c, h in pairs])
