"""SenML packs in JSON (RFC 8428) as measurements: all of a pack, or a refusal.

Section numbers are those of RFC 8428, "Sensor Measurement Lists (SenML)", 2018.
"""

import json
import re
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from decimal import Context, Decimal
from typing import Any, NoReturn

from wintering.api.measurements import Measurement, NotUnderstood, exact, measurement

NEWEST_VERSION = 10  # section 4.4; RFC 9100 adds bits above it for features to come
RELATIVE_BELOW_S = 2**28  # section 4.5.3: less than that is seconds from now
UNITS = ("Cel", "K", "%RH")  # of the registry, section 12.1: those that are kept here

# Sections 4.1, 4.2 and 5: each label and what it must hold.
_BASE_LABELS = {
    "bn": "text",
    "bt": "number",
    "bu": "text",
    "bv": "number",
    "bs": "number",
    "bver": "number",
}
_LABELS = _BASE_LABELS | {
    "n": "text",
    "u": "text",
    "v": "number",
    "vs": "text",
    "vb": "true or false",
    "vd": "text",
    "s": "number",
    "t": "number",
    "ut": "number",
}
_TYPES = {"text": str, "number": Decimal, "true or false": bool}
_NO_READINGS = {
    "vs": "a text (vs)",
    "vb": "true or false (vb)",
    "vd": "data (vd)",
    "s": "a sum (s)",
}
_NAME = re.compile(r"[A-Za-z0-9][A-Za-z0-9\-:./_]*")  # section 4.5.1
_LAST_SECOND = 253_402_300_799  # the end of the year 9999

# Sums of two numbers of this size are exact in the context; a double has no larger.
_MOST_DIGITS, _MOST_EXPONENT = 60, 400
_EXACT = Context(prec=1000)


@dataclass(frozen=True, slots=True)
class Resolved:
    """A record with its base fields worked in; its time may still be relative."""

    number: int | None  # counted from 1 in its pack
    name: str
    time_s: Decimal
    value: Decimal
    unit: str

    @property
    def is_timed(self) -> bool:
        """Whether the sender knew when it measured."""
        return self.time_s >= RELATIVE_BELOW_S


class _Object(list[tuple[str, Any]]):
    """A JSON object as its pairs, so that a label given twice is seen."""


def parse_senml(body: bytes, *, received_at: datetime) -> list[Measurement]:
    """The measurements of a pack, in its order; relative times count from received_at.

    Times are rounded to whole seconds, as those of log files are.
    """
    received_s = received_at.timestamp()
    return [measured(record, received_s=received_s) for record in resolve(body)]


def measured(record: Resolved, *, received_s: float) -> Measurement:
    """The record at its second; a time relative to now counts from received_s."""
    time_s = record.time_s
    if not record.is_timed:
        time_s = _EXACT.add(time_s, Decimal(str(received_s)))
    try:
        return measurement(
            name=record.name,
            second=round(time_s),
            value=record.value,
            unit=record.unit,
            received_s=received_s,
        )
    except ValueError as error:
        raise NotUnderstood.because(str(error), record.number) from error


def resolve(body: bytes) -> list[Resolved]:
    """The records that hold a value, resolved as in section 4.6."""
    base: dict[str, Any] = {}
    found = []
    for number, pairs in enumerate(_records(body), start=1):
        try:
            fields = _fields(pairs)
            _carry_over(base, fields)
            # A record may do no more than set base fields, as in section 5.1.7.
            if fields.keys() - _BASE_LABELS.keys():
                found.append(_resolved(number, fields, base))
        except ValueError as error:
            raise NotUnderstood.because(str(error), number) from error
    if not found:
        raise NotUnderstood.because("The SenML pack holds no value; send one at least.")
    return found


def _records(body: bytes) -> Iterator[_Object]:
    pack = _json(body)
    if isinstance(pack, _Object) or not isinstance(pack, list):
        raise NotUnderstood.because(
            "A SenML pack is a JSON array of records; put the records into [ ]."
        )
    for number, record in enumerate(pack, start=1):
        if not isinstance(record, _Object):
            raise NotUnderstood.because(
                "A record is a JSON object; write it in { }.", number
            )
        yield record


def _json(body: bytes) -> Any:  # noqa: ANN401 - whatever JSON holds
    try:
        return json.loads(
            body.decode("utf-8"),
            object_pairs_hook=_Object,
            parse_float=exact,
            parse_int=exact,
            parse_constant=_refuse_constant,
        )
    except UnicodeDecodeError as error:
        raise NotUnderstood.because(
            f"The SenML pack is not UTF-8 at byte {error.start}; encode it as UTF-8."
        ) from error
    except json.JSONDecodeError as error:
        raise NotUnderstood.because(
            f"The SenML pack is no JSON: {error.msg} at line {error.lineno}, "
            f"column {error.colno}."
        ) from error
    except ValueError as error:
        raise NotUnderstood.because(str(error)) from error
    except RecursionError as error:
        raise NotUnderstood.because(
            "The SenML pack is nested too deeply; a record holds plain values."
        ) from error


