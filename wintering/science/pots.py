"""A pot's shape: how much it holds, and the areas through which it gives up heat."""

import math
from dataclasses import dataclass
from enum import StrEnum

CM_PER_M, CM3_PER_L = 100.0, 1000.0


class PotShape(StrEnum):
    """The outline of a pot seen from above."""

    RECTANGULAR = "rectangular"
    OVAL = "oval"
    ROUND = "round"


class PotMaterial(StrEnum):
    """What the wall is made of, as far as it matters for heat."""

    FIRED_CLAY = "fired clay"
    PLASTIC = "plastic"
    WOOD = "wood"


CONDUCTIVITY_WMK = {
    PotMaterial.FIRED_CLAY: 1.0,
    PotMaterial.PLASTIC: 0.22,
    PotMaterial.WOOD: 0.13,
}
"""Heat conductivity of the wall [W/(m K)]. Polypropylene 0.22 and softwood 0.13 (for
500 kg/m³): design values of EN ISO 10077-2:2003 and BS EN ISO 10456:2007. Fired clay
1.0: roofing tiles in the latter, from memory; the tables of others for fired clay and
brick run from 0.5 to 1.4. Wet wood conducts more than this."""

USUAL_WALL_CM = {
    PotMaterial.FIRED_CLAY: 0.8,
    PotMaterial.PLASTIC: 0.2,
    PotMaterial.WOOD: 2.0,
}
"""Where nobody measured the wall: own choice."""


@dataclass(frozen=True)
class Pot:
    """A pot with straight walls, filled to the rim; sizes are taken outside [cm].

    length_cm  the longer side seen from above, of a round pot its diameter
    width_cm   the shorter side, of a round pot its diameter again
    height_cm  from the floor's underside to the rim, without feet
    wall_cm    thickness of wall and floor

    Walls that lean, a heap of soil and a low rim are not described: a pot that narrows
    downwards by a tenth holds about a tenth less. An outline of another kind is best
    entered as the oval or rectangle that holds as much.
    """

    shape: PotShape
    length_cm: float
    width_cm: float
    height_cm: float
    wall_cm: float
    material: PotMaterial

    def __post_init__(self) -> None:
        sizes = (self.length_cm, self.width_cm, self.height_cm, self.wall_cm)
        if not all(math.isfinite(size) and size > 0 for size in sizes):
            raise ValueError(
                "A pot's length, width, height and wall are numbers above 0 cm."
            )
        if self.shape is PotShape.ROUND and self.length_cm != self.width_cm:
            raise ValueError(
                "A round pot is as long as it is wide: give its diameter twice, or "
                "call it oval."
            )
        inside = min(self.length_cm, self.width_cm) - 2 * self.wall_cm
        if inside <= 0 or self.height_cm <= self.wall_cm:
            raise ValueError(
                f"A wall of {self.wall_cm:g} cm leaves no room in this pot: give the "
                "outside sizes and the thickness of one wall, all in cm."
            )

    @property
    def soil_depth_cm(self) -> float:
        """From the floor inside to the rim."""
        return self.height_cm - self.wall_cm

    @property
    def volume_l(self) -> float:
        """What the pot holds, roots included [L]."""
        return self.top_m2 * CM_PER_M**2 * self.soil_depth_cm / CM3_PER_L

    @property
    def top_m2(self) -> float:
        """The open surface of the soil [m²]."""
        return self._outline_m2(self.length_cm - 2 * self.wall_cm, self._inner_width)

    @property
    def bottom_m2(self) -> float:
        """The floor outside [m²]."""
        return self._outline_m2(self.length_cm, self.width_cm)

    @property
    def wall_m2(self) -> float:
        """The wall outside, all around [m²]."""
        around = (
            2 * (self.length_cm + self.width_cm)
            if self.shape is PotShape.RECTANGULAR
            else _around_ellipse(self.length_cm / 2, self.width_cm / 2)
        )
        return around * self.height_cm / CM_PER_M**2

    @property
    def wall_conductance_wm2k(self) -> float:
        """Heat that the bare wall lets through [W/(m² K)]."""
        return CONDUCTIVITY_WMK[self.material] * CM_PER_M / self.wall_cm

    @property
    def _inner_width(self) -> float:
        return self.width_cm - 2 * self.wall_cm

    def _outline_m2(self, length_cm: float, width_cm: float) -> float:
        part = 1.0 if self.shape is PotShape.RECTANGULAR else math.pi / 4
        return part * length_cm * width_cm / CM_PER_M**2


def _around_ellipse(a: float, b: float) -> float:
    """Ramanujan's approximation of 1914 (from memory), exact for a circle.

    Within 0.5 % even for an outline eight times as long as it is wide.
    """
    return math.pi * (3 * (a + b) - math.sqrt((3 * a + b) * (a + 3 * b)))
