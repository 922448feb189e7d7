"""The unit of a column: from its heading, its cells, or a person's word."""

from dataclasses import dataclass
from typing import Literal

import numpy as np

from wintering.ingest.columns import Column
from wintering.ingest.headings import UNIT_NAMES, Unit, unit_of
from wintering.ingest.refusals import LogQuestion, LogRefused
from wintering.ingest.scanning import NO_VALUE, Scan

# A column that never says its unit is taken for °C while its values speak for it: what
# hardly falls below 20, or rises above 45 other than by a spike, may be °F or K. Own
# choice: 20 to 50 is where the two are mixed up in practice.
_LOW_C, _HIGH_C = 20_000, 45_000


@dataclass(frozen=True, slots=True)
class Settled:
    quantity: Literal["temperature", "humidity"]
    unit: Unit
    warning: str = ""


def settle_unit(scanned: Scan, which: int, given: Unit | None) -> Settled:
    """The unit of one scanned column, or a question, or a refusal of mixed units."""
    column = scanned.columns[which]
    if column.quantity == "humidity":
        return Settled("humidity", "pct")
    if column.unit == "pct" or (column.quantity == "other" and column.unit is None):
        raise LogRefused(
            f"{scanned.name}: column {column.name} is not a temperature or a relative "
            "humidity; choose another."
        )
    stated = _stated(scanned, which, given)
    if stated and given and stated != given:
        raise LogQuestion(
            f"{scanned.name}: column {column.name} says {UNIT_NAMES[stated]}, but "
            f"{UNIT_NAMES[given]} was asked for; say which is right in the heading.",
            about="unit",
        )
    if stated or given:
        unit = stated or given
        assert unit is not None, "one of the two is there"
        return Settled("temperature", unit)
    return _taken_for_celsius(scanned, which)


def _stated(scanned: Scan, which: int, given: Unit | None) -> Unit | None:
    """What the file itself says about a column's unit."""
    column = scanned.columns[which]
    written = {unit for unit in scanned.cells[which].units if unit}
    beside = {unit for text in scanned.unit_cells if (unit := unit_of(text))}
    heading = set(column.stated)
    everything = heading | written | beside
    bare = "" in scanned.cells[which].units
    unsaid = bare and bool(written) and not heading and not beside and given is None
    if len(everything) > 1 or unsaid:
        raise LogRefused(_mixed(scanned, which, column))
    return everything.pop() if everything else None  # type: ignore[return-value]


def _mixed(scanned: Scan, which: int, column: Column) -> str:
    said = sorted(UNIT_NAMES[unit] for unit in column.stated)
    found = [f"its heading says {' and '.join(said)}"] if said else []
    found += [f"a cell says '{text}'" for text in scanned.cells[which].units.values()]
    found += [f"a column of units says '{text}'" for text in sorted(scanned.unit_cells)]
    return (
        f"{scanned.name} mixes units in column {column.name}: {', '.join(found)}; "
        "expected one unit in each column."
    )


def _taken_for_celsius(scanned: Scan, which: int) -> Settled:
    column = scanned.columns[which]
    values = scanned.values[which]
    values = values[values != NO_VALUE]
    usual = np.percentile(values, [5, 95]) if len(values) else (0, 0)
    if usual[0] >= _LOW_C or usual[1] > _HIGH_C:
        low, high = values.min() / 1000, values.max() / 1000
        raise LogQuestion(
            f"{scanned.name}: column {column.name} does not say its unit and holds "
            f"{low:g} to {high:g}, which may be °C or °F; say which.",
            about="unit",
        )
    return Settled(
        "temperature",
        "c",
        f"Column {column.name} does not say its unit: read as °C.",
    )