def _refuse_constant(word: str) -> NoReturn:
    raise NotUnderstood.because(
        f"The SenML pack holds {word}, which JSON does not know and which is no "
        "reading; leave such a record out."
    )


def _fields(pairs: _Object) -> dict[str, Any]:
    """The fields that are understood, each once and of its type."""
    seen: set[str] = set()
    fields = {}
    for label, held in pairs:
        if label in seen:
            raise ValueError(f"The record has '{label}' twice; give each label once.")
        seen.add(label)
        if label in _LABELS:
            fields[label] = _typed(label, held)
        elif label.endswith("_"):  # section 4.4: must be understood
            raise ValueError(
                f"'{label}' must be understood by who reads it, and is not known "
                "here; send the record without it."
            )
    return fields


def _typed(label: str, held: Any) -> Any:  # noqa: ANN401 - as the label's type says
    kind = _LABELS[label]
    if not isinstance(held, _TYPES[kind]):
        raise ValueError(f"'{label}' must be {_with_article(kind)}.")
    if isinstance(held, Decimal) and not _is_plain(held):
        raise ValueError(f"'{label}' is {_short(held)}, beyond what a number may be.")
    return held


def _short(number: Decimal) -> str:
    return f"{str(number)[:20]}…" if len(str(number)) > 20 else str(number)


def _with_article(kind: str) -> str:
    return kind if kind != "number" else "a number"


def _is_plain(number: Decimal) -> bool:
    _, digits, exponent = number.as_tuple()
    assert isinstance(exponent, int), "JSON has no NaN or infinity once those are out"
    return len(digits) <= _MOST_DIGITS and abs(exponent) <= _MOST_EXPONENT


def _carry_over(base: dict[str, Any], fields: dict[str, Any]) -> None:
    """A base field holds from its record until another replaces it (section 4.1)."""
    version = fields.get("bver", base.get("bver"))
    if version is not None:
        _check_version(version, base)
    base.update({label: fields[label] for label in _BASE_LABELS.keys() & fields.keys()})


def _check_version(version: Decimal, base: dict[str, Any]) -> None:
    if version != int(version) or version < 1:
        raise ValueError(
            f"'bver' is {_short(version)}; a version is a whole number above 0."
        )
    if version > NEWEST_VERSION:
        raise ValueError(
            f"The pack is in version {_short(version)} of SenML, and {NEWEST_VERSION} "
            "is the newest that is understood here; send that version."
        )
    if base and version != base.get("bver", NEWEST_VERSION):
        raise ValueError("'bver' differs from the records before; a pack has only one.")


def _resolved(number: int, fields: dict[str, Any], base: dict[str, Any]) -> Resolved:
    value = _EXACT.add(_value(fields), base.get("bv", Decimal(0)))
    time_s = _EXACT.add(fields.get("t", Decimal(0)), base.get("bt", Decimal(0)))
    if abs(time_s) > _LAST_SECOND:
        raise ValueError(f"The time {_short(time_s)} lies beyond the year 9999.")
    return Resolved(number, _name(fields, base), time_s, value, _unit(fields, base))


def _value(fields: dict[str, Any]) -> Decimal:
    values = [label for label in ("v", "vs", "vb", "vd") if label in fields]
    if len(values) > 1:
        raise ValueError(
            f"The record has {' and '.join(values)}; a record has one value."
        )
    if "v" in fields:
        return fields["v"]
    held = next((label for label in _NO_READINGS if label in fields), None)
    if held is None:
        raise ValueError("The record has no value; give it one as 'v'.")
    raise ValueError(
        f"The record holds {_NO_READINGS[held]}, which is no reading; send readings "
        "alone, as numbers in 'v'."
    )


def _name(fields: dict[str, Any], base: dict[str, Any]) -> str:
    name = base.get("bn", "") + fields.get("n", "")
    if not name:
        raise ValueError("The record has no name; give it one as 'n' or 'bn'.")
    if not _NAME.fullmatch(name):
        raise ValueError(
            f"The name {name!r} must begin with a letter or digit of ASCII and go on "
            "with those and - : . / _ alone."
        )
    return name


def _unit(fields: dict[str, Any], base: dict[str, Any]) -> str:
    symbol = fields.get("u", base.get("bu"))
    if symbol is None:
        raise ValueError("The record has no unit; give Cel, K or %RH as 'u' or 'bu'.")
    if symbol not in UNITS:
        raise ValueError(
            f"The unit {symbol!r} is not kept here; send records in Cel, K or %RH "
            "alone."
        )
    return symbol
