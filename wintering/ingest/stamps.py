"""Written times into numbers, many at once, without guessing the order of a date.

A column of times has few shapes: `2024-11-30 14:00` and `2024-12-01 09:30` are both
`0000-00-00 00:00`. Each shape is understood once and then read by slices.
"""

import re
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

import numpy as np
from numpy.typing import NDArray

Int64 = NDArray[np.int64]

UNREADABLE = -1
NAIVE = -32_768  # no offset written; real ones lie within a day

# What the three numbers of a date are is certain, or only that the last is the year,
# or not even that.
CERTAIN, YEAR_LAST, TWO_DIGITS = 0, 1, 2

_TO_SHAPE = str.maketrans("123456789\u2212", "000000000-")
_MONTHS = ("jan", "feb", "mar", "apr", "may", "jun",
           "jul", "aug", "sep", "oct", "nov", "dec")  # fmt: skip
_MONTH = (
    rf"(?P<name>(?:{'|'.join(_MONTHS)})"
    r"(?:uary|ruary|ch|il|e|y|ust|t|tember|ober|ember)?)\.?"
)
_DATES = (
    r"(?P<y>0000)(?P<m>00)(?P<d>00)",
    r"(?P<y>0000)(?P<s>[-/.]) ?(?P<m>00?)(?P=s) ?(?P<d>00?)\.?",
    r"(?P<a>00?)(?P<s>[-/.]) ?(?P<b>00?)(?P=s) ?(?P<c>0000)",
    r"(?P<a>00?)(?P<s>[-/.]) ?(?P<b>00?)(?P=s) ?(?P<c>00)",
    rf"(?P<d>00?)[-/. ]*{_MONTH}[-/., ]*(?P<y>0000|00)",
    rf"{_MONTH}[-/. ]*(?P<d>00?)[-/., ]+(?P<y>0000)",
    rf"(?P<y>0000)[-/. ]*{_MONTH}[-/. ]*(?P<d>00?)",
)
_OFFSET = (
    r"(?: ?(?P<utc>Z|UTC|GMT)"
    r"| ?(?:UTC|GMT)?(?P<sign>[-+])(?P<oh>00?)(?::?(?P<om>00))?)?"
)
_TIME = (
    r"(?P<H>00?)(?P<q>[:.])(?P<M>00)(?:(?P=q)(?P<S>00)(?:[.,](?P<F>0)0*)?)?"
    r"(?: ?(?P<half>[ap])\.?m\.?)?"
)
_COMPACT_TIME = r"(?P<H>00)(?P<M>00)(?P<S>00)?"
_FORMS = tuple(
    re.compile(pattern + _OFFSET, re.IGNORECASE)
    for pattern in (
        *(rf"{date}(?:(?:T|,? +){_TIME})?" for date in _DATES),
        rf"{_DATES[0]}[T ]?{_COMPACT_TIME}",
    )
)
# By itself 14.00 is a number, not a time.
_TIME_OF_DAY = re.compile(r"(?!0+\.)" + _TIME + _OFFSET, re.IGNORECASE)
_LONGEST = 48  # characters; no written time is longer


@dataclass(frozen=True, slots=True)
class Form:
    """Where in a shape the parts of a time stand."""

    kind: int
    date: tuple[slice, slice | int, slice]  # a month's name is a number already
    slices: dict[str, slice]
    sign: int | None  # None: no offset written
    half: str | None  # 'a' or 'p' of a twelve-hour clock

    @property
    def has_time(self) -> bool:
        return "H" in self.slices


@dataclass(frozen=True, slots=True)
class Stamps:
    """Times as written: a date key, seconds into that day, and the offset."""

    date_key: Int64
    second: Int64
    offset_min: Int64

    @property
    def readable(self) -> NDArray[np.bool_]:
        return (self.date_key != UNREADABLE) & (self.second != UNREADABLE)


def shape_of(text: str) -> str:
    return text.translate(_TO_SHAPE)


@lru_cache(maxsize=1024)
def form_of(shape: str) -> Form | None:
    """How a text of this shape is read as a date, with or without a time of day."""
    if len(shape) > _LONGEST:
        return None
    for pattern in _FORMS:
        match = pattern.fullmatch(shape)
        if match and not (match["oh"] and not match.groupdict().get("H")):
            return _form(match)
    return None


def is_time_of_day(text: str) -> bool:
    return len(text) <= _LONGEST and bool(_TIME_OF_DAY.fullmatch(shape_of(text)))


