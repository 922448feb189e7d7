"""The two years before the invented winter, at the frame's reference place.

Hourly air from a seeded walk around monthly means, so that there are other winters to
compare with. Nothing here was measured.
"""

from datetime import datetime, timedelta
from functools import cache

import numpy as np

from wintering.web.demo.outdoors import SEED
from wintering.web.demo.shaping import START, Series

YEARS = 2
HOURS = YEARS * 52 * 7 * 24
STEP = timedelta(hours=1)

# January to December [°C]; those of October to April as in the story's winter.
MEAN_C = (0.9, 2.1, 4.4, 8.1, 12.5, 16.8, 19.2, 18.4, 14.0, 9.0, 4.0, 1.6)
HALF_SWING_K = (0.9, 1.3, 2.1, 3.0, 4.0, 4.6, 4.6, 4.2, 3.3, 2.2, 1.2, 0.8)
# The winter two years back was colder than the guide, the last one milder.
COLDER_K = (-1.1, 1.3)
HEATER_HOLDS_C = -0.6
_SWITCHING_K = 0.2  # air that a thermostat holds still moves a little


def earlier_moments() -> list[datetime]:
    """The story's wall clock at every hour of those years."""
    first = START - HOURS * STEP
    return [first + STEP * number for number in range(HOURS)]


@cache
def earlier_c() -> dict[str, Series]:
    """The reference sensor's °C at every hour of `earlier_moments()`."""
    moments = earlier_moments()
    of_year = np.array([moment.timetuple().tm_yday for moment in moments])
    hour = np.array([moment.hour for moment in moments])
    swing = _through_year(HALF_SWING_K, of_year) * np.cos((hour - 14) * np.pi / 12)
    air = _through_year(MEAN_C, of_year) + _mildness(of_year) + _walk() + swing
    held = HEATER_HOLDS_C + _SWITCHING_K * (np.arange(HOURS) % 3 == 0)
    return {"A1": np.round(np.maximum(air, held), 1)}


def _through_year(monthly: tuple[float, ...], of_year: Series) -> Series:
    middles = (np.arange(12) + 0.5) * 365.25 / 12
    return np.interp(of_year, middles, monthly, period=365.25)


def _mildness(of_year: Series) -> Series:
    """What sets each winter apart, full in January and nothing in July."""
    year = np.repeat(COLDER_K, HOURS // YEARS)
    return year * (0.5 + 0.5 * np.cos((of_year - 20) * 2 * np.pi / 365.25))


def _walk() -> Series:
    """Weather that lasts some days [K]."""
    walk = np.random.default_rng(SEED + 3)
    days = HOURS // 24
    departure = np.zeros(days + 1)
    for day in range(1, departure.size):
        departure[day] = 0.72 * departure[day - 1] + walk.normal(0, 1.1)
    return np.interp(np.arange(HOURS) / 24, np.arange(days + 1), departure)
