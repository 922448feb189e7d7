"""What the columns of a log are, from their headings and first cells."""

import re
from dataclasses import dataclass
from itertools import pairwise

from wintering.ingest.cells import is_not_recorded, looks_numeric, unit_behind
from wintering.ingest.headings import (
    Quantity,
    Unit,
    last_letter_unit,
    quantity_of,
    unit_of,
    units_in,
)
from wintering.ingest.labels import LabelColumn, heads_quantities, how_likely_names
from wintering.ingest.times import TimeColumns

_NUMBERED = re.compile(
    r"(?:sensor|probe|channel)[\s_.-]*(?:id|no|nr|number|name)?\.?", re.IGNORECASE
)
_UNIT_HEADING = re.compile(r"\bunits?\b|_unit$|^unit", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class Column:
    """One column of a log that is not its time."""

    index: int
    name: str
    quantity: Quantity
    unit: Unit | None
    stated: frozenset[Unit] = frozenset()  # more than one: the heading contradicts


@dataclass(frozen=True, slots=True)
class Columns:
    """The columns that hold readings, and those that say what the others are."""

    readings: tuple[Column, ...]
    unit: int | None  # holds only units
    labels: tuple[LabelColumn, ...]  # say whose a row is


def describe_columns(
    heading: list[str] | None,
    units_below: list[list[str]],
    readings: list[list[str]],
    times: TimeColumns,
    width: int,
) -> Columns:
    """Every column but the times."""
    names = _unique_names(heading, width)
    cells = {
        index: _filled_cells(readings, index)
        for index in range(width)
        if index not in {times.date, times.time, *times.others}
    }
    units = [i for i in cells if _holds_units(names[i], cells[i])]
    labels = _label_columns(
        {i: c for i, c in cells.items() if i not in units}, names, bool(heading)
    )
    aside = {*units, *(column.index for column in labels)}
    found = [
        _described(index, names, units_below, texts)
        for index, texts in cells.items()
        if index not in aside
    ]
    unit_column = units[0] if len(units) == 1 else None
    return Columns(_settled(found, readings), unit_column, labels)


def _described(
    index: int, names: list[str], units_below: list[list[str]], cells: list[str]
) -> Column:
    title = names[index]
    stated = _stated_units(title, names, [r[index : index + 1] for r in units_below])
    unit = next(iter(stated)) if len(stated) == 1 else None
    quantity = quantity_of(title, unit)
    if unit is None and not _is_numeric(cells):
        quantity = "other"
    if quantity == "unknown" and {*map(unit_behind, cells)} & {"c", "f", "k"}:
        quantity = "temperature"
    return Column(index, title, quantity, unit, frozenset(stated))


def _filled_cells(readings: list[list[str]], index: int) -> list[str]:
    cells = [row[index].strip() for row in readings if len(row) > index]
    return [cell for cell in cells if not is_not_recorded(cell)]


def _is_numeric(cells: list[str]) -> bool:
    return sum(map(looks_numeric, cells)) >= len(cells) / 2


def _holds_units(title: str, cells: list[str]) -> bool:
    """Temperature units in every cell; others too where the heading says so."""
    known = [unit_of(cell) for cell in cells]
    if _UNIT_HEADING.search(title):
        return any(known) and not any(cell[0].isdigit() for cell in cells)
    return bool(cells) and all(unit in {"c", "f", "k"} for unit in known)


def _label_columns(
    cells: dict[int, list[str]], names: list[str], has_heading: bool
) -> tuple[LabelColumn, ...]:
    """Which columns say whose each row is; there must be another that holds values."""
    if not has_heading:
        return ()
    found = [
        LabelColumn(
            index,
            is_sure=how_likely_names(names[index]) == 2,
            is_quantity=heads_quantities(names[index]),
        )
        for index, texts in cells.items()
        if _labels_rows(names[index], texts)
    ]
    rest = set(cells) - {column.index for column in found}
    return tuple(found) if any(_is_numeric(cells[i]) for i in rest) else ()


def _labels_rows(title: str, cells: list[str]) -> bool:
    if not cells:
        return False
    if all(any(mark.isalpha() for mark in cell) for cell in cells):
        is_text = not any(map(looks_numeric, cells))
        is_headed = how_likely_names(title) > 0 or heads_quantities(title)
        return is_text and is_headed
    # Numbers are names only under a heading that can mean nothing else.
    is_short = all(cell.isascii() and cell.isalnum() for cell in cells)
    return is_short and bool(_NUMBERED.fullmatch(title.strip()))


def _settled(found: list[Column], readings: list[list[str]]) -> tuple[Column, ...]:
    """Columns that say nothing are temperatures where nothing else is one."""
    if any(column.quantity == "temperature" for column in found):
        return tuple(found)
    return tuple(
        Column(c.index, c.name, "temperature", c.unit, c.stated)
        if c.quantity == "unknown"
        and c.unit is None
        and not _counts_up(c.index, readings)
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
