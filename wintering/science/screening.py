"""Which readings count: checks that set a reading aside, and never alter it.

Only what is all but certain to be a fault is set aside here; what is merely odd is told
and counted (see `doubts`). Instants are whole seconds since 1970-01-01 00:00 UTC.

A reading is set aside for its value (`Quality.OUT_OF_RANGE`, `CODE_VALUE`), for what
lies right beside it (`SPIKE`), as part of an excursion (`STEP`) or because air cannot
hold so still (`STUCK`). The first that applies, in this order, is its verdict.

An excursion is a run of readings that opens with a jump to where frames seldom are, and
ends with a jump back to about where it began. Until the jump back is seen nothing is
marked, for a sensor carried out of the house jumps too, and stays. A run that leads
out of range without a jump in between is marked at once.
"""

from collections.abc import Iterator
from enum import IntEnum

import numpy as np
from numpy.typing import ArrayLike, NDArray

from wintering.science.instants import one_value_an_instant, paired

Seconds = NDArray[np.int64]
Celsius = NDArray[np.float64]
Marks = NDArray[np.bool_]

HOUR_S = 3600
DECIMALS = 6
"""Differences are rounded to 1e-6 K, so that a jump of exactly 15 is one."""

LOWEST_C, HIGHEST_C = -60.0, 70.0
"""Air, root zones and ground of an inhabited place stay between these: own choice."""

REACHED = f"\N{MINUS SIGN}{-LOWEST_C:.0f} to {HIGHEST_C:.0f} °C"

DRIEST_PCT, DAMPEST_PCT = 0, 105
"""Air holds no more than 100 %, but probes in wet air read a little more: own
choice."""

CODE_VALUES_C = (85.0, -127.0, 999.0, 999.9, 9999.0, -99.9, -999.0, -999.9, -9999.0)
"""What probes and loggers write for 'no value': 85 at power-on and -127 when cut off
from digital one-wire probes, rows of nines from loggers. From memory. All lie out of
range, so that only what is out of range is compared with them."""

SPIKE_K = 15.0
"""A reading this far from both neighbours is a spike: own choice, five times the 3 K
that make one sample suspect by common practice, because door openings are real."""

SPIKE_REACH_S = 15 * 60
"""Neighbours further away than this show no spike: own choice."""

SOON_S, SOON_K = 20 * 60, 20.0
LATER_S, LATER_K = 75 * 60, 30.0
"""More than so many kelvins within so many seconds is a jump: own choice. In measured
series of sound sensors, air under a tunnel with its doors opened in the sun moved
13.3 K in 15 min, a roof space 10.0 K in an hour. Readings further apart show none."""

COLD_C, HOT_C = -20.0, 55.0
"""An excursion leads below or above: own choice. Sun on a bare sensor makes jumps too,
but the hottest reading of the sound measured series is 52.7 °C, under a roof in July;
and a frame that is opened falls to the air outside, not below it."""

BACK_K, CREPT_BACK_K = 12.0, 5.0
"""A jump that ends within the first of where an excursion began ends it, which leaves
room for the swing between night and day. A sensor that comes within the second without
a jump was never away. Own choice: in the measured loose wire, jumps within the fault
ended 15.6 K from the sound reading before it and the one out of it 6.1 K; in between
the readings crept to within 9.2 K, while a station beside it was 12 K warmer."""

HELD_S = 3 * HOUR_S
"""A level from which an excursion begins must have been read twice within so long, or
come back to: own choice, so that one garbled reading is not taken for a level."""

LONGEST_EXCURSION_S = 60 * HOUR_S
"""Own choice: a wire that came loose on a measured station stayed so for 58 h."""

SELDOM_BELOW_C, SELDOM_ABOVE_C = -40.0, HOT_C
LEADS_OUT_S = 24 * HOUR_S
"""Beyond the first two, a reading from which an unbroken run leads out of range within
the third is part of the same fault: own choice. A failing probe read 60 °C at night
and 168 °C by day, day after day."""

