"""A winter that goes on: every total of chill and warmth, resumed block by block.

What one more day costs is that day, however long the winter has been. Short gaps are
bridged as series.bridge does on a whole series: hours at the end of what is known so
far stay open, and count as missing, until the hour that closes their gap has come.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, fields, replace
from typing import Any, Self

import numpy as np
from numpy.typing import ArrayLike, NDArray

from wintering.science import chill_units
from wintering.science.bridging import Block, bridged_block, plain_block
from wintering.science.dynamic import (
    AFTER_FROST_H,
    GAP_FILL_C,
    PortionState,
    add_up,
    after_frost,
    blocks,
    fix,
    flat,
)
from wintering.science.forcing import gdh_curvilinear, gdh_linear
from wintering.science.series import BRIDGED_H

LONG_AGO_H = -(10**9)


@dataclass(frozen=True, eq=False)
class Accumulated:
    """Where the totals of a winter stand, for sensors of any axes, (...).

    seen_h            clock hours so far, the same for all sensors
    known_h           hours used, bridged ones included; the others are missing
    bridged_h         of these, estimated across gaps of 1 to 3 h
    chill_hours_*     [h]
    utah*             Utah units, summed plainly from the first hour
    gdh_*             [°C h]
    portions, x       of the Dynamic model with gaps held, and its intermediate
    after_frost       portions fixed in the 24 h after an hour below -2 °C
    last_frost        number of the last hour below -2 °C, 0 for the first hour
    portions_filled, x_filled   as above with gaps filled at 6 °C; open hours left out
    last_c            the last known hour [°C]; not a number where no bridge can begin
    open_h            missing hours since it, which a bridge may yet close
    """

    seen_h: int
    known_h: NDArray[np.int64]
    bridged_h: NDArray[np.int64]
    chill_hours_0_7: NDArray[np.float64]
    chill_hours_below_7: NDArray[np.float64]
    utah: NDArray[np.float64]
    utah_positive: NDArray[np.float64]
    gdh_linear: NDArray[np.float64]
    gdh_curvilinear: NDArray[np.float64]
    portions: NDArray[np.float64]
    x: NDArray[np.float64]
    after_frost: NDArray[np.float64]
    last_frost: NDArray[np.int64]
    portions_filled: NDArray[np.float64]
    x_filled: NDArray[np.float64]
    last_c: NDArray[np.float64]
    open_h: NDArray[np.int64]

    @property
    def missing_h(self) -> NDArray[np.int64]:
        return self.seen_h - self.known_h

    @property
    def chill_hours_0_7_high(self) -> NDArray[np.float64]:
        """Chill hours if every missing hour had been one."""
        return self.chill_hours_0_7 + self.missing_h

    @property
    def portions_high(self) -> NDArray[np.float64]:
        """Portions with missing hours filled at 6 °C, never below the lower figure.

        Filling a gap can shift the later hours at which x is fixed and so lose some
        hundredths.
        """
        x, total = self.x_filled.flatten(), self.portions_filled.ravel()
        still_open = np.arange(BRIDGED_H)[:, np.newaxis] < self.open_h.ravel()
        total = add_up(total, fix(np.where(still_open, GAP_FILL_C, np.nan), x))
        return np.maximum(self.portions, total.reshape(self.portions.shape))

    @property
    def portion_state(self) -> PortionState:
        """From which dynamic.portions can go on."""
        since = np.minimum(self.seen_h - 1 - self.last_frost, AFTER_FROST_H)
        return PortionState(self.x, self.portions, self.after_frost, since, False)

    def reshaped(self, shape: tuple[int, ...]) -> Self:
        """The same sensors along other axes."""
        arrays = {name: getattr(self, name).reshape(shape) for name in ARRAYS}
        return replace(self, **arrays)


ARRAYS = [field.name for field in fields(Accumulated)][1:]
INTEGERS = {"known_h", "bridged_h", "last_frost", "open_h"}


def begun(sensors: tuple[int, ...] = ()) -> Accumulated:
    """Before the first hour."""
    arrays: dict[str, Any] = {
        name: np.zeros(sensors, np.int64 if name in INTEGERS else np.float64)
        for name in ARRAYS
    }
    arrays["last_c"].fill(np.nan)
    arrays["last_frost"].fill(LONG_AGO_H)
    return Accumulated(seen_h=0, **arrays)


def advance(state: Accumulated, c: ArrayLike) -> Accumulated:
    """The totals after a block of further hours; gaps of 1 to 3 h are bridged.

    c  hourly temperature [°C], (hours, ...), as measured: not bridged, missing hours
       not a number. It follows the last hour of the state without a hole

    Refuses temperatures outside -60 to 70 °C, as the Dynamic model does. However a
    winter is cut into blocks, the totals are the same to the last bit.
    """
    return _by_blocks(state, c, bridged_block)


def as_they_stand(c: ArrayLike) -> Accumulated:
    """The totals of a whole series, (hours, ...), of which no gap is bridged."""
    hours = np.asarray(c, dtype=np.float64)
    return _by_blocks(begun(hours.shape[1:]), hours, plain_block)


def _by_blocks(
    state: Accumulated, c: ArrayLike, prepare: Callable[..., Block]
) -> Accumulated:
    hours = np.asarray(c, dtype=np.float64)
    sensors = state.x.shape
    if hours.shape[1:] != sensors:
        raise ValueError(
            f"The state is for {sensors}, the hours for {hours.shape[1:]}."
        )
    columns = flat(hours)
    run = state.reshaped((columns.shape[1],))
    for part in blocks(columns):
        block = prepare(columns[part], run.seen_h, run.last_c, run.open_h)
        run = _count(run, block)
    return run.reshaped(sensors)


def _count(state: Accumulated, block: Block) -> Accumulated:
    """All totals after one block that fits the processor's cache, (sensors,)."""
    c = block.c
    cold = chill_units.sums(c)
    x = state.x.copy()
    gains = fix(c, x)
    portions = add_up(state.portions, gains)
    recent, last_frost = after_frost(c, state.last_frost - block.first_h)
    portions_filled, x_filled = _with_gaps_filled(state, block, portions, x)
    return Accumulated(
        seen_h=block.first_h + len(c),
        known_h=state.known_h + cold.known_h.astype(np.int64),
        bridged_h=state.bridged_h + block.bridged_h,
        chill_hours_0_7=state.chill_hours_0_7 + cold.chill_hours_0_7,
        chill_hours_below_7=state.chill_hours_below_7 + cold.chill_hours_below_7,
        utah=state.utah + cold.utah,
        utah_positive=state.utah_positive + cold.utah_positive,
        gdh_linear=add_up(state.gdh_linear, gdh_linear(c)),
        gdh_curvilinear=add_up(state.gdh_curvilinear, gdh_curvilinear(c)),
        portions=portions,
        x=x,
        after_frost=add_up(state.after_frost, gains * recent),
        last_frost=block.first_h + last_frost,
        portions_filled=portions_filled,
        x_filled=x_filled,
        last_c=block.last_c,
        open_h=block.open_h,
    )


