"""Gaps of a series that goes on: bridged as series.bridge does it on a whole one.

Of a gap at the end of a block it is not known yet whether it will be short. Its hours
stay open, and the next block that closes it takes them up.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from wintering.science.series import BRIDGED_H, DECIMALS

LEAD_H = BRIDGED_H + 1
"""Hours before a block that its bridges reach back to: a gap, and the hour before."""


@dataclass(frozen=True, eq=False)
class Block:
    """Hours ready to be counted, (hours, sensors), and what stays open behind them.

    c          known hours [°C]; not a number where missing, open, or counted before
    missing    hours that no bridge can close any more
    first_h    number of the first of these hours
    bridged_h  hours that were bridged, (sensors,)
    last_c     the last known hour [°C], (sensors,); not a number where it lies too far
               back for a bridge to begin there
    open_h     missing hours since it, (sensors,), which a bridge may yet close
    """

    c: NDArray[np.float64]
    missing: NDArray[np.bool_]
    first_h: int
    bridged_h: NDArray[np.int64]
    last_c: NDArray[np.float64]
    open_h: NDArray[np.int64]


def plain_block(
    c: NDArray[np.float64],
    first_h: int,
    last_c: NDArray[np.float64],
    open_h: NDArray[np.int64],
) -> Block:
    """Hours as they stand, (hours, sensors): nothing is bridged, nothing left open."""
    none = np.zeros_like(open_h)
    return Block(c, np.isnan(c), first_h, none, np.full_like(last_c, np.nan), none)


def bridged_block(
    c: NDArray[np.float64],
    first_h: int,
    last_c: NDArray[np.float64],
    open_h: NDArray[np.int64],
) -> Block:
    """Hours with gaps of 1 to 3 h bridged, and the open hours before that they close.

    c               hourly temperature [°C], (hours, sensors)
    first_h         number of its first hour
    last_c, open_h  as the block before has left them

    A block with gaps begins four hours early, with not a number where those hours are
    counted already.
    """
    holes = np.isnan(c)
    if not (holes.any() or open_h.any()):
        none = np.zeros_like(open_h)
        return Block(c, holes, first_h, none, c[-1].copy(), none)
    sensors = np.arange(c.shape[1])
    hours = np.vstack([np.full((LEAD_H, sensors.size), np.nan), c])
    row = np.arange(len(hours))[:, np.newaxis]
    before = LEAD_H - 1 - open_h
    hours[before, sensors] = last_c
    known = ~np.isnan(hours)
    begins = known[-LEAD_H:].any(axis=0)
    open_h = np.where(begins, np.argmax(known[::-1], axis=0), 0)
    last_c = np.where(begins, hours[-1 - open_h, sensors], np.nan)
    bridged_h = _bridge(hours, known)
    hours[before, sensors] = np.nan
    decided = (row > before) & (row < len(hours) - open_h)
    missing = np.isnan(hours) & decided
    return Block(hours, missing, first_h - LEAD_H, bridged_h, last_c, open_h)


def _bridge(hours: NDArray[np.float64], known: NDArray[np.bool_]) -> NDArray[np.int64]:
    """Fills gaps of up to three hours in place; gives the hours bridged, (sensors,)."""
    bridged_h = np.zeros(hours.shape[1], dtype=np.int64)
    for gap in range(1, BRIDGED_H + 1):
        closed = known[: -gap - 1] & known[gap + 1 :]
        for step in range(1, gap + 1):
            closed &= ~known[step : step - gap - 1]
        row, sensor = np.nonzero(closed)
        begin_c, end_c = hours[row, sensor], hours[row + gap + 1, sensor]
        slope = (end_c - begin_c) / (gap + 1)
        for step in range(1, gap + 1):
            hours[row + step, sensor] = np.round(begin_c + slope * step, DECIMALS)
        bridged_h += gap * np.bincount(sensor, minlength=bridged_h.size)
    return bridged_h