STUCK_S = 48 * HOUR_S
"""One and the same value for so long is a sensor or logger that hangs: own choice. The
longest in measured air was 7 h outside and 13 h in a heated room; the screening guide
of the trade, less than 0.5 K in 12 h, is a doubt only, because a frame under snow is
that calm. Doubled twice over, for cellars."""

STUCK_GAP_S = 3 * HOUR_S
"""Without a reading for longer than this a value is not known to have held."""

COARSE = 0.5
"""A value on a grid this wide, in °C or °F, may come from a sensor that shows no less,
which air can hold for days: never stuck. Own choice."""

THAW_C = 0.5
"""Nor is air so near 0 °C, where melting snow holds it. Own choice."""

REACH_S = LONGEST_EXCURSION_S + HELD_S
"""A verdict depends on readings within this reach of its own alone, so a batch that
carries that much of its surroundings on both sides is judged as the whole would be."""


class Quality(IntEnum):
    """Whether a reading counts, or why it was set aside. A byte beside each reading."""

    GOOD = 0
    OUT_OF_RANGE = 1
    CODE_VALUE = 2
    SPIKE = 3
    STEP = 4
    STUCK = 5
    NO_HUMIDITY = 6
    BY_KEEPER = 9

    @property
    def reason(self) -> str:
        return {
            Quality.GOOD: "counted",
            Quality.OUT_OF_RANGE: (
                f"outside {REACHED}, which no frame reaches: "
                "a fault of the sensor or its wire"
            ),
            Quality.CODE_VALUE: (
                "a value that loggers and probes write when they have none"
            ),
            Quality.SPIKE: (
                f"more than {SPIKE_K:.0f} K away from the readings just before and "
                "just after it, which agree with each other"
            ),
            Quality.STEP: (
                "part of a run that jumps far away and back again, or leads out of "
                "range: a loose wire or a failing probe"
            ),
            Quality.STUCK: (
                f"one and the same value for {STUCK_S // HOUR_S} h or longer, "
                "which air does not hold: a sensor or logger that hangs"
            ),
            Quality.NO_HUMIDITY: (
                f"outside {DRIEST_PCT} to {DAMPEST_PCT} %, which no air holds: a fault "
                "of the sensor or its wire"
            ),
            Quality.BY_KEEPER: "set aside by hand",
        }[self]


def judge(
    seconds: ArrayLike, value_c: ArrayLike, *, holds_ice: bool = True
) -> NDArray[np.uint8]:
    """The quality of each reading, in the order given; nothing is removed.

    seconds    instants of the readings, in any order
    value_c    temperatures [°C]; not a number counts as out of range
    holds_ice  true where ice may form around the sensor (a root zone, the ground) and
               where the place is not known; then no value is stuck, because freezing
               and melting hold 0.0 ± 0.3 °C for days
    """
    at, c = paired(seconds, value_c)
    quality = _by_value(c)
    is_good = quality == Quality.GOOD
    all_good = bool(is_good.all())
    good_at, good_c = (at, c) if all_good else (at[is_good], c[is_good])
    instants, means = one_value_an_instant(good_at, good_c)
    verdict = np.zeros(instants.shape, dtype=np.uint8)
    if not holds_ice:
        verdict[_is_stuck(instants, means)] = Quality.STUCK
    if all_good:
        away = _away(instants, means)
    else:
        # excursions are seen with what is out of range: it belongs to them
        told = np.isfinite(c) & (quality != Quality.CODE_VALUE)
        away = _away(*one_value_an_instant(at[told], c[told]))
    verdict[_places(instants, away)] = Quality.STEP
    verdict[_spikes(instants, means)] = Quality.SPIKE
    if instants is not good_at:
        verdict = verdict[np.searchsorted(instants, good_at)]
    quality[is_good] = verdict
    return quality