def _with_gaps_filled(
    state: Accumulated,
    block: Block,
    portions: NDArray[np.float64],
    x: NDArray[np.float64],
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Portions and x of the upper figure: as those held where nothing was missing."""
    apart = block.missing.any(axis=0) | (state.portions_filled != state.portions)
    at = np.flatnonzero(apart | (state.x_filled != state.x))
    portions, x = portions.copy(), x.copy()
    if at.size:
        part = state.x_filled[at]
        c = np.where(block.missing[:, at], GAP_FILL_C, block.c[:, at])
        portions[at] = add_up(state.portions_filled[at], fix(c, part))
        x[at] = part
    return portions, x


LAYOUT = 1
"""Raised whenever a field changes, or a model: totals then have to be counted anew."""


def to_plain(state: Accumulated) -> dict[str, Any]:
    """The state as numbers, lists and text, ready for JSON."""
    arrays = {name: _listed(getattr(state, name)) for name in ARRAYS}
    head = {"layout": LAYOUT, "sensors": list(state.x.shape), "seen_h": state.seen_h}
    return {**head, **arrays}


def _listed(values: NDArray[Any]) -> list[Any]:
    return [None if value != value else value for value in values.ravel().tolist()]


def from_plain(plain: Mapping[str, Any]) -> Accumulated:
    """A state from to_plain; a ValueError if another version has written it."""
    if plain.get("layout") != LAYOUT:
        raise ValueError(
            f"The saved winter has layout {plain.get('layout')}, this version reads "
            f"{LAYOUT}: count it anew from its readings."
        )
    try:
        shape = tuple(plain["sensors"])
        arrays: dict[str, Any] = {
            name: np.array(
                [np.nan if value is None else value for value in plain[name]],
                np.int64 if name in INTEGERS else np.float64,
            ).reshape(shape)
            for name in ARRAYS
        }
        return Accumulated(seen_h=int(plain["seen_h"]), **arrays)
    except (KeyError, TypeError, ValueError) as error:
        raise ValueError(
            f"The saved winter is damaged ({error}): count it anew from its readings."
        ) from error