def read_stamps(cells: Sequence[str]) -> Stamps:
    """Every cell as a time; what cannot be read is UNREADABLE."""
    date_key = np.full(len(cells), UNREADABLE, np.int64)
    second = np.full(len(cells), UNREADABLE, np.int64)
    offset_min = np.full(len(cells), NAIVE, np.int64)
    where = defaultdict(list)
    for index, cell in enumerate(cells):
        where[cell.translate(_TO_SHAPE)].append(index)
    for shape, indices in where.items():
        form = form_of(shape)
        if form is None:
            continue
        found = stamps_of(form, _digits([cells[i] for i in indices], len(shape)))
        date_key[indices] = found.date_key
        second[indices] = found.second
        offset_min[indices] = found.offset_min
    return Stamps(date_key, second, offset_min)


def stamps_of(form: Form, digits: NDArray[Any]) -> Stamps:
    """Times of one shape, from what each letter is above the letter '0'."""
    return Stamps(
        _date_keys(form, digits), _seconds(form, digits), _offsets(form, digits)
    )


def date_key(kind: int, parts: tuple[Int64, Int64, Int64]) -> Int64:
    """One number for a date as written, so that each is resolved only once."""
    return kind * 10**12 + parts[0] * 10**8 + parts[1] * 10**4 + parts[2]


def date_parts(key: int) -> tuple[int, int, int, int]:
    kind, rest = divmod(key, 10**12)
    first, rest = divmod(rest, 10**8)
    return kind, first, *divmod(rest, 10**4)


def is_certain(key: int) -> bool:
    """Whether a date as written leaves no order to settle."""
    return key < 10**12


def _form(match: re.Match[str]) -> Form:
    found = {name: text for name, text in match.groupdict().items() if text}
    where = {name: slice(*match.span(name)) for name in found}
    if "a" in found:
        kind = YEAR_LAST if len(found["c"]) == 4 else TWO_DIGITS
        date: tuple[slice, slice | int, slice] = (where["a"], where["b"], where["c"])
    else:
        kind = CERTAIN
        name = found.get("name", "")[:3].lower()
        month = _MONTHS.index(name) + 1 if name else where["m"]
        date = (where["y"], month, where["d"])
    sign = None
    if "utc" in found:
        sign = 0
    elif "sign" in found:
        sign = -1 if found["sign"] == "-" else 1
    half = found["half"].lower() if "half" in found else None
    return Form(kind, date, where, sign, half)


def _digits(cells: list[str], width: int) -> Int64:
    codes = np.array(cells, dtype=f"U{width}").view(np.uint32)
    return codes.reshape(len(cells), width).astype(np.int64) - ord("0")


def _number(digits: NDArray[Any], part: slice | int) -> Int64:
    if isinstance(part, int):
        return np.full(len(digits), part, np.int64)
    total = np.zeros(len(digits), np.int64)
    for column in range(part.start, part.stop):
        total = total * 10 + digits[:, column]
    return total


def _date_keys(form: Form, digits: NDArray[Any]) -> Int64:
    first, middle, last = (_number(digits, part) for part in form.date)
    year = form.date[0]
    if form.kind == CERTAIN and year.stop - year.start == 2:
        first = full_year(first)
    return date_key(form.kind, (first, middle, last))


def full_year(two_digits: Int64) -> Int64:
    """POSIX strptime %y: 69 to 99 are the nineteen hundreds."""
    return two_digits + np.where(two_digits < 69, 2000, 1900)


def _seconds(form: Form, digits: NDArray[Any]) -> Int64:
    if not form.has_time:
        return np.zeros(len(digits), np.int64)
    zero = np.zeros(len(digits), np.int64)
    hour, minute, second, tenth = (
        _number(digits, form.slices[part]) if part in form.slices else zero
        for part in "HMSF"
    )
    is_good = (minute < 60) & (second < 60)
    if form.half:
        is_good &= hour <= 12
        hour = hour % 12 + (12 if form.half == "p" else 0)
    total = hour * 3600 + minute * 60 + second
    # 24:00 is how some clocks write the end of a day.
    is_good &= (hour < 24) | (total == 86_400)
    return np.where(is_good, total + (tenth >= 5), UNREADABLE)


def _offsets(form: Form, digits: NDArray[Any]) -> Int64:
    if form.sign is None:
        return np.full(len(digits), NAIVE, np.int64)
    if form.sign == 0:
        return np.zeros(len(digits), np.int64)
    minutes = _number(digits, form.slices["oh"]) * 60
    if "om" in form.slices:
        minutes = minutes + _number(digits, form.slices["om"])
    return form.sign * minutes
