"""Winter drought: leaves and twigs that lose water while the ball can give none."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from wintering.science.days import LocalDays
from wintering.science.series import DECIMALS
from wintering.science.vapour import deficit_kpa, vapour_kpa

FROZEN_C, THAWED_C = 0.0, 2.0
FROZEN_PART, COLD_PART = 1.0, 0.3
"""Up to 0 °C a ball gives no water, up to 2 °C little: own choice."""

SUN_WARMS_K = 5.0
"""Leaves in direct sun behind a pane are so much warmer than the air: own choice."""

DAY_DOSE_KPA_H, FIVE_DAY_DOSE_KPA_H = 5.0, 15.0
BARE_TIMES = 3.0
"""Doses to flag for an evergreen, and how much more a bare tree bears: own choice. The
cause is stated by University of Minnesota Extension 2020, as quoted by others; nobody
published a dose."""

DOSE_DAYS = 5


def dose_kpa_h(
    air_c: ArrayLike, rh_pct: ArrayLike, ball_c: ArrayLike, in_sun: ArrayLike
) -> NDArray[np.float64]:
    """What each hour adds to a tree's thirst [kPa h].

    air_c, rh_pct  air of each hour [°C], [%]; see humidity.usable_rh
    ball_c         root ball [°C]
    in_sun         whether direct sun reached the leaves

    The deficit at the leaf, weighed by how little the ball can give: fully up to 0 °C,
    0.3 up to 2 °C, not at all above. Not a number where anything needed is missing; an
    hour with a warm ball needs nothing else. Wind outside a closed frame does not
    count.
    """
    c, ball = np.asarray(air_c, dtype=np.float64), np.asarray(ball_c, dtype=np.float64)
    leaf_c = c + np.where(np.asarray(in_sun, dtype=bool), SUN_WARMS_K, 0.0)
    lacking = deficit_kpa(vapour_kpa(c, rh_pct), leaf_c)
    part = np.where(ball <= FROZEN_C, FROZEN_PART, COLD_PART)
    dose = np.where(ball > THAWED_C, 0.0, part * lacking)
    return np.where(np.isnan(ball), np.nan, dose)


@dataclass(frozen=True, eq=False)
class Desiccation:
    """A tree's thirst by local days.

    day_kpa_h    dose of each day; of a day with missing hours the least it can be
    five_kpa_h   dose of each day and the four before it
    missing_h    hours of each day that are not known
    flagged      days on which either dose reached its limit
    """

    day_kpa_h: NDArray[np.float64]
    five_kpa_h: NDArray[np.float64]
    missing_h: NDArray[np.int64]
    flagged: NDArray[np.bool_]

    def because(self, day: int) -> str:
        """What a day, by its place in the row, says to the keeper."""
        said = (
            f"{self.day_kpa_h[day]:.1f} kPa h in the day and "
            f"{self.five_kpa_h[day]:.1f} in five while the ball was frozen or near it"
        )
        if self.flagged[day]:
            said += (
                ": leaves dry faster than roots can supply. Shade the tree, let the "
                "ball thaw slowly, and pour no warm water"
            )
        missing = int(self.missing_h[day])
        if missing:
            said += f"; {missing} hours are missing, so it may be more"
        return said + "."


def desiccation(
    hours_kpa_h: NDArray[np.float64], days: LocalDays, *, is_evergreen: bool
) -> Desiccation:
    """Doses by local day and the days that reached a limit.

    hours_kpa_h   from dose_kpa_h, for the hours from days.first_hour on
    is_evergreen  5 kPa h in a day or 15 in five days flag an evergreen, three times
                  that a bare tree
    """
    if hours_kpa_h.size != days.end_hour - days.first_hour:
        raise ValueError(
            f"{hours_kpa_h.size} hours for days of {days.end_hour - days.first_hour}: "
            "give the dose of each hour of the days."
        )
    missing = np.isnan(hours_kpa_h)
    # rounded, so that a dose of exactly 5 is 5
    day = np.round(days.sums(np.where(missing, 0.0, hours_kpa_h)), DECIMALS)
    total = np.concatenate([np.zeros(DOSE_DAYS), np.cumsum(day)])
    five = np.round(total[DOSE_DAYS:] - total[:-DOSE_DAYS], DECIMALS)
    times = 1.0 if is_evergreen else BARE_TIMES
    return Desiccation(
        day_kpa_h=day,
        five_kpa_h=five,
        missing_h=days.sums(missing.astype(np.float64)).astype(np.int64),
        flagged=(day >= times * DAY_DOSE_KPA_H) | (five >= times * FIVE_DAY_DOSE_KPA_H),
    )
