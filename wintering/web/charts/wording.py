"""What a picture says, in sentences: the same for whoever sees it or hears it."""

from collections.abc import Iterator
from datetime import datetime, time, timedelta

import numpy as np
from django.utils.formats import date_format

from wintering.climate.queries.charting import Aside
from wintering.science.screening import Quality
from wintering.science.series import HOUR_S
from wintering.web.charts.columns import NIGHTS_UP_TO_S, Drawn, Picture
from wintering.web.templatetags.units import words_in_fahrenheit

DAY_S = 24 * HOUR_S
ASIDES_TOLD = 6
"""More stretches than this are told as one: own choice."""

SPOKEN = 3
"""Of more lines than this only the outermost are told: own choice."""


def summary(picture: Picture) -> str:
    """What, from when to when, and lowest and highest with their times."""
    span = f"{_day(picture, picture.start_s)} to {_day(picture, picture.end_s - 1)}"
    known = [one for one in picture.drawn if not np.isnan(one.line.low).all()]
    sentences = [f"{picture.title}, {span}."]
    if not known:
        return " ".join([*sentences, "No reading counts in this time."])
    if len(known) <= SPOKEN:
        sentences += [_line(one, picture) for one in known]
    else:
        sentences.append(_outermost(known, picture))
    silent = [one.name for one in picture.drawn if one not in known]
    if silent:
        sentences.append(f"Nothing known of {', '.join(silent)}.")
    return " ".join(sentences)


def _line(one: Drawn, picture: Picture) -> str:
    low, high = np.nanargmin(one.line.low), np.nanargmax(one.line.high)
    lowest, highest = float(one.line.low[low]), float(one.line.high[high])
    if one.scale.number(lowest) == one.scale.number(highest):
        return f"{one.name}, {one.place}: {one.scale.words(lowest)} throughout."
    return (
        f"{one.name}, {one.place}: lowest {one.scale.words(lowest)} "
        f"{_when(picture, int(low))}, highest {one.scale.words(highest)} "
        f"{_when(picture, int(high))}."
    )


def _outermost(known: list[Drawn], picture: Picture) -> str:
    coldest = min(known, key=lambda one: float(np.nanmin(one.line.low)))
    warmest = max(known, key=lambda one: float(np.nanmax(one.line.high)))
    low, high = np.nanargmin(coldest.line.low), np.nanargmax(warmest.line.high)
    return (
        f"Lowest of {len(known)}: {coldest.scale.words(float(coldest.line.low[low]))} "
        f"at {coldest.name}, {coldest.place}, {_when(picture, int(low))}. Highest: "
        f"{warmest.scale.words(float(warmest.line.high[high]))} at {warmest.name}, "
        f"{warmest.place}, {_when(picture, int(high))}."
    )


def _when(picture: Picture, column: int) -> str:
    """'on Tue 21 Jan, 06:10', or the column in which it was."""
    at = picture.at(picture.grid.first_s + column * picture.grid.step_s)
    pattern = "j M" if picture.is_laid_over else "D j M Y"
    words = date_format(at, f"{pattern}, H:i")
    if picture.grid.step_s <= 60:
        return f"on {words}"
    return f"in the {length(picture.grid.step_s)} from {words}"


def _day(picture: Picture, second: int) -> str:
    pattern = "j M" if picture.is_laid_over else "D j M Y"
    return date_format(picture.at(second), pattern)


def notes(picture: Picture) -> Iterator[str]:
    """How it is drawn and what is not: nothing is left to be guessed."""
    yield _columns(picture)
    yield from _accuracies(picture)
    yield f"Times are those of {picture.frame}: {picture.frame.time_zone}."
    if picture.nights is not None:
        yield "Nights are shaded from sunset to sunrise."
    elif picture.frame.latitude_deg is None:
        yield "Nights are not shaded: where the frame lies is not known."
    elif picture.end_s - picture.start_s > NIGHTS_UP_TO_S:
        yield "Nights are shaded once you look at 100 days or less."
    yield from _set_aside(picture)


def _columns(picture: Picture) -> str:
    lines = [one.line for one in picture.drawn]
    if all(np.array_equal(x.low, x.high, equal_nan=True) for x in lines):
        return "Each reading is drawn. Gaps are left open."
    wide = length(picture.grid.step_s)
    return (
        f"Each column is the lowest and the highest reading of {wide}. "
        "Gaps are left open."
    )


def _accuracies(picture: Picture) -> Iterator[str]:
    told: dict[str, list[str]] = {}
    for one in picture.drawn:
        told.setdefault(one.scale.accuracy_words, []).append(one.name)
    if picture.is_laid_over:
        yield from (f"{_sentence(words)}." for words in told)
    elif len(told) == 1:
        (words,) = told
        yield f"All: {words}." if len(picture.drawn) > 1 else f"{_sentence(words)}."
    else:
        yield from (f"{', '.join(names)}: {words}." for words, names in told.items())


def _sentence(words: str) -> str:
    return words[0].upper() + words[1:]


def _set_aside(picture: Picture) -> Iterator[str]:
    found = [(one, aside) for one in picture.drawn for aside in one.asides]
    if len(found) <= ASIDES_TOLD:
        yield from (aside_words(one, aside, picture) for one, aside in found)
        return
    count = sum(aside.count for _, aside in found)
    yield (
        f"{count} readings are set aside, in {len(found)} hatched stretches of "
        f"{len({one.key for one, _ in found})} sensors: look closer to read why."
    )


def aside_words(one: Drawn, aside: Aside, picture: Picture) -> str:
    """'R1: 3 readings set aside, Sun 19 Jan 2025, 03:00: a spike.'"""
    count = f"{aside.count} reading{'s' if aside.count != 1 else ''}"
    first, last = picture.at(aside.start_s), picture.at(aside.end_s)
    if not aside.codes:
        return f"{one.name}: {count} set aside{_days(first, last)} (look closer)."
    when = date_format(first, "D j M Y, H:i")
    if aside.end_s - aside.start_s >= 60:
        same = first.date() == last.date()
        when += " to " + date_format(last, "H:i" if same else "D j M, H:i")
    why = "; ".join(Quality(code).reason for code in aside.codes)
    if picture.unit == "°F":
        why = words_in_fahrenheit(why)
    return f"{one.name}: {count} set aside, {when}: {why}."


def _days(first: datetime, last: datetime) -> str:
    """', 18 Jan 2025'; with the clock where the days are not the frame's own.

    Days are kept by the world's clock: in New York they begin at 19:00 the day before.
    """
    if first.time() == last.time() == time():
        ends = (first, last - timedelta(minutes=1))
        days = {date_format(day, "j M Y"): None for day in ends}
        return f", {' to '.join(days)}"
    begin, end = (date_format(at, "D j M Y, H:i") for at in (first, last))
    return f" between {begin} and {end}"


def length(seconds: int) -> str:
    """30 s, 10 min, 3 h, 24 h, 4 days."""
    for unit_s, unit in ((DAY_S, "days"), (HOUR_S, "h"), (60, "min")):
        # A day of the world's clock seldom begins at midnight here: 24 h says it.
        if seconds % unit_s == 0 and seconds != DAY_S * (unit_s == DAY_S):
            return f"{seconds // unit_s} {unit}"
    return f"{seconds} s"
