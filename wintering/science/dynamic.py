"""The Dynamic model of chill: portions, fixed in two steps.

Cold forms an intermediate x, warmth destroys it again; once x has reached 1 at the end
of an hour, a share of it is fixed as chill that nothing can undo. Fishman, Erez &
Couvillon 1987, J. Theor. Biol. 124:473-483 and 126:309-321; hourly form Erez et al.
1990, Acta Hort. 276:165-174; constants Erez & Fishman 1998, Acta Hort. 465:507-510
(papers not seen, equations and constants from memory).

The step of one hour is part of the model: testing x more often gives another one.
"""

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
    if state is None:
        state = _fresh(temperature.shape[1:], hold_in_frost)
    if state.hold_in_frost != hold_in_frost:
        raise ValueError("A run goes on in the variant it was begun in.")
    if state.x.shape != temperature.shape[1:]:
        raise ValueError(
            f"The state is for {state.x.shape}, the hours for {temperature.shape[1:]}."
        )
    gains, x = _run(temperature, state.x, hold_in_frost)
    after_frost, since_frost_h = _after_frost(temperature, gains, state)
    total = _running(state.total, gains)
    end = PortionState(x, total[-1], after_frost, since_frost_h, hold_in_frost)
    return Portions(total[1:], end)


def _fresh(shape: tuple[int, ...], hold_in_frost: bool) -> PortionState:
    none = np.zeros(shape)
    long_ago = np.full(shape, AFTER_FROST_H, dtype=np.int64)
    return PortionState(none, none, none, long_ago, hold_in_frost)


def _run(
    c: NDArray[np.float64], x: NDArray[np.float64], hold_in_frost: bool
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Portions fixed in each hour, and x at the end."""
    held = np.isnan(c)
    if not np.all(held | ((c >= COLDEST_C) & (c <= WARMEST_C))):
        raise ValueError(
            f"The Dynamic model holds from {COLDEST_C:.0f} to {WARMEST_C:.0f} °C: "
            "set aside readings outside of that first."
        )
    if hold_in_frost:
        held = held | (c < FROST_C)
    formed, destroyed = rates_per_h(np.where(held, 0.0, c))
    kept = np.where(held, 1.0, np.exp(-destroyed))
    grown = np.where(held, 0.0, -np.expm1(-destroyed) * formed / destroyed)
    share = np.where(held, 0.0, fixed_share(np.where(held, 0.0, c)))
    gains = np.empty(c.shape)
    x, gain = x.copy(), np.empty(x.shape)
    for hour in range(c.shape[0]):
        np.multiply(x, kept[hour], out=x)
        np.add(x, grown[hour], out=x)
        np.multiply(x, share[hour], out=gain)
        np.multiply(gain, x >= 1.0, out=gain)
        np.subtract(x, gain, out=x)
        gains[hour] = gain
    return gains, x


def _running(
    start: NDArray[np.float64], gains: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Running sums behind the start, in order: a resumed run gives the same bits."""
    return np.cumsum(np.concatenate([start[np.newaxis], gains]), axis=0)


def _after_frost(
    c: NDArray[np.float64], gains: NDArray[np.float64], state: PortionState
) -> tuple[NDArray[np.float64], NDArray[np.int64]]:
    hours = c.shape[0]
    hour = np.arange(hours, dtype=np.int64).reshape(-1, *(1,) * (c.ndim - 1))
    long_ago = -1 - state.since_frost_h[np.newaxis]
    frosts = np.concatenate([long_ago, np.where(c < FROST_C, hour, -AFTER_FROST_H - 1)])
    last = np.maximum.accumulate(frosts, axis=0)
    recent = hour - last[:-1] <= AFTER_FROST_H
    total = _running(state.after_frost, np.where(recent, gains, 0.0))[-1]
    return total, np.minimum(hours - 1 - last[-1], AFTER_FROST_H)
