"""The Dynamic model of chill: portions, fixed in two steps.

Cold forms an intermediate x, warmth destroys it again; once x has reached 1 at the end
of an hour, a share of it is fixed as chill that nothing can undo. Fishman, Erez &
Couvillon 1987, J. Theor. Biol. 124:473-483 and 126:309-321; hourly form Erez et al.
1990, Acta Hort. 276:165-174; constants Erez & Fishman 1998, Acta Hort. 465:507-510
(papers not seen, equations and constants from memory).

The step of one hour is part of the model: testing x more often gives another one.
"""

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

KELVIN_OFFSET = 273.0
"""Not 273.15: the constants belong to this one, which makes 277 K exactly 4 °C."""

E0_K, E1_K = 4153.5, 12888.8
"""Activation energies over the gas constant, of forming and destroying x [K]."""

A0_PER_H, A1_PER_H = 139_500.0, 2.567e18
"""Rates of forming and destroying x at boundless temperature [1/h]."""

SLOPE, HALF_FIXED_K = 1.6, 277.0
"""Steepness of the fixed share, and the temperature at which it is one half [K]."""

COLDEST_C, WARMEST_C = -60.0, 70.0
"""Beyond these the equations are refused; within them double precision holds."""

FROST_C = -2.0
"""Below this x grows though nothing was calibrated there: own choice, the cold end of
the published range of effect (DPIRD Western Australia: zero at -2 and 14 °C)."""

AFTER_FROST_H = 24

GAP_FILL_C = 6.0
"""A gap filled at this, near the best temperature, gives the most portions that it can
have held: own choice."""

BLOCK_VALUES, BLOCK_HOURS = 32_000, 240
"""Hours are worked through so many values at a time, a quarter of a megabyte each
array: own choice, so that what one step leaves is still in the cache at the next."""


@dataclass(frozen=True, eq=False)
class PortionState:
    """Where a run of the model stands; give it back to go on from there.

    x              intermediate, not yet fixed, can still be lost
    total          portions fixed so far
    after_frost    of these, fixed in the 24 h after an hour below -2 °C
    since_frost_h  hours since the last hour below -2 °C, at most 24
    hold_in_frost  which variant was run
    """

    x: NDArray[np.float64]
    total: NDArray[np.float64]
    after_frost: NDArray[np.float64]
    since_frost_h: NDArray[np.int64]
    hold_in_frost: bool


@dataclass(frozen=True, eq=False)
class Portions:
    """Result of the Dynamic model.

    total                 portions at the end of each hour, (hours, ...)
    state                 to go on from
    released_after_frost  portions fixed in the 24 h after an hour below -2 °C, (...)
    """

    total: NDArray[np.float64]
    state: PortionState

    @property
    def released_after_frost(self) -> NDArray[np.float64]:
        return self.state.after_frost


