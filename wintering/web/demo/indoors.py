"""The invented winter inside: the frame's heat balance, and pots that freeze."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from wintering.web.demo.shaping import (
    MONTHS,
    STEP,
    STEPS,
    Pull,
    Series,
    bent,
    hours_of_day,
    monthly_means,
    pulled,
    step_of,
    through_months,
    told,
)

# October to April [°C]. October is not in the story; January's root zone (0.1 there) is
# raised by the mild spell that is put in here.
AIR_MEAN_C = (9.0, 4.0, 1.6, 0.9, 2.1, 4.4, 8.1)
ROOT_MEAN_C = (8.3, 3.4, 1.2, 0.3, 1.0, 3.3, 7.0)
GROUND_MEAN_C = (10.6, 8.6, 6.3, 4.6, 3.6, 3.4, 4.5)

# Heat loss without and with the night blanket and the heat that air, pots and soil
# hold: time constants of about 10 h bare and 15 h covered.
LOSS_BARE_W_K = 40.0
LOSS_COVERED_W_K = 28.0
LOSS_VENTED_W_K = 260.0
CAPACITY_J_K = 1.5e6
HEATER_W = 800.0
HEATER_ON_BELOW_C = 0.2
VENTS_START_C = 8.0
SUN_AT_NOON_W = 900.0
GROUND_W = (160.0, 190.0, 200.0, 160.0, 110.0, 80.0, 60.0)

POWER_CUT = slice(step_of(1, 21, 2, 10), step_of(1, 21, 8, 35))
BLANKET_OFF = slice(step_of(1, 18, 11), step_of(1, 20, 20, 15))
# Three sunny days with the vents iced shut, put in to stir the trees that wake first;
# then the leaking piston of the story.
AIR_EVENTS = (
    Pull(step_of(1, 10, 13, 30), 8.8, 9.5),
    Pull(step_of(1, 11, 13, 30), 9.8, 9.5),
    Pull(step_of(1, 12, 13), 8.8, 9.5),
    Pull(step_of(2, 25, 13, 20), 14.6, 1.6),
)

# The freeze of late January as told, hour by hour [°C].
AIR_FREEZE = (
    (step_of(1, 19, 20), 0.2),
    (step_of(1, 20, 7), -0.9),
    (step_of(1, 20, 12), 0.6),
    (step_of(1, 20, 16), -0.6),
    (step_of(1, 20, 18, 50), -1.9),
    (step_of(1, 20, 19, 40), -2.4),
    (step_of(1, 20, 20, 15), -2.5),
    (step_of(1, 20, 22), -1.7),
    (step_of(1, 21, 2, 10), -1.9),
    (step_of(1, 21, 8, 5), -8.0),
    (step_of(1, 21, 8, 35), -7.6),
    (step_of(1, 21, 9, 20), -4.6),
    (step_of(1, 21, 11), -1.0),
    (step_of(1, 21, 14), 1.6),
    (step_of(1, 21, 18), 0.6),
    (step_of(1, 22, 7), -0.3),
    (step_of(1, 22, 14), 1.8),
    (step_of(1, 23, 7), 0.1),
    (step_of(1, 23, 14), 1.4),
)
ROOT_FREEZE = (
    (step_of(1, 16, 12), 0.3),
    (step_of(1, 18, 18), 0.3),
    (step_of(1, 18, 21), 0.0),
    (step_of(1, 20, 18, 50), 0.0),
    (step_of(1, 20, 19, 40), -0.4),
    (step_of(1, 20, 20, 15), -0.7),
    (step_of(1, 20, 21, 30), -0.6),
    (step_of(1, 21, 2, 10), -0.6),
    (step_of(1, 21, 5), -1.9),
    (step_of(1, 21, 8, 5), -2.9),
    (step_of(1, 21, 9, 20), -2.6),
    (step_of(1, 21, 11), -1.3),
    (step_of(1, 21, 14), -0.2),
    (step_of(1, 21, 15), 0.0),
    (step_of(1, 28, 0), 0.0),
)


@dataclass(frozen=True, slots=True)
class RootBall:
    """Heat capacity, heat of freezing and surface loss of a potful of moist mix."""

    capacity_j_k: float
    freezing_j: float
    loss_w_k: float


# 0.4 L and 11 L, about a third of it water that gives up 334 kJ/kg.
SMALL_POT = RootBall(1_050.0, 42_000.0, 0.30)
LARGE_POT = RootBall(27_000.0, 1_100_000.0, 1.9)


def reference_air_c(outside: Series, sun: Series) -> Series:
    """Air at the reference place, its gains tuned until the monthly means fit."""
    gain_w = np.zeros(len(MONTHS))
    air = outside
    for _ in range(9):
        air = _as_told(_balance(outside, sun, through_months(gain_w)))
        gain_w += 42.0 * (np.asarray(AIR_MEAN_C) - monthly_means(air))
    return air


def _as_told(air: Series) -> Series:
    return told(pulled(air, AIR_EVENTS), AIR_FREEZE)


def _balance(outside: Series, sun: Series, gain_w: Series) -> Series:
    """Step the frame's heat balance through the winter."""
    gains = gain_w + through_months(GROUND_W) + SUN_AT_NOON_W * sun
    has_power = np.ones(STEPS, dtype=bool)
    has_power[POWER_CUT] = False
    air, share_k_w = float(outside[0]) + 2.0, STEP.total_seconds() / CAPACITY_J_K
    series = np.empty(STEPS)
    columns = (outside, _loss_w_k(outside), gains, has_power)
    rows = zip(*(column.tolist() for column in columns), strict=True)
    for number, (around, loss_w_k, gain, powered) in enumerate(rows):
        heater = HEATER_W if powered and air < HEATER_ON_BELOW_C else 0.0
        vented = LOSS_VENTED_W_K if VENTS_START_C < air > around else 0.0
        air += (gain + heater + (loss_w_k + vented) * (around - air)) * share_k_w
        series[number] = air
    return series


