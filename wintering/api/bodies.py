"""The plain bodies that loggers post, JSON and CSV, as measurements: all or nothing."""

import csv
import io
import json
import re
from collections.abc import Callable, Iterable
from datetime import datetime
from decimal import Decimal
from typing import Any, NoReturn

from wintering.api.measurements import (
    MOST_READINGS,
    Measurement,
    NotUnderstood,
    Problem,
    exact,
    measurement,
)

FIELDS = ("at", "sensor", "value", "unit")
# ISO 8601 as in RFC 3339, where seconds may be left out.
_TIME = re.compile(
    r"\d{4}-\d\d-\d\d[T ]\d\d:\d\d(?::\d\d(?:\.\d{1,9})?)?(Z|[+-]\d\d:\d\d)?",
    re.ASCII | re.IGNORECASE,
)
_NUMBER = re.compile(r"[+-]?(?:\d+(?:\.\d*)?|\.\d+)(?:[eE][+-]?\d+)?", re.ASCII)

Row = tuple[int, dict[str, Any]]


def parse_json(body: bytes, *, received_at: datetime) -> list[Measurement]:
    """{"readings": [{"sensor": …, "at": …, "value": …, "unit": …}, …]}"""
    told = _json(body)
    if not isinstance(told, dict) or not isinstance(told.get("readings"), list):
        raise NotUnderstood.because('Send an object that holds a list of "readings".')
    if len(told) > 1:
        raise NotUnderstood.because('Send nothing beside "readings".')
    return _all_or_nothing(enumerate(told["readings"], 1), _from_object, received_at)


def parse_csv(body: bytes, *, received_at: datetime) -> list[Measurement]:
    """Lines of at,sensor,value,unit under a header of these words in any order."""
    text = _text(body).removeprefix("\ufeff")
    reader = csv.reader(io.StringIO(text, newline=""), strict=True)
    try:
        header = [cell.strip().lower() for cell in next(reader, [])]
        if sorted(header) != sorted(FIELDS):
            raise NotUnderstood.because(
                f"The first row must be the header {','.join(FIELDS)}.", 1
            )
        rows = [
            (reader.line_num, dict(zip(header, cells, strict=False)) | _odd(cells))
            for cells in reader
            if cells
        ]
    except csv.Error as error:
        raise NotUnderstood.because(
            "That is no CSV: mend its quotes.", reader.line_num
        ) from error
    return _all_or_nothing(rows, _from_cells, received_at)


def _odd(cells: list[str]) -> dict[str, list[str]]:
    return {} if len(cells) == len(FIELDS) else {"cells": cells}


def _all_or_nothing(
    rows: Iterable[Row],
    read: Callable[[dict[str, Any], float], Measurement],
    received_at: datetime,
) -> list[Measurement]:
    found, problems = [], []
    for row, fields in rows:
        try:
            found.append(read(fields, received_at.timestamp()))
        except ValueError as error:
            problems.append(Problem(row, str(error)))
    if problems:
        raise NotUnderstood(problems)
    refuse_count(len(found))
    return found


def refuse_count(count: int) -> None:
    """Refuses a body without a reading, and one of too many."""
    if not count:
        raise NotUnderstood.because("There is no reading in it: send at least one.")
    if count > MOST_READINGS:
        raise NotUnderstood.because(
            f"{count} readings are too many for one post: send at most "
            f"{MOST_READINGS} at once."
        )


def _from_object(fields: Any, received_s: float) -> Measurement:  # noqa: ANN401
    if not isinstance(fields, dict):
        raise ValueError("A reading is an object of sensor, at, value and unit.")
    if fields.keys() != set(FIELDS):
        raise ValueError("A reading has sensor, at, value and unit, and nothing else.")
    for name in ("sensor", "at", "unit"):
        if not isinstance(fields[name], str):
            raise ValueError(f'"{name}" must be a text.')
    if not isinstance(fields["value"], Decimal):
        raise ValueError('"value" must be a number: leave out what was not measured.')
    return _measurement(fields, fields["value"], received_s)


def _from_cells(fields: dict[str, Any], received_s: float) -> Measurement:
    if "cells" in fields:
        raise ValueError(
            f"The row has {len(fields['cells'])} cells instead of {len(FIELDS)}."
        )
    cells = {name: text.strip() for name, text in fields.items()}
    if not _NUMBER.fullmatch(cells["value"]):
        raise ValueError(
            f"'{cells['value'][:20]}' is not a number: write it with a decimal point."
        )
    return _measurement(cells, exact(cells["value"]), received_s)


def _measurement(
    fields: dict[str, Any], value: Decimal, received_s: float
) -> Measurement:
    return measurement(
        name=fields["sensor"],
        second=_second(fields["at"]),
        value=value,
        unit=fields["unit"],
        received_s=received_s,
    )


def _second(text: str) -> int:
    """UTC since 1970; a fraction goes to the nearest second, as in log files."""
    match = _TIME.fullmatch(text)
    if match is None:
        raise ValueError(
            f"'{text[:40]}' is not a time: write it like 2026-11-25T06:10:00+01:00."
        )
    if match[1] is None:
        raise ValueError(
            f"'{text}' does not say its offset from UTC: end it with Z or +01:00."
        )
    try:
        return round(datetime.fromisoformat(text.upper()).timestamp())
    except ValueError as error:
        raise ValueError(f"'{text}' is a time that does not exist.") from error


def _json(body: bytes) -> Any:  # noqa: ANN401 - whatever was sent
    try:
        return json.loads(
            _text(body),
            parse_float=exact,
            parse_int=exact,
            parse_constant=_refuse_constant,
            object_pairs_hook=_object,
        )
    except json.JSONDecodeError as error:
        raise NotUnderstood.because(
            f"That is no JSON: line {error.lineno}, column {error.colno}."
        ) from error
    except ValueError as error:
        raise NotUnderstood.because(str(error)) from error
    except RecursionError as error:
        raise NotUnderstood.because(
            "That is too deeply nested: send one list of readings."
        ) from error


def _object(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    found = dict(pairs)
    if len(found) != len(pairs):
        raise ValueError("A name stands twice in one object: write it once.")
    return found


def _refuse_constant(text: str) -> NoReturn:
    raise ValueError(f"{text} is not a number: leave out what was not measured.")


def _text(body: bytes) -> str:
    try:
        return body.decode("utf-8")
    except UnicodeDecodeError as error:
        raise NotUnderstood.because(
            f"Byte {error.start + 1} is not UTF-8: send the text in UTF-8."
        ) from error
