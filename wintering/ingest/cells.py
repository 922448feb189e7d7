"""Number texts into whole thousandths, exactly, and the units written beside them."""

import re
from decimal import ROUND_HALF_EVEN, Decimal

from wintering.ingest.headings import unit_of

EMPTY = 2**31  # above what 32 bits hold, so never a value
BAD = 2**31 + 1

_NOT_RECORDED = {
    "", "nan", "na", "n/a", "n.a.", "#n/a", "null", "none", "nil", "-", "--", "---",
    "*", "**", "***", "?", "missing",
}  # fmt: skip
# Numbers that stand for 'not recorded' in weather and logger files (from memory).
STAND_INS = {Decimal(text) for text in ("-9999", "-999", "-999.9", "-9999.9", "-99999")}
_NUMBER = re.compile(
    r"(?P<number>[+-]?(?:\d+(?:[.,]\d*)?|[.,]\d+)(?:e[+-]?\d{1,2})?)"
    r"\s*(?P<unit>[^\d\s.,+-].*)?",
    re.IGNORECASE | re.ASCII,
)
_LONGEST = 40  # characters; no reading is longer
REMEMBERED = 50_000  # texts of all columns; a logger writes far fewer different ones
_LEAST_REMEMBERED = 500  # of each column, however many there are
UNIT_CODES = ("", "c", "f", "k", "pct")  # a byte beside each value
OTHER_UNIT = len(UNIT_CODES)  # a column of units says something else


class NumberCells(dict[str, int]):
    """Each text met so far and its value in thousandths, or EMPTY, or BAD.

    `units` holds what was written behind the numbers, '' for nothing, each with the
    first text that had it.
    """

    def __init__(self, columns: int = 1) -> None:
        super().__init__()
        self._most = max(_LEAST_REMEMBERED, REMEMBERED // max(1, columns))
        self.units: dict[str, str] = {}
        self._codes: dict[str, int] = {}

    def __missing__(self, text: str) -> int:
        if len(self) > self._most:
            self.clear()
            self._codes.clear()
        self[text] = value = self._value(text)
        return value

    @property
    def has_units(self) -> bool:
        return any(self.units)

    def unit_code(self, text: str) -> int:
        """The place in UNIT_CODES of the unit written behind a number."""
        if text not in self:
            self[text]
        return self._codes.get(text, 0)

    def _value(self, written: str) -> int:
        text = written.strip()
        if text.lower() in _NOT_RECORDED:
            return EMPTY
        match = _NUMBER.fullmatch(text.replace("\u2212", "-"))
        if match is None or len(text) > _LONGEST:
            return BAD
        unit = unit_of(match["unit"]) if match["unit"] else ""
        if unit is None:
            return BAD
        number = Decimal(match["number"].replace(",", "."))
        if number in STAND_INS:
            return EMPTY
        thousandths = int((number * 1000).to_integral_value(ROUND_HALF_EVEN))
        # The lowest 32-bit integer is left free for 'no value' in packed columns.
        if abs(thousandths) >= 2**31:
            return BAD
        self.units.setdefault(unit, text)
        if unit:
            self._codes[written] = UNIT_CODES.index(unit)
        return thousandths


def unit_behind(text: str) -> str:
    """The unit written behind a number, '' where there is none."""
    match = _NUMBER.fullmatch(text.strip())
    return unit_of(match["unit"]) or "" if match and match["unit"] else ""


def looks_numeric(text: str) -> bool:
    match = _NUMBER.fullmatch(text.strip().replace("\u2212", "-"))
    return match is not None and len(text) <= _LONGEST


def is_not_recorded(text: str) -> bool:
    return text.strip().lower() in _NOT_RECORDED