def _loss_w_k(outside: Series) -> Series:
    """The blanket lies on cold nights, and on every night from December."""
    hour = hours_of_day()
    covered = (hour < 8) | (hour > 16)
    covered &= (outside < 2.0) | (np.arange(STEPS) > step_of(12, 1, 0))
    covered[BLANKET_OFF] = False
    return np.where(covered, LOSS_COVERED_W_K, LOSS_BARE_W_K)


def elsewhere_c(air: Series, sun: Series, *, night_k: float, day_k: float) -> Series:
    """Air at another place: its night offset, and its difference in full sun.

    A shaded place stays behind only where the sun warms the reference at all.
    """
    lit = np.clip(sun, 0, 1)
    if day_k < night_k:
        lit = lit * np.clip((air - 1.0) / 5.0, 0, 1)
    return air + night_k + (day_k - night_k) * lit


def root_ball_c(around: Series, ball: RootBall) -> Series:
    """A root zone following its air, held at 0 °C while its water freezes or melts."""
    step_s = STEP.total_seconds() / 4
    series = np.empty(around.size)
    heat_j = float(around[0]) * ball.capacity_j_k
    for number, air in enumerate(around.tolist()):
        for _ in range(4):
            if heat_j >= 0:
                root = heat_j / ball.capacity_j_k
            else:
                root = min(0.0, (heat_j + ball.freezing_j) / ball.capacity_j_k)
            heat_j += ball.loss_w_k * (air - root) * step_s
        series[number] = root
    return series


def sacrificial_root_c(around: Series, means: Sequence[float] = ROOT_MEAN_C) -> Series:
    """The small pot at the coldest place, its place tuned until the means fit."""
    shift = np.zeros(len(MONTHS))
    root = told(root_ball_c(around, SMALL_POT), ROOT_FREEZE)
    for _ in range(5):
        shift += np.asarray(means) - monthly_means(root)
        root = root_ball_c(around + through_months(shift), SMALL_POT)
        root = told(root, ROOT_FREEZE)
    return root


def ground_c() -> Series:
    return bent(through_months(GROUND_MEAN_C), GROUND_MEAN_C)
