"""The unit of a series: from its heading, its cells, or a person's word."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from wintering.ingest.cells import OTHER_UNIT, UNIT_CODES
from wintering.ingest.headings import UNIT_NAMES, Unit
from wintering.ingest.refusals import LogQuestion, LogRefused
from wintering.ingest.scanning import Scanner
from wintering.ingest.series import Series

_MOST_TOLD = 5  # cells of a column of units
_FEW = 0.05  # of a column's values; fewer than these do not speak for it: own choice


@dataclass(frozen=True, slots=True)
class Settled:
    quantity: Literal["temperature", "humidity"]
    unit: Unit
    warning: str = ""
    is_by_row: bool = False  # rows state different units, and are turned into °C


def settle_units(
    scanner: Scanner, chosen: Sequence[Series], given: Unit | None
) -> tuple[Settled, ...]:
    """The unit of each series. What a person says goes for those that say nothing; if
    there is none, it stands above the headings."""
    is_above = all(_says_unit(series) for series in chosen)
    return tuple(
        _settle_unit(scanner, series, given, is_above=is_above) for series in chosen
    )


def _says_unit(series: Series) -> bool:
    if series.quantity == "humidity" or _is_share(series):
        return True
    return bool(series.column.stated) or bool(series.tally.stated[1:].any())


def _settle_unit(
    scanner: Scanner, series: Series, given: Unit | None, *, is_above: bool
) -> Settled:
    """The unit of one series, or a question, or a refusal of mixed units."""
    if series.quantity == "humidity" or _is_share(series):
        return Settled("humidity", "pct")
    if _is_no_temperature(series):
        raise LogRefused(
            f"{scanner.name}: column {series.name} is not a temperature or a relative "
            "humidity; choose another."
        )
    stated = _stated(scanner, series, given)
    if len(stated) > 1:
        return _by_row(series)
    if stated and given and given not in stated:
        said = next(iter(stated))
        if not series.tally.stated[UNIT_CODES.index(said)]:
            return _against_heading(series, said, given, is_above=is_above)
        raise LogQuestion(
            f"{scanner.name}: column {series.name} says {UNIT_NAMES[said]} in "
            f"its rows, but {UNIT_NAMES[given]} was asked for; leave the unit to the "
            "file, or correct the rows.",
            about="unit",
        )
    if stated or given:
        unit = next(iter(stated), given)
        assert unit is not None, "one of the two is there"
        return Settled("temperature", unit, _other_heading(series, unit))
    return _taken_for_celsius(scanner, series)


def _is_share(series: Series) -> bool:
    """In %, of a thing not known here: whoever takes it says that it is humidity."""
    by_rows = np.flatnonzero(series.tally.stated[1:]) + 1
    units = {UNIT_CODES[code] if code < OTHER_UNIT else None for code in by_rows}
    return series.quantity == "unknown" and (units or {series.column.unit}) == {"pct"}


def _is_no_temperature(series: Series) -> bool:
    if series.labels is not None:
        return series.quantity == "other" and not series.tally.stated[1:4].any()
    unit = series.column.unit
    return unit == "pct" or (series.quantity == "other" and unit is None)


def _stated(scanner: Scanner, series: Series, given: Unit | None) -> set[Unit]:
    """What the file itself says; several units only where every row says its own."""
    counts = series.tally.stated
    by_rows = {code for code in range(1, OTHER_UNIT + 1) if counts[code]}
    heading = set(series.column.stated)
    if not by_rows <= {UNIT_CODES.index(unit) for unit in ("c", "f", "k")}:
        raise LogRefused(_mixed(scanner, series))
    said: set[Unit] = {UNIT_CODES[code] for code in by_rows}  # type: ignore[misc]
    if said and not counts[0]:
        return said
    is_beside = scanner.dialect.unit_column is not None
    unsaid = said and not heading and not is_beside and given is None
    if len(heading | said) > 1 or unsaid:
        raise LogRefused(_mixed(scanner, series))
    return heading | said


def _against_heading(
    series: Series, said: Unit, given: Unit, *, is_above: bool
) -> Settled:
    heading = f"Column {series.name} is headed {UNIT_NAMES[said]}"
    if is_above:
        told = f"{heading}: read as {UNIT_NAMES[given]} all the same, as was said."
        return Settled("temperature", given, told)
    told = (
        f"{heading} and read so: what was said of {UNIT_NAMES[given]} goes for the "
        "columns that state no unit."
    )
    return Settled("temperature", said, told)


def _other_heading(series: Series, unit: Unit) -> str:
    others = series.column.stated - {unit}
    if not others or not series.tally.stated[UNIT_CODES.index(unit)]:
        return ""
    return (
        f"Column {series.name} is headed {UNIT_NAMES[min(others)]}, but each of its "
        f"rows says {UNIT_NAMES[unit]}: read as the rows say."
    )


def _by_row(series: Series) -> Settled:
    counts = series.tally.stated
    turned = " and ".join(
        f"{counts[UNIT_CODES.index(unit)]} in {UNIT_NAMES[unit]}"
        for unit in ("f", "k")
        if counts[UNIT_CODES.index(unit)]
    )
    return Settled(
        "temperature",
        "c",
        f"Column {series.name} says in each row which unit it is in: {turned} are "
        f"turned into °C, {counts[1]} stay as they are.",
        is_by_row=True,
    )


def _mixed(scanner: Scanner, series: Series) -> str:
    said = sorted(UNIT_NAMES[unit] for unit in series.column.stated)
    found = [f"its heading says {' and '.join(said)}"] if said else []
    cells = scanner.cells[series.which].units
    found += [f"a cell says '{text}'" for text in cells.values()]
    beside = sorted(text for text in scanner.unit_cells if text)[:_MOST_TOLD]
    found += [f"a column of units says '{text}'" for text in beside]
    return (
        f"{scanner.name} mixes units in column {series.name}: {', '.join(found)}; "
        "expected one unit in each column, or in each row its own."
    )


def _taken_for_celsius(scanner: Scanner, series: Series) -> Settled:
    tally = series.tally
    few = _FEW * tally.count
    if tally.count and (tally.below <= few or tally.above > few):
        raise LogQuestion(
            f"{scanner.name}: column {series.name} does not say its unit and holds "
            f"{tally.low / 1000:g} to {tally.high / 1000:g}, which may be °C or °F; "
            "say which.",
            about="unit",
        )
    return Settled(
        "temperature",
        "c",
        f"Column {series.name} does not say its unit: read as °C.",
    )
