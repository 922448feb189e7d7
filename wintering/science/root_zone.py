"""Temperature of a pot's root zone, from the air around it: lag, and the halt at 0 °C.

One node holds all the heat of the ball. Its enthalpy H [J], from liquid water at 0 °C
on, is above 0 while all is liquid, from 0 down to -L while ice forms, and below -L when
all is frozen; heat comes through wall, floor and surface:

    dH/dt = UA (T_air - T)       T = H / C_liquid  |  0  |  (H + L) / C_frozen

Within an hour of constant air this is solved exactly, phase by phase: nothing depends
on a step. Sun on the pot, a clear sky above it and evaporation are left out.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from wintering.science.pots import Pot
from wintering.science.root_ball import (
    FILM_STILL_WM2K,
    USUAL_WATER,
    Ball,
    ball_of,
    coast_h,
)
from wintering.science.series import DECIMALS, HOUR_S, Hourly

UNKNOWN_AIR_C = (-15.0, 25.0)
"""An hour without a temperature may have been as cold or as warm as this, or as the
extremes of the record if those are wider; so may all that came before the record: own
choice for a frame."""

KNOWN_WITHIN_K = 0.5
"""A temperature is called known once the coldest and the warmest past that are
possible lead to the same within this: own choice, the accuracy of common probes."""


@dataclass(frozen=True, eq=False)
class Courses:
    """What root zones did hour by hour; a row for each hour, a column for each ball.

    first_hour         number of the first hour since 1970-01-01 00:00 UTC
    low_c, high_c      mean temperature of the hour [°C], after the coldest and the
                       warmest past that the record allows
    ice_high, ice_low  share of the water that is ice at the hour's end, in the same
                       two cases
    """

    first_hour: int
    low_c: NDArray[np.float64]
    high_c: NDArray[np.float64]
    ice_high: NDArray[np.float64]
    ice_low: NDArray[np.float64]

    @property
    def c(self) -> NDArray[np.float64]:
        """Temperature where it is known within 0.5 K [°C]; else not a number."""
        known = self.high_c - self.low_c <= KNOWN_WITHIN_K
        return np.where(known, (self.low_c + self.high_c) / 2, np.nan)

    def hourly(self, ball: int) -> Hourly:
        """The known temperatures of one ball, as a probe would have logged them."""
        return Hourly.measured(self.first_hour, self.c[:, ball].round(DECIMALS))

    def plateau_h(self, ball: int) -> int:
        """Whole hours that a ball is known to have stood at 0 °C."""
        return int((self.hourly(ball).c == 0.0).sum())


def courses(
    air: Hourly, balls: Sequence[Ball], *, start_c: float | None = None
) -> Courses:
    """How root zones follow the air, each hour solved exactly.

    air      hourly means around the pots [°C]; not a number where missing
    start_c  temperature of the balls when the record begins, if one was measured (at
             0 °C: without ice). None: anything the record and UNKNOWN_AIR_C allow

    A ball forgets its past only with time, and a frozen one very slowly. So two pasts
    are followed, the coldest and the warmest possible; where an hour of air is missing
    one goes on with the coldest air, the other with the warmest. The truth lies between
    them, and where they agree the temperature is known. Hours loop, balls together.
    """
    b = _Arrays.of(balls)
    coldest = _least(air.c, UNKNOWN_AIR_C[0])
    warmest = -_least(-air.c, -UNKNOWN_AIR_C[1])
    first = (coldest, warmest) if start_c is None else (start_c, start_c)
    h = np.stack([b.enthalpy(c) for c in first])
    shape = (2, air.c.size, len(balls))
    c, ice = np.empty(shape), np.empty(shape)
    substitutes = np.array([[coldest], [warmest]])
    for hour, air_c in enumerate(air.c):
        around = substitutes if np.isnan(air_c) else np.array([[air_c], [air_c]])
        after = b.after(h, around, HOUR_S)
        # the heat that came in tells the mean difference, and so the mean, exactly
        c[:, hour] = around - (after - h) / (b.ua * HOUR_S)
        ice[:, hour] = b.ice(after)
        h = after
    return Courses(air.first_hour, c[0], c[1], ice[0], ice[1])


def _least(c: NDArray[np.float64], bound: float) -> float:
    return float(np.nanmin(np.append(c, bound)))


@dataclass(frozen=True, eq=False)
class _Arrays:
    """The balls side by side."""

    ua: NDArray[np.float64]
    latent: NDArray[np.float64]
    liquid: NDArray[np.float64]
    frozen: NDArray[np.float64]

    @classmethod
    def of(cls, balls: Sequence[Ball]) -> "_Arrays":
        rows = [(b.ua_wk, b.latent_j, b.liquid_jk, b.frozen_jk) for b in balls]
        return cls(*np.array(rows, dtype=np.float64).reshape(-1, 4).T)

    def enthalpy(self, c: float, ice: float = 0.0) -> NDArray[np.float64]:
        if c > 0:
            return self.liquid * c
        return self.frozen * c - self.latent * (ice if c == 0 else 1.0)

    def ice(self, h: NDArray[np.float64]) -> NDArray[np.float64]:
        formed = np.clip(-h, 0.0, self.latent)
        return formed / np.where(self.latent > 0, self.latent, 1.0)

    def after(
        self, h: NDArray[np.float64], air: NDArray[np.float64], seconds: float
    ) -> NDArray[np.float64]:
        """Enthalpies after a time of constant air: through three phases at most."""
        left = np.full(h.shape, seconds)
        for _ in range(3):
            h, rest = self._in_phase(h, air, left)
            if rest is None:
                break
            left = rest
        return h

    def _in_phase(
        self,
        h: NDArray[np.float64],
        air: NDArray[np.float64],
        left: NDArray[np.float64],
    ) -> tuple[NDArray[np.float64], NDArray[np.float64] | None]:
        """To the end of the phase or of the time left; and the time left after it."""
        freezing = air < 0
        liquid = (h > 0) | ((h == 0) & (air > 0))
        frozen = (h < -self.latent) | ((h == -self.latent) & freezing)
        halt = ~(liquid | frozen)
        # where the phase ends, and where it leads if it lasts
        edge = np.where(frozen | (halt & freezing), -self.latent, 0.0)
        heat = np.where(frozen, self.frozen, self.liquid)
        c = np.where(halt, 0.0, (h - edge) / heat)
        there = edge + heat * (air + (c - air) * np.exp(-self.ua * left / heat))
        then = np.where(halt, h + self.ua * air * left, there)
        beyond = np.where(liquid | (halt & freezing), then < edge, then > edge)
        if not beyond.any():
            return then, None
        with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
            needed = np.where(
                halt,
                (edge - h) / (self.ua * air),
                heat / self.ua * np.log((c - air) / -air),
            )
        rest = np.where(beyond, np.maximum(left - needed, 0.0), 0.0)
        return np.where(beyond, edge, then), rest


@dataclass(frozen=True, eq=False)
class RootEstimate:
    """Root zone of a pot between the ends of what is not known about it.

    low, high  coldest and warmest of the balls in each hour, as a whole; missing where
               one of them is not known
    rim        coldest of the mix at their walls, where the young roots are, or of the
               balls where the air warms the wall; missing as low, and without the air
    balls      the driest with the most film, the middle, the wettest with the least

    The ends are runs of the model, not bounds: what lies between them in water and
    film mostly lies between them in temperature.
    """

    low: Hourly
    high: Hourly
    rim: Hourly
    balls: tuple[Ball, ...]

    def coast_h(
        self, *, from_c: tuple[float, float], air_c: float, limit_c: float
    ) -> tuple[float, float]:
        """Hours until a limit is reached, at the rim at least, by the ball at most.

        from_c  coldest and warmest that the ball as a whole may be now [°C]; at 0 °C
                it may be frozen through, or not at all
        air_c   of air that stays as it is, below the limit

        The least rests on the mix at the wall, where the young roots are.
        """
        coldest_c, warmest_c = from_c
        at_rim = min(
            coast_h(
                ball,
                from_c=coldest_c,
                air_c=air_c,
                limit_c=ball.with_wall_at_c(limit_c, air_c=air_c),
                ice=1.0,
            )
            for ball in self.balls
        )
        return at_rim, max(
            coast_h(ball, from_c=warmest_c, air_c=air_c, limit_c=limit_c)
            for ball in self.balls
        )


def root_estimate(
    air: Hourly,
    pot: Pot,
    *,
    water: tuple[float, float] = USUAL_WATER,
    films_wm2k: tuple[float, float, float] = FILM_STILL_WM2K,
    wall_exposed: float = 1.0,
    floor_exposed: float = 1.0,
    mulch_cm: float = 0.0,
) -> RootEstimate:
    """The root zone of a pot from dry to wet, in air moving most to least.

    water       driest and wettest the ball may be, as shares of its volume
    films_wm2k  least, usual and most film coefficient [W/(m² K)]

    The rest as for `ball_of`, the missing hours as for `courses`.
    """
    dry, wet = water
    least, usual, most = films_wm2k
    balls = tuple(
        ball_of(
            pot,
            water=share,
            film_wm2k=film,
            wall_exposed=wall_exposed,
            floor_exposed=floor_exposed,
            mulch_cm=mulch_cm,
        )
        for share, film in ((dry, most), ((dry + wet) / 2, usual), (wet, least))
    )
    c = courses(air, balls).c
    at_wall = [ball.at_wall_c(c[:, n], air.c) for n, ball in enumerate(balls)]
    low, high = c.min(axis=1), c.max(axis=1)
    low, high, rim = (
        Hourly.measured(air.first_hour, each.round(DECIMALS))
        for each in (low, high, np.minimum(low, np.min(at_wall, axis=0)))
    )
    return RootEstimate(low=low, high=high, rim=rim, balls=balls)
