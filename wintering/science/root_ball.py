"""A root ball as a store of heat: what it holds, how fast it goes, how long it lasts.

All the water is taken to freeze at 0 °C. In truth some stays liquid a few degrees
below, so the halt at 0 °C is somewhat shorter than said here. The heat of the pot's own
wall is left out, which is cautious.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from wintering.science.pots import CM_PER_M, Pot
from wintering.science.series import HOUR_S

FUSION_JKG = 334_000.0
WATER_JKGK, ICE_JKGK = 4186.0, 2100.0
"""Heat of fusion of ice, and heat capacity of water and of ice near 0 °C: handbook
values, from memory. A litre of water weighs 1 kg here."""

SOLIDS_JLK = 500.0
"""Heat capacity of a litre of dry mix with its air [J/(L K)]: own choice between about
300 for bark or peat and 700 for mineral grit. At 40 % water the ball then has 2.2 kJ
in a litre and kelvin; moist potting mix has 2.2 to 2.9, from memory."""

FILM_STILL_WM2K = (6.0, 8.0, 10.0)
"""Film coefficient of a pot in the still air of a frame, least, usual and most: own
choice within the surface resistances 0.17, 0.13 and 0.10 m² K/W that ISO 6946 uses
indoors (from memory)."""

FILM_OUTSIDE_WM2K = (12.5, 16.7, 33.0)
"""Outside: sheltered, normal and severe exposure of walls, surface resistances 0.08,
0.06 and 0.03 m² K/W in table A3.6 of CIBSE Guide A."""

MULCH_WMK = 0.074
"""Bark, 25 °C, in a handbook table of non-metallic solids; wet mulch insulates less."""

DRY_MIX_WMK, MIX_WMK_PER_WATER = 0.05, 0.5
"""Conductivity of peat substrate: 0.05 air-dry to 0.5 W/(m K) near saturation
(Heiskanen 2000, Suo, suo.fi/article/9787), taken as a straight line in the water
content. A mineral mix conducts more, up to 1.5 in the same study."""

SLAB = 3.0
"""From the middle of a slab that cools evenly to its face the mean lies a third of its
half thickness inside: textbook conduction, from memory. A pot is likened to a slab of
its volume over its open area."""

USUAL_WATER = (0.15, 0.40)
"""Share of water in a pot that waits for water, and in one just watered: own choice.
Substrates hold from 0.08 (grit) to 0.87 (peat) of their volume when drained."""


@dataclass(frozen=True)
class Ball:
    """A root ball with its water, and how easily heat gets in and out.

    volume_l    roots, mix and air together [L]
    water       share of the volume that is water, 0 to 1
    ua_wk       heat flow for each kelvin between ball and air [W/K]
    edge_share  how far the mix at the wall lies from the ball's mean temperature
                towards the air, 0 to 1
    biot        resistance inside over resistance outside; above 0.1 (textbook rule,
                from memory), as in most pots, the ball has no single temperature, and
                roots at the wall see more cold than its mean
    """

    volume_l: float
    water: float
    ua_wk: float
    edge_share: float = 0.0
    biot: float = 0.0

    def __post_init__(self) -> None:
        if not (self.volume_l > 0 and self.ua_wk > 0):
            raise ValueError("A root ball has a volume, and heat flows through it.")
        if not 0.0 <= self.water <= 1.0:
            raise ValueError(
                f"A water content of {self.water:g} is not a share of the volume: give "
                "a number from 0 (dry) to 1."
            )

    @property
    def latent_j(self) -> float:
        """Heat given up while all the water freezes [J]."""
        return self.volume_l * self.water * FUSION_JKG

    @property
    def liquid_jk(self) -> float:
        """Heat capacity with the water liquid [J/K]."""
        return self.volume_l * (SOLIDS_JLK + self.water * WATER_JKGK)

    @property
    def frozen_jk(self) -> float:
        """Heat capacity with all the water frozen [J/K]."""
        return self.volume_l * (SOLIDS_JLK + self.water * ICE_JKGK)

    @property
    def time_constant_h(self) -> float:
        """Hours in which 63 % of a change of the air arrives, above 0 °C."""
        return self.liquid_jk / self.ua_wk / HOUR_S

    @property
    def frozen_time_constant_h(self) -> float:
        """The same below 0 °C, where it is shorter."""
        return self.frozen_jk / self.ua_wk / HOUR_S

    def at_wall_c(
        self, c: NDArray[np.float64], air_c: NDArray[np.float64]
    ) -> NDArray[np.float64]:
        """The mix at the wall [°C], where the young roots are, in a steady flow.

        c, air_c  mean temperature of the ball, and of the air

        While the ball as a whole halts at 0 °C, ice forms from the wall inwards, and
        the mix there falls from 0 °C towards this.
        """
        return c + self.edge_share * (air_c - c)

    def with_wall_at_c(self, wall_c: float, *, air_c: float) -> float:
        """Mean temperature of the ball at which the mix at the wall has that one [°C].

        The other way round of `at_wall_c`, as early: cautious while ice forms.
        """
        return air_c + (wall_c - air_c) / (1.0 - self.edge_share)


def ball_of(
    pot: Pot,
    *,
    water: float,
    film_wm2k: float = FILM_STILL_WM2K[1],
    wall_exposed: float = 1.0,
    floor_exposed: float = 1.0,
    mulch_cm: float = 0.0,
) -> Ball:
    """The ball in a pot that stands in a certain way.

    water          share of the volume that is water, 0 to 1
    film_wm2k      film coefficient of the air [W/(m² K)], see FILM_STILL_WM2K
    wall_exposed   share of the wall that meets the air, 0 to 1: less among other pots
                   or plunged. What is covered passes no heat, which is exact among pots
                   alike, and cautious where warmer ground lies behind
    floor_exposed  share of the floor that meets the air, 0 on a board or the ground
    mulch_cm       thickness of the mulch on the surface [cm]

    Wall, film and mulch lie in series. Within the ball the way from its mean
    temperature to its edge adds the resistance of a third of volume over area.
    """
    shares = (wall_exposed, floor_exposed)
    if not all(0.0 <= share <= 1.0 for share in shares) or not mulch_cm >= 0:
        raise ValueError("Exposed shares run from 0 to 1, and mulch from 0 cm up.")
    sides_m2 = wall_exposed * pot.wall_m2 + floor_exposed * pot.bottom_m2
    film = 1.0 / film_wm2k
    through_sides = sides_m2 / (film + 1.0 / pot.wall_conductance_wm2k)
    through_top = pot.top_m2 / (film + mulch_cm / CM_PER_M / MULCH_WMK)
    outside_kw = 1.0 / (through_sides + through_top)
    area_m2 = sides_m2 + pot.top_m2
    depth_m = pot.volume_l / 1000.0 / area_m2
    mix_wmk = DRY_MIX_WMK + MIX_WMK_PER_WATER * water
    inside_kw = depth_m / SLAB / mix_wmk / area_m2
    return Ball(
        volume_l=pot.volume_l,
        water=water,
        ua_wk=1.0 / (outside_kw + inside_kw),
        edge_share=inside_kw / (outside_kw + inside_kw),
        biot=depth_m / mix_wmk / area_m2 / outside_kw,
    )


def coast_h(
    ball: Ball, *, from_c: float, air_c: float, limit_c: float, ice: float = 0.0
) -> float:
    """Hours until a ball has cooled to a limit in air of constant temperature.

    ice  share of the water that is frozen already, 0 to 1; counts only at 0 °C

    0 if the limit is reached now, infinite if such air never takes it there. For a
    limit below 0 °C the halt while the water freezes is part of the time.
    """
    if from_c <= limit_c:
        return 0.0
    if air_c >= limit_c:
        return float("inf")
    hours = 0.0
    if from_c > 0:
        hours += _cooling_h(ball.time_constant_h, from_c, max(limit_c, 0.0), air_c)
        ice = 0.0
    if limit_c < 0:
        if from_c >= 0:
            hours += (1.0 - ice) * plateau_h(ball, air_c=air_c)
        constant_h = ball.frozen_time_constant_h
        hours += _cooling_h(constant_h, min(from_c, 0.0), limit_c, air_c)
    return hours


def _cooling_h(constant_h: float, from_c: float, to_c: float, air_c: float) -> float:
    return constant_h * float(np.log((from_c - air_c) / (to_c - air_c)))


def plateau_h(ball: Ball, *, air_c: float) -> float:
    """Hours at 0 °C until all the water is frozen, or thawed, in constant air."""
    if ball.latent_j == 0:
        return 0.0
    return ball.latent_j / (ball.ua_wk * abs(air_c)) / HOUR_S if air_c else float("inf")
