"""The series of readings in a log: a column each, or in long form a name each."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TypeVar

from wintering.ingest.cells import OTHER_UNIT, UNIT_CODES
from wintering.ingest.columns import Column
from wintering.ingest.headings import Quantity, Unit, quantity_of
from wintering.ingest.labels import Group
from wintering.ingest.refusals import LogRefused
from wintering.ingest.sniffing import Dialect
from wintering.ingest.survey import Survey, Tally


@dataclass(frozen=True, slots=True, eq=False)
class Series:
    """One sensor's readings within a file."""

    name: str
    which: int  # of the columns that are read
    labels: tuple[int, ...] | None  # whose rows are its; None for all
    column: Column
    quantity: Quantity
    tally: Tally


_Named = TypeVar("_Named", Column, Series)


def columns_to_read(
    dialect: Dialect, wanted: Sequence[str] | None, name: str
) -> tuple[Column, ...]:
    """In long form every column that may hold readings; else the wanted ones."""
    if not dialect.labels:
        return choose(dialect.columns, wanted, name)
    may = [column for column in dialect.columns if column.quantity != "other"]
    if not may:
        raise LogRefused(_no_temperature(dialect.columns, name))
    return tuple(may)


def choose(
    columns: Sequence[Column], wanted: Sequence[str] | None, name: str
) -> tuple[Column, ...]:
    """The wanted columns, or all temperatures; refuses a name that is not there."""
    if wanted is None:
        found = tuple(c for c in columns if c.quantity == "temperature")
        if not found:
            raise LogRefused(_no_temperature(columns, name))
        return found
    return tuple(_named(text, columns, name) for text in wanted)


def all_series(survey: Survey, columns: Sequence[Column]) -> tuple[Series, ...]:
    """Every series of the columns that were read."""
    groups = _groups(survey)
    if groups is None:
        every = list(range(max(1, len(survey.labels))))
        return tuple(
            Series(c.name, i, None, c, c.quantity, survey.tally(i, every))
            for i, c in enumerate(columns)
        )
    found = [
        _labelled(survey, i, column, group, labels, is_only=len(columns) == 1)
        for group, labels in groups
        for i, column in enumerate(columns)
    ]
    return tuple(series for series in found if series.tally.count)


def choose_series(
    series: Sequence[Series], wanted: Sequence[str] | None, name: str
) -> tuple[Series, ...]:
    if wanted is None:
        found = tuple(s for s in series if s.quantity == "temperature")
        if not found:
            raise LogRefused(_no_temperature(series, name))
        return found
    return tuple(_named(text, series, name) for text in wanted)


def _named(text: str, among: Sequence[_Named], name: str) -> _Named:
    known = {one.name: one for one in among}
    loosely = {one.name.lower(): one for one in among}
    found = known.get(text) or loosely.get(text.strip().lower())
    if found is None:
        # One name in all rows need not be said beside the column's own.
        of_column = [
            s for s in among if isinstance(s, Series) and s.column.name == text
        ]
        found = of_column[0] if len(of_column) == 1 else None
    if found is None:
        there = ", ".join(known) or "none"
        raise LogRefused(f"{name} has no column '{text}'; it has: {there}.")
    return found


def _groups(survey: Survey) -> list[tuple[Group, list[int]]] | None:
    """The labels of each name; None where the rows do not tell sensors apart."""
    by_name: dict[str, tuple[Group, list[int]]] = {}
    for label, group in enumerate(survey.labels.groups()):
        if group is not None:
            by_name.setdefault(group.name, (group, []))[1].append(label)
    is_told = any(name for name in by_name)
    return list(by_name.values()) if is_told else None


def _labelled(
    survey: Survey,
    which: int,
    column: Column,
    group: Group,
    labels: list[int],
    *,
    is_only: bool,
) -> Series:
    tally = survey.tally(which, labels)
    name = group.name if is_only else f"{group.name} {column.name}"
    quantity = _quantity(group, column, tally)
    return Series(name, which, tuple(labels), column, quantity, tally)


def _quantity(group: Group, column: Column, tally: Tally) -> Quantity:
    """What the rows of a name measure, by their own words before the heading's."""
    stated: set[Unit | None] = {
        UNIT_CODES[code] if code < OTHER_UNIT else None  # type: ignore[misc]
        for code in range(1, OTHER_UNIT + 1)
        if tally.stated[code]
    }
    is_other = None in stated and len(stated) == 1
    unit = next(iter(stated)) if len(stated) == 1 else None
    if group.quantity:
        told = quantity_of(group.quantity, unit)
        return "other" if is_other else column.quantity if told == "unknown" else told
    if is_other or unit == "pct":
        return "other" if is_other else quantity_of(group.name, unit)
    if stated:
        return "temperature"
    is_damp = quantity_of(group.name, None) == "humidity"
    return "humidity" if is_damp and column.unit is None else column.quantity


def _no_temperature(among: Sequence[Column] | Sequence[Series], name: str) -> str:
    there = ", ".join(dict.fromkeys(one.name for one in among)) or "none"
    return (
        f"{name} has no temperature column: beside the time it has: {there}; "
        "expected a heading such as 'air_c' or 'Temperature (°C)'."
    )