def _places(instants: Seconds, some: Seconds) -> NDArray[np.intp]:
    """Where some instants stand among others, those that do; both in order."""
    where = np.searchsorted(instants, some)
    where = where[where < instants.size]
    found: NDArray[np.intp] = where[np.isin(instants[where], some)]
    return found


def _by_value(c: Celsius) -> NDArray[np.uint8]:
    quality = np.zeros(c.shape, dtype=np.uint8)
    beyond = np.flatnonzero(~((c >= LOWEST_C) & (c <= HIGHEST_C)))
    is_code = np.isin(np.round(c[beyond], 2), CODE_VALUES_C)
    quality[beyond] = np.where(is_code, Quality.CODE_VALUE, Quality.OUT_OF_RANGE)
    return quality


def _spikes(instants: Seconds, c: Celsius) -> NDArray[np.intp]:
    """Readings far from both neighbours, which lie near in time and agree."""
    far = np.abs(np.diff(c)) > SPIKE_K
    at = np.flatnonzero(far[:-1] & far[1:]) + 1
    up = np.round(c[at] - c[at - 1], DECIMALS)
    down = np.round(c[at] - c[at + 1], DECIMALS)
    reverts = (np.sign(up) == np.sign(down)) & (np.abs(up - down) <= SPIKE_K)
    enough = np.minimum(np.abs(up), np.abs(down)) > SPIKE_K
    before, after = instants[at] - instants[at - 1], instants[at + 1] - instants[at]
    near = np.maximum(before, after) <= SPIKE_REACH_S
    found: NDArray[np.intp] = at[reverts & enough & near]
    return found


def _is_stuck(instants: Seconds, c: Celsius) -> Marks:
    """Readings of a run of one value that lasts too long for air."""
    stuck = np.zeros(instants.shape, dtype=bool)
    same = np.concatenate(([False], c[1:] == c[:-1], [False]))
    turns = np.flatnonzero(same[1:] != same[:-1])
    starts, ends = turns[::2], turns[1::2]
    long = np.flatnonzero(instants[ends] - instants[starts] >= STUCK_S)
    for start, end in zip(starts[long].tolist(), ends[long].tolist(), strict=True):
        if abs(c[start]) > THAW_C and not _is_coarse(c[start]):
            run = slice(start, end + 1)
            stuck[run] = _held_long(instants[run])
    return stuck


def _held_long(instants: Seconds) -> Marks:
    """Of readings with one value, those in a stretch long enough and without a gap."""
    cuts = np.flatnonzero(np.diff(instants) > STUCK_GAP_S) + 1
    first = instants[np.append(0, cuts)]
    last = instants[np.append(cuts, instants.size) - 1]
    sizes = np.diff(np.concatenate(([0], cuts, [instants.size])))
    return np.repeat(last - first >= STUCK_S, sizes)


def _is_coarse(c: float) -> bool:
    """Whether a thermometer that shows only halves could have shown it."""
    return any(
        abs(shown / COARSE - round(shown / COARSE)) * COARSE < 0.01
        for shown in (c, c * 9 / 5 + 32)
    )


def _away(instants: Seconds, c: Celsius) -> Seconds:
    """The instants at which the sensor was away: in an excursion, or on its way out."""
    marks = np.zeros(c.shape, dtype=bool)
    outside = (c < COLD_C) | (c > HOT_C)
    if not outside.any():
        return instants[marks]
    jumps = _jumps(instants, c)
    starts = _openings(instants, c, jumps, outside)
    latest = instants[starts - 1] + LONGEST_EXCURSION_S
    until = np.searchsorted(instants, latest, side="right")
    for start, end in _returns(c, jumps, starts, until):
        marks[start:end] = True
    for beyond, out in (
        (c > SELDOM_ABOVE_C, c > HIGHEST_C),
        (c < SELDOM_BELOW_C, c < LOWEST_C),
    ):
        if out.any():
            marks[_leading_out(instants, jumps, beyond, out)] = True
    return instants[marks]