def rates_per_h(c: ArrayLike) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Rates at which x forms and is destroyed at a temperature in °C [1/h]."""
    kelvin = np.asarray(c, dtype=np.float64) + KELVIN_OFFSET
    return A0_PER_H * np.exp(-E0_K / kelvin), A1_PER_H * np.exp(-E1_K / kelvin)


def fixed_share(c: ArrayLike) -> NDArray[np.float64]:
    """Share of x that an hour at a temperature in °C fixes, if x has reached 1."""
    kelvin = np.asarray(c, dtype=np.float64) + KELVIN_OFFSET
    steepness = SLOPE * HALF_FIXED_K * (kelvin - HALF_FIXED_K) / kelvin
    share: NDArray[np.float64] = 1.0 / (1.0 + np.exp(-steepness))
    return share


def portions(
    c: ArrayLike, state: PortionState | None = None, *, hold_in_frost: bool = False
) -> Portions:
    """Chill portions accumulated hour by hour.

    c              hourly temperature [°C], hours along the first axis, any axes after
                   it (sensors, say); at a missing hour x is held and nothing is fixed
    state          a state to go on from; None starts with nothing
    hold_in_frost  the conservative variant: x is also held below -2 °C. Its total is
                   another quantity and is never to be mixed with the published one

    Refuses temperatures outside -60 to 70 °C. In frost the published model fills x far
    above what was ever measured (240 h at -8 °C, then one hour at 5 °C: 3.4 portions),
    hence released_after_frost beside the total.
    """
    temperature = np.asarray(c, dtype=np.float64)
    sensors = temperature.shape[1:]
    if state is None:
        state = _fresh(sensors, hold_in_frost)
    if state.hold_in_frost != hold_in_frost:
        raise ValueError("A run goes on in the variant it was begun in.")
    if state.x.shape != sensors:
        raise ValueError(f"The state is for {state.x.shape}, the hours for {sensors}.")
    c = flat(temperature)
    x, gains = state.x.flatten(), np.empty(c.shape)
    for hours in blocks(c):
        gains[hours] = fix(c[hours], x, hold_in_frost=hold_in_frost)
    recent, last_frost = after_frost(c, -1 - state.since_frost_h.ravel())
    released = add_up(state.after_frost.ravel(), gains * recent)
    since_frost_h = np.minimum(len(c) - 1 - last_frost, AFTER_FROST_H)
    running = np.vstack([state.total.ravel(), gains])
    total = np.cumsum(running, axis=0, out=running).reshape(len(running), *sensors)
    end = PortionState(
        x.reshape(sensors),
        running[-1].reshape(sensors).copy(),
        released.reshape(sensors),
        since_frost_h.reshape(sensors),
        hold_in_frost,
    )
    return Portions(total[1:], end)


def _fresh(shape: tuple[int, ...], hold_in_frost: bool) -> PortionState:
    none = np.zeros(shape)
    long_ago = np.full(shape, AFTER_FROST_H, dtype=np.int64)
    return PortionState(none, none, none, long_ago, hold_in_frost)


def flat(c: NDArray[np.float64]) -> NDArray[np.float64]:
    """Hours of any sensors as (hours, sensors)."""
    return c.reshape(len(c), math.prod(c.shape[1:]))


def blocks(c: NDArray[np.float64]) -> Iterator[slice]:
    """Cuts hours into blocks that stay in the processor's cache."""
    hours = min(max(BLOCK_VALUES // max(c.shape[1], 1), 1), BLOCK_HOURS)
    return (slice(start, start + hours) for start in range(0, len(c), hours))


def add_up(
    start: NDArray[np.float64], amounts: NDArray[np.float64]
) -> NDArray[np.float64]:
    """A running total behind a start, (sensors,), from amounts (hours, sensors).

    Hour by hour in order, so that a resumed run gives the same bits. NumPy's sum keeps
    that order except along the fastest axis in memory, where a lone sensor's hours lie.
    """
    rows = np.vstack([start, amounts])
    if len(start) == 1:
        rows = np.cumsum(rows, axis=0)[-1:]
    total: NDArray[np.float64] = np.add.reduce(rows, axis=0)
    return total


def fix(
    c: NDArray[np.float64], x: NDArray[np.float64], *, hold_in_frost: bool = False
) -> NDArray[np.float64]:
    """Portions fixed in each hour of a block, (hours, sensors).

    c  hourly temperature [°C], (hours, sensors); at a missing hour x is held
    x  intermediate before the block, (sensors,); brought forward in place to its end
    """
    gains = np.empty(c.shape)
    terms = _terms(c, hold_in_frost)
    for left, grown, share, gain in zip(*terms, gains, strict=True):
        x *= left
        x += grown
        np.multiply(x, share, out=gain)
        gain *= x >= 1.0
        x -= gain
    return gains


def _terms(
    c: NDArray[np.float64], hold_in_frost: bool
) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64]]:
    """Of each hour: the share of x left, what grows in it, the share fixed at its end.

    What rates_per_h and fixed_share say, with one division by the temperature and one
    exponential for both rates' quotient, at which x would settle.
    """
    _refuse_beyond_range(c)
    per_kelvin = 1.0 / (c + KELVIN_OFFSET)
    left = np.exp(-E1_K * per_kelvin)  # in place from here on: half the time
    left *= -A1_PER_H
    np.expm1(left, out=left)
    grown = np.exp((E1_K - E0_K) * per_kelvin)
    grown *= -A0_PER_H / A1_PER_H
    grown *= left
    left += 1.0
    share = SLOPE * HALF_FIXED_K**2 * per_kelvin
    share -= SLOPE * HALF_FIXED_K
    np.exp(share, out=share)
    share += 1.0
    np.divide(1.0, share, out=share)
    held = np.isnan(c)
    if hold_in_frost:
        held |= c < FROST_C
    if held.any():
        left[held], grown[held], share[held] = 1.0, 0.0, 0.0
    return left, grown, share


def _refuse_beyond_range(c: NDArray[np.float64]) -> None:
    if c.size and (
        np.fmin.reduce(c, None) < COLDEST_C or np.fmax.reduce(c, None) > WARMEST_C
    ):
        raise ValueError(
            f"The Dynamic model holds from {COLDEST_C:.0f} to {WARMEST_C:.0f} °C: "
            "set aside readings outside of that first."
        )


def after_frost(
    c: NDArray[np.float64], last_frost: NDArray[np.int64]
) -> tuple[NDArray[np.bool_], NDArray[np.int64]]:
    """Which hours follow within 24 h on one below -2 °C, and the last hour below it.

    c           hourly temperature [°C], (hours, sensors)
    last_frost  the last such hour so far, (sensors,), counted from the first hour of
                c, so usually negative; one earlier than -24 has no effect
    """
    frost = np.zeros((AFTER_FROST_H + len(c), c.shape[1]), dtype=bool)
    np.less(c, FROST_C, out=frost[AFTER_FROST_H:])
    near = np.flatnonzero(last_frost >= -AFTER_FROST_H)
    frost[AFTER_FROST_H + last_frost[near], near] = True
    row = np.arange(1, len(frost) + 1).astype(np.min_scalar_type(len(frost)))
    latest = np.maximum.reduce(frost * row[:, np.newaxis], axis=0).astype(np.int64)
    last = np.where(latest, latest - AFTER_FROST_H - 1, last_frost)
    for reach in (1, 2, 4, 8, 8):  # so each hour spreads to 2, 4, 8, 16, then 24
        frost[reach:] |= frost[:-reach]
    return frost[AFTER_FROST_H - 1 : -1], last
