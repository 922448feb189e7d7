"""The invented winter outside: a seeded walk, bent to the story's months and events."""

from functools import cache

import numpy as np

from wintering.web.demo.shaping import (
    DAYS,
    STEPS,
    STEPS_A_DAY,
    Pull,
    Series,
    bent,
    hours_of_day,
    month_of_steps,
    pulled,
    softened,
    step_of,
    through_months,
)

SEED = 20241117

# October to April [°C]; October is not in the story.
OUTSIDE_MEAN_C = (7.6, 1.2, -6.1, -10.4, -6.8, -1.0, 6.0)
OUTSIDE_LOWEST_C = (-2.6, -11.0, -24.0, -31.4, -22.0, -14.0, -5.0)

# Told by the story, but for the lowest days of November, February and April, the
# light frosts of autumn and the mild days of November and January, which fill it in.
OUTSIDE_EVENTS = (
    Pull(step_of(10, 11, 6, 30), -2.3, 5),
    Pull(step_of(10, 24, 6), -1.6, 5),
    Pull(step_of(11, 3, 6, 30), -2.4, 6),
    Pull(step_of(11, 14, 14), 10.5, 14),
    Pull(step_of(11, 15, 14), 11.0, 14),
    Pull(step_of(11, 23, 6), -9.0, 8),
    Pull(step_of(11, 29, 6, 30), -11.0, 8),
    Pull(step_of(12, 9, 0), -1.0, 20),
    Pull(step_of(12, 21, 7), -24.0, 14),
    Pull(step_of(1, 10, 14), 4.0, 14),
    Pull(step_of(1, 11, 14), 5.0, 14),
    Pull(step_of(1, 12, 13), 4.0, 14),
    Pull(step_of(1, 18, 12), -14.0, 12),
    Pull(step_of(1, 20, 7), -23.5, 8),
    Pull(step_of(1, 20, 14), -17.0, 5),
    Pull(step_of(1, 21, 7), -31.4, 6),
    Pull(step_of(1, 21, 14), -22.0, 5),
    Pull(step_of(2, 3, 7), -22.0, 10),
    Pull(step_of(2, 24, 14), 9.0, 14),
    Pull(step_of(2, 25, 14), 12.0, 12),
    Pull(step_of(2, 26, 14), 10.5, 12),
    Pull(step_of(2, 27, 14), 9.0, 12),
    Pull(step_of(3, 19, 6), -14.0, 12),
    Pull(step_of(4, 6, 5), -5.0, 8),
    Pull(step_of(4, 28, 5), -3.9, 8),
)
# Share of clear sky where the story has snow, or a mild spell wants sun.
CLEARNESS_TOLD = ((12, 8, 0.05), (12, 9, 0.05), (1, 11, 0.75), (1, 12, 0.7))
HALF_DAY_H = (5.4, 4.8, 4.4, 4.6, 5.2, 6.0, 6.7)
NOON_H = 12.2


@cache
def outside_c() -> Series:
    """Air outside [°C] at every step."""
    series = _daily_walk() + _daily_swing() * np.cos(
        (hours_of_day() - 14.5) * np.pi / 12
    )
    lowest = np.asarray(OUTSIDE_LOWEST_C)[month_of_steps()]
    floor = np.maximum(through_months(OUTSIDE_LOWEST_C), lowest) + 1.0
    for _ in range(16):
        series = softened(bent(series, OUTSIDE_MEAN_C), floor)
        series = pulled(series, OUTSIDE_EVENTS)
    return np.maximum(series, lowest)


@cache
def sun_share() -> Series:
    """The sun through the glazing as a share of a clear noon's, 0 at night."""
    angle = (hours_of_day() - NOON_H) / through_months(HALF_DAY_H) * (np.pi / 2)
    up = np.where(np.abs(angle) < np.pi / 2, np.cos(angle), 0.0)
    return up * (0.15 + 0.85 * np.repeat(_clearness(), STEPS_A_DAY))


@cache
def _clearness() -> Series:
    """Share of clear sky of each day, 0 to 1."""
    days = np.random.default_rng(SEED + 2).beta(1.1, 1.3, DAYS)
    for month, day, share in CLEARNESS_TOLD:
        days[step_of(month, day, 0) // STEPS_A_DAY] = share
    return days


def _daily_walk() -> Series:
    """Departure of each day from its month, with weather that lasts some days."""
    walk = np.random.default_rng(SEED)
    departure = np.zeros(DAYS + 2)
    for day in range(1, departure.size):
        departure[day] = 0.72 * departure[day - 1] + walk.normal(0, 3.0)
    return np.interp(
        np.arange(STEPS) / STEPS_A_DAY, np.arange(departure.size), departure
    )


def _daily_swing() -> Series:
    """Half the difference of day and night, larger under a clear sky [K]."""
    noons = np.arange(DAYS) * STEPS_A_DAY + STEPS_A_DAY // 2
    return np.interp(np.arange(STEPS), noons, 1.2 + 3.4 * _clearness())
