"""What the columns of a log are, from their headings and first cells."""

from dataclasses import dataclass
from itertools import pairwise

from wintering.ingest.cells import is_not_recorded, looks_numeric
from wintering.ingest.headings import (
    Quantity,
    Unit,
    last_letter_unit,
    quantity_of,
    unit_of,
    units_in,
)
from wintering.ingest.times import TimeColumns


@dataclass(frozen=True, slots=True)
class Column:
    """One column of a log that is not its time."""

    index: int
    name: str
    quantity: Quantity
    unit: Unit | None
    stated: frozenset[Unit] = frozenset()  # more than one: the heading contradicts


def describe_columns(
    heading: list[str] | None,
    units_below: list[list[str]],
    readings: list[list[str]],
    times: TimeColumns,
    width: int,
) -> tuple[tuple[Column, ...], int | None]:
    """Every column but the times, and which one holds only units, if one does."""
    found: list[Column] = []
    unit_columns: list[int] = []
    names = _unique_names(heading, width)
    for index in range(width):
        if index in {times.date, times.time} or index in times.others:
            continue
        cells = [row[index].strip() for row in readings if len(row) > index]
        cells = [cell for cell in cells if not is_not_recorded(cell)]
        if cells and all(unit_of(cell) in {"c", "f", "k"} for cell in cells):
            unit_columns.append(index)
            continue
        title = names[index]
        stated = _stated_units(
            title, names, [r[index : index + 1] for r in units_below]
        )
        unit = next(iter(stated)) if len(stated) == 1 else None
        quantity = quantity_of(title, unit)
        is_text = sum(map(looks_numeric, cells)) < len(cells) / 2
        if unit is None and is_text:
            quantity = "other"
        found.append(Column(index, title, quantity, unit, frozenset(stated)))
    unit_column = unit_columns[0] if len(unit_columns) == 1 else None
    return _settled(found, readings), unit_column


def _settled(found: list[Column], readings: list[list[str]]) -> tuple[Column, ...]:
    """Columns that say nothing are temperatures where nothing else is one."""
    if any(column.quantity == "temperature" for column in found):
        return tuple(found)
    return tuple(
        Column(c.index, c.name, "temperature", c.unit, c.stated)
        if c.quantity == "unknown" and not _counts_up(c.index, readings)
        else c
        for c in found
    )


def _counts_up(index: int, readings: list[list[str]]) -> bool:
    """A column that grows by one each row numbers the rows."""
    cells = [row[index].strip() for row in readings if len(row) > index]
    if len(cells) < 3 or not all(cell.isascii() and cell.isdigit() for cell in cells):
        return False
    numbers = [int(cell) for cell in cells if len(cell) < 19]
    steps = [b - a for a, b in pairwise(numbers)]
    return steps.count(1) > 0.9 * len(steps)


def _stated_units(title: str, names: list[str], below: list[list[str]]) -> set[Unit]:
    stated = units_in(title)
    if stated:
        return stated
    under = {unit for cells in below for cell in cells if (unit := unit_of(cell))}
    if under:
        return under
    letter = last_letter_unit(title)
    if letter is None or _is_one_of_a_row(title, names):
        return set()
    return {letter}


def _is_one_of_a_row(title: str, names: list[str]) -> bool:
    """`probe_c` beside `probe_a` and `probe_b` is a name, not degrees Celsius."""
    stem = title.strip()[:-1].lower()
    beside = {n.strip()[-1:].lower() for n in names if n.strip()[:-1].lower() == stem}
    return bool(stem) and any(mark.isalnum() and mark not in "cfk" for mark in beside)


def _unique_names(heading: list[str] | None, width: int) -> list[str]:
    names = []
    for index in range(width):
        name = heading[index] if heading and index < len(heading) else ""
        name = "".join(c if c.isprintable() else " " for c in name).strip()
        name = name or f"column {index + 1}"
        names.append(f"{name} (column {index + 1})" if name in names else name)
    return names
