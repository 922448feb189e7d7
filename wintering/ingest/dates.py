"""Which number of a written date is the day, and dates into counted days."""

from collections.abc import Iterable, Sequence
from datetime import date
from functools import lru_cache
from typing import Literal

import numpy as np

from wintering.ingest.refusals import LogQuestion, LogRefused
from wintering.ingest.stamps import (
    CERTAIN,
    TWO_DIGITS,
    UNREADABLE,
    YEAR_LAST,
    Int64,
    date_parts,
    full_year,
    is_certain,
)

Order = Literal["dmy", "mdy", "ymd"]

NO_DAY = -(10**6)  # no such date; far from any day since 1970
# Own choice: wide enough for a logger whose clock was never set.
_MONTH = 28  # days; the shortest there is
_FIRST_YEAR, _LAST_YEAR = 1970, 2199
ORDER_NAMES = {"dmy": "day first", "mdy": "month first", "ymd": "year first"}
_ORDERS: dict[int, tuple[Order, ...]] = {
    YEAR_LAST: ("dmy", "mdy"),
    TWO_DIGITS: ("dmy", "mdy", "ymd"),
}


def day_of(key: int, order: Order | None) -> int:
    """Days since 1970-01-01 of a date as written, or NO_DAY."""
    if key == UNREADABLE:
        return NO_DAY
    kind, first, middle, last = date_parts(key)
    if kind == CERTAIN:
        year, month, day = first, middle, last
    else:
        if order not in _ORDERS[kind]:
            return NO_DAY
        at = {letter: (first, middle, last)[i] for i, letter in enumerate(order)}
        year, month, day = at["y"], at["m"], at["d"]
        if kind == TWO_DIGITS:
            year = int(full_year(np.int64(year)))
    if not _FIRST_YEAR <= year <= _LAST_YEAR:
        return NO_DAY
    try:
        return date(year, month, day).toordinal() - date(1970, 1, 1).toordinal()
    except ValueError:
        return NO_DAY


def days_of(keys: Int64, order: Order | None) -> Int64:
    """Days since 1970-01-01 of each date as written; NO_DAY where there is none."""
    # A day's readings mostly stand together.
    heads = np.flatnonzero(np.diff(keys, prepend=UNREADABLE - 1))
    unique, place = np.unique(keys[heads], return_inverse=True)
    days = np.array([day_of(int(key), order) for key in unique], np.int64)
    return np.repeat(days[place], np.diff(heads, append=len(keys)))


@lru_cache(maxsize=4096)
def is_any_day(key: int) -> bool:
    """Whether a date is in the calendar in one order at least."""
    return any(day_of(key, order) != NO_DAY for order in ("dmy", "mdy", "ymd"))


def settle_order(
    keys: Iterable[int], *, name: str, given: Order | None, remembered: Order | None
) -> Order | None:
    """The order of the file's dates, from its own values where they can tell.

    None where every date says itself what it is.
    """
    unsure = sorted(int(key) for key in set(keys) if not is_certain(int(key)))
    if not unsure:
        return None
    kinds = {date_parts(key)[0] for key in unsure}
    possible = [o for o in ("dmy", "mdy", "ymd") if all(o in _ORDERS[k] for k in kinds)]
    days = {order: [day_of(key, order) for key in unsure] for order in possible}
    if given is not None:
        return _checked(given, days, unsure, name)
    best = max(_readable(days[order]) for order in possible)
    winners = [order for order in possible if _readable(days[order]) == best]
    if kinds == {TWO_DIGITS}:
        winners = _years_are_rare(winners, unsure)
    _refuse_contradiction(winners, days, unsure, name)
    if len(winners) == 1 or len({tuple(days[order]) for order in winners}) == 1:
        return winners[0]
    if remembered in winners and not _leaps(remembered, winners, days):
        return remembered
    meanings = " or ".join(ORDER_NAMES[order] for order in winners)
    raise LogQuestion(
        f"{name} has dates such as {_written(unsure[0])} that could be {meanings}; "
        "say which.",
        about="date_order",
    )


def leaves_open(keys: Iterable[int]) -> bool:
    """Whether dates alone do not settle their order."""
    try:
        settle_order(keys, name="", given=None, remembered=None)
    except LogQuestion:
        return True
    return False


def _leaps(order: Order, others: list[Order], days: dict[Order, list[int]]) -> bool:
    """Whether an order makes leaps of a month where another goes on steadily.

    A few days' readings read with day and month swapped stand a month apart.
    """
    counts = {
        one: int(np.sum(np.diff(np.unique(days[one])) >= _MONTH)) for one in others
    }
    return counts[order] > min(counts.values())


def _readable(days: Sequence[int]) -> int:
    return sum(day != NO_DAY for day in days)


def _checked(
    given: Order, days: dict[Order, list[int]], unsure: list[int], name: str
) -> Order:
    """The order that a person gave, unless the file speaks only against it."""
    mine = days.get(given, [NO_DAY] * len(unsure))
    against = [
        key
        for i, key in enumerate(unsure)
        if mine[i] == NO_DAY and any(days[order][i] != NO_DAY for order in days)
    ]
    supporting = any(
        mine[i] != NO_DAY and all(days[o][i] == NO_DAY for o in days if o != given)
        for i in range(len(unsure))
    )
    if against and not supporting:
        raise LogRefused(
            f"{name} has dates such as {_written(against[0])}, which cannot be read "
            f"{ORDER_NAMES[given]}; expected another date order."
        )
    return given


def _refuse_contradiction(
    winners: list[Order], days: dict[Order, list[int]], unsure: list[int], name: str
) -> None:
    """Two dates that need different orders leave no order to guess."""
    for other in days:
        if other in winners:
            continue
        for i, key in enumerate(unsure):
            if days[other][i] != NO_DAY and all(days[w][i] == NO_DAY for w in winners):
                raise LogQuestion(
                    f"{name} has dates such as {_written(key)}, which are not "
                    f"{ORDER_NAMES[winners[0]]} like others; say which order holds.",
                    about="date_order",
                )


def _years_are_rare(winners: list[Order], unsure: list[int]) -> list[Order]:
    """A log holds fewer years than days: the number that changes least is the year."""
    firsts = {date_parts(key)[1] for key in unsure}
    lasts = {date_parts(key)[3] for key in unsure}
    if len(firsts) < len(lasts):
        return [order for order in winners if order == "ymd"] or winners
    if len(lasts) < len(firsts):
        return [order for order in winners if order != "ymd"] or winners
    return winners


def _written(key: int) -> str:
    kind, first, middle, last = date_parts(key)
    if kind == CERTAIN:
        return f"{first:04}-{middle:02}-{last:02}"
    return f"{first:02}/{middle:02}/{last:0{4 if kind == YEAR_LAST else 2}}"