def _jumps(instants: Seconds, c: Celsius) -> Marks:
    """Whether the sensor jumped between each reading and the one before it."""
    jumps = np.zeros(c.shape, dtype=bool)
    after = np.flatnonzero(np.abs(np.diff(c)) > SOON_K) + 1
    size, apart = np.abs(c[after] - c[after - 1]), instants[after] - instants[after - 1]
    jumps[after] = (apart <= SOON_S) | ((size > LATER_K) & (apart <= LATER_S))
    return jumps


def _openings(
    instants: Seconds, c: Celsius, jumps: Marks, outside: Marks
) -> NDArray[np.intp]:
    """Readings that a jump took where frames seldom are, from a level that held.

    A level holds if the reading before it is near, or the sensor came back to it.
    """
    opens = np.flatnonzero(jumps[2:] & outside[2:] & ~outside[1:-1]) + 2
    held = np.abs(c[opens - 1] - c[opens - 2]) <= BACK_K
    held |= outside[opens - 2]
    held &= instants[opens - 1] - instants[opens - 2] <= HELD_S
    return np.asarray(opens[held])


def _returns(
    c: Celsius, jumps: Marks, starts: NDArray[np.intp], until: NDArray[np.intp]
) -> Iterator[tuple[int, int]]:
    """Excursions as (first reading away, first reading back by a jump).

    Each is looked for from its own start alone. Two that are open at once began more
    than CREPT_BACK_K apart, or the later would have ended the earlier: so they are few,
    and no reading is looked at often. What is not back soon is looked for one by one.
    """
    for ahead in range(1, 17):
        inside = starts + ahead < until
        starts, until = starts[inside], until[inside]
        now = starts + ahead
        back = _is_back(c[now], jumps[now], c[starts - 1])
        for start in starts[back & jumps[now]].tolist():
            yield start, start + ahead
        starts, until = starts[~back], until[~back]
    for start, end in zip(starts.tolist(), until.tolist(), strict=True):
        first = _first_back(c[start:end], jumps[start:end], c[start - 1])
        if first and jumps[start + first]:
            yield start, start + first


def _is_back(c: Celsius, jumps: Marks, level_c: Celsius | np.float64) -> Marks:
    off_k = np.abs(c - level_c)
    return (off_k <= CREPT_BACK_K) | (jumps & (off_k <= BACK_K))


def _first_back(c: Celsius, jumps: Marks, level_c: np.float64) -> int | None:
    """The first reading after the first one that is back, in growing pieces."""
    begin, size = 1, 64
    while begin < c.size:
        piece = slice(begin, begin + size)
        back = _is_back(c[piece], jumps[piece], level_c)
        first = int(back.argmax())
        if back[first]:
            return begin + first
        begin, size = begin + size, size * 4
    return None


def _leading_out(
    instants: Seconds, jumps: Marks, beyond: Marks, out: Marks
) -> NDArray[np.intp]:
    """Readings from which an unbroken run beyond the seldom leads out of range."""
    where = np.flatnonzero(beyond)
    parted = jumps[where[1:]] | (np.diff(where) > 1)
    parted |= np.diff(instants[where]) > LATER_S
    run = np.append(0, np.cumsum(parted))
    # a gap of its own length between runs keeps one from lending to the next
    apart = instants[where] + run * (2 * LEADS_OUT_S)
    return where[_apart_s(apart, apart[out[where]]) <= LEADS_OUT_S]


def _apart_s(instants: Seconds, marks: Seconds) -> Seconds:
    """How far each instant lies from the nearest mark; both in order."""
    after = np.searchsorted(marks, instants)
    later = np.abs(marks[np.minimum(after, marks.size - 1)] - instants)
    earlier = np.abs(instants - marks[np.maximum(after - 1, 0)])
    return np.asarray(np.minimum(later, earlier))
