"""Which readings count: checks that set a reading aside, and never alter it.

Only what is all but certain to be a fault is set aside here; what is merely odd is told
and counted. Instants are whole seconds since 1970-01-01 00:00 UTC.
"""

from enum import IntEnum

import numpy as np
from numpy.typing import ArrayLike, NDArray

from wintering.science.instants import one_value_an_instant, paired

DECIMALS = 6
"""Differences are rounded to 1e-6 K, so that a jump of exactly 15 is one."""

LOWEST_C, HIGHEST_C = -60.0, 70.0
"""Air, root zones and ground of an inhabited place stay between these: own choice."""

CODE_VALUES_C = (85.0, -127.0, 999.0, 999.9, 9999.0, -99.9, -999.0, -999.9, -9999.0)
"""What probes and loggers write for 'no value': 85 at power-on and -127 when cut off
from digital one-wire probes, rows of nines from loggers. From memory."""

SPIKE_K = 15.0
"""A reading this far from both neighbours is a spike: own choice, five times the 3 K
that make one sample suspect by common practice, because door openings are real."""

SPIKE_REACH_S = 15 * 60
"""Neighbours further away than this say nothing about a reading: own choice. A verdict
depends on readings within this reach alone, so a batch that carries that much of its
surroundings is judged as the whole would be."""

REACH_S = SPIKE_REACH_S
"""A verdict depends on readings within this reach of its own alone."""


class Quality(IntEnum):
    """Whether a reading counts, or why it was set aside. A byte beside each reading."""

    GOOD = 0
    OUT_OF_RANGE = 1
    CODE_VALUE = 2
    SPIKE = 3
    STEP = 4
    STUCK = 5
    BY_KEEPER = 9

    @property
    def reason(self) -> str:
        return {
            Quality.GOOD: "counted",
            Quality.OUT_OF_RANGE: (
                f"outside {LOWEST_C:.0f} to {HIGHEST_C:.0f} °C, "
                "which no frame reaches: a fault of the sensor or its wire"
            ),
            Quality.CODE_VALUE: (
                "a value that loggers and probes write when they have none"
            ),
            Quality.SPIKE: (
                f"more than {SPIKE_K:.0f} K away from the readings just before and "
                "just after it, which agree with each other"
            ),
            Quality.STEP: (
                "part of a run that jumps far away from what lies before and after it "
                "and jumps back: a loose wire or a probe that cuts out"
            ),
            Quality.STUCK: (
                "one and the same value for longer than air ever holds still: "
                "a sensor or logger that hangs"
            ),
            Quality.BY_KEEPER: "set aside by hand",
        }[self]


def judge(
    seconds: ArrayLike, value_c: ArrayLike, *, holds_ice: bool = True
) -> NDArray[np.uint8]:
    """The quality of each reading, in the order given; nothing is removed.

    seconds  instants of the readings, in any order
    value_c  temperatures [°C]; not a number counts as out of range

    holds_ice  true where ice may form around the sensor: a root zone, the ground, or a
             place not known

    A sensor that stays at one value is never marked: a root zone or the ground holds
    0.0 ± 0.3 °C for days while ice forms or melts.
    """
    at, c = paired(seconds, value_c)
    quality = np.zeros(at.shape, dtype=np.uint8)
    quality[~((c >= LOWEST_C) & (c <= HIGHEST_C))] = Quality.OUT_OF_RANGE
    quality[np.isin(np.round(c, 2), CODE_VALUES_C)] = Quality.CODE_VALUE
    good = np.flatnonzero(quality == Quality.GOOD)
    instants, means = one_value_an_instant(at[good], c[good])
    spikes = instants[_is_spike(instants, means)]
    quality[good[np.isin(at[good], spikes)]] = Quality.SPIKE
    return quality


def _is_spike(instants: NDArray[np.int64], c: NDArray[np.float64]) -> NDArray[np.bool_]:
    spike = np.zeros(instants.shape, dtype=bool)
    if instants.size < 3:
        return spike
    up = np.round(c[1:-1] - c[:-2], DECIMALS)
    down = np.round(c[1:-1] - c[2:], DECIMALS)
    near = np.diff(instants) <= SPIKE_REACH_S
    reverts = (np.sign(up) == np.sign(down)) & (np.abs(up - down) <= SPIKE_K)
    far = (np.abs(up) > SPIKE_K) & (np.abs(down) > SPIKE_K)
    spike[1:-1] = far & reverts & near[:-1] & near[1:]
    return spike
