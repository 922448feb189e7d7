"""One factor for each tree: how fast it really dries against what was reckoned.

Belief about ln(factor) is a normal distribution. Weighings and the keeper's words
narrow it, time widens it. Nothing is stored but what was found: the belief is computed
anew from the whole history.
"""

import math
from dataclasses import dataclass
from statistics import NormalDist

import numpy as np
from numpy.typing import NDArray

MODEL_SD = 0.15
"""What one interval differs from the tree's own pace [ln]: own choice."""

SOFTNESS = 0.12
"""How blurred the border between two words is [share of the available water]: own
choice."""

SLIP = 0.01
"""Each word keeps this much likelihood whatever the model says, so that a slip of the
pen cannot break the belief; the rest counts 0.97. Own choice."""

GRID, REACH_SD = 401, 4.0

GROWTH_A_WEEK = 0.01
"""By how much variance grows while nothing is learned: own choice."""

CHANGE_SD = 0.35
"""After leaf fall, bud swell or a move the belief is at least so wide: own choice."""

GAP_SD = 0.2
"""Added after more than 48 hours without readings: own choice."""

AVERAGE_WEIGHT = 0.3
"""Of a new weighing in the plain running average: own choice."""


Shares = tuple[float, float]
"""Between which shares of the available water gone a word lies."""

MOIST: Shares = (-math.inf, 0.35)
CHECK: Shares = (0.35, 0.65)
DRY: Shares = (0.65, math.inf)
NOT_DRY: Shares = (-math.inf, 0.65)
"""What a keeper's word says of a pot: own choice."""


@dataclass(frozen=True)
class Belief:
    """What is believed of ln(factor): its mean and standard deviation."""

    mean: float
    sd: float

    @property
    def likely(self) -> float:
        """The median factor."""
        return math.exp(self.mean)

    def factor(self, quantile: float) -> float:
        """The factor that reality stays below with that probability, 0 to 1.

        The scatter of single intervals is part of it.
        """
        spread = math.hypot(self.sd, MODEL_SD)
        return math.exp(self.mean + NormalDist().inv_cdf(quantile) * spread)


def weighed(
    belief: Belief, reckoned_kg: float, lost_kg: float, lost_sd_kg: float
) -> Belief:
    """The belief after a pot was weighed twice without water in between.

    reckoned_kg  loss reckoned with a factor of 1, above 0
    lost_kg      loss that the scale found
    lost_sd_kg   standard deviation of that difference: of one weighing times 1.41

    A loss that is not twice as large as what the scale scatters says nothing and
    changes nothing; nor does a gain, of which the keeper is to be asked.
    """
    if reckoned_kg <= 0 or lost_kg <= 2 * lost_sd_kg / math.sqrt(2):
        return belief
    variance = (lost_sd_kg / lost_kg) ** 2 + MODEL_SD**2
    weight_old, weight_new = 1 / belief.sd**2, 1 / variance
    total = weight_old + weight_new
    seen = math.log(lost_kg / reckoned_kg)
    mean = (weight_old * belief.mean + weight_new * seen) / total
    return Belief(mean, math.sqrt(1 / total))


def found(belief: Belief, reckoned: float, what: Shares) -> Belief:
    """The belief after the keeper felt the pot.

    reckoned  share of the available water gone with a factor of 1, not below 0
    what      MOIST, CHECK, DRY or NOT_DRY

    Ordered probit on a grid of 401 points within 4 standard deviations; mean and
    standard deviation are kept.
    """
    ln = belief.mean + np.linspace(-REACH_SD, REACH_SD, GRID) * belief.sd
    gone = np.exp(ln) * reckoned
    low, high = what
    likely = _below((high - gone) / SOFTNESS) - _below((low - gone) / SOFTNESS)
    prior = np.exp(-0.5 * ((ln - belief.mean) / belief.sd) ** 2)
    weight = prior * (0.97 * likely + SLIP)
    weight /= weight.sum()
    mean = float(weight @ ln)
    return Belief(mean, math.sqrt(float(weight @ (ln - mean) ** 2)))


def _below(z: NDArray[np.float64]) -> NDArray[np.float64]:
    """Normal distribution function, right to 1.5e-7.

    Abramowitz & Stegun 1964, 7.1.26; from memory, held against SciPy in the tests.
    """
    x = np.abs(z) / math.sqrt(2)
    t = 1 / (1 + 0.3275911 * x)
    terms = (1.061405429, -1.453152027, 1.421413741, -0.284496736, 0.254829592, 0.0)
    half = 0.5 * np.polyval(terms, t) * np.exp(-(x**2))
    return np.asarray(np.where(z > 0, 1 - half, half))


def aged(belief: Belief, days: float, widest_sd: float) -> Belief:
    """The belief after days in which nothing was learned, at most widest_sd wide."""
    sd = math.sqrt(belief.sd**2 + GROWTH_A_WEEK * days / 7)
    return Belief(belief.mean, min(sd, max(widest_sd, belief.sd)))


def unsettled(belief: Belief, least_sd: float = CHANGE_SD) -> Belief:
    """The belief after a change in the tree or its place: never narrower for it."""
    return Belief(belief.mean, max(belief.sd, least_sd))


def running_average(ln_factor: float, reckoned_kg: float, lost_kg: float) -> float:
    """The next ln(factor) by a plain running average, for a sheet of paper."""
    seen = math.log(lost_kg / reckoned_kg)
    return (1 - AVERAGE_WEIGHT) * ln_factor + AVERAGE_WEIGHT * seen
