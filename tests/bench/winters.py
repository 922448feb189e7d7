"""Seeded winters of hourly air temperatures for measuring and comparing."""

import numpy as np

HOURS = 4380


def winters(count: int, *, missing_share: float = 0.0, seed: int = 1) -> np.ndarray:
    """Half-years from October on, (hours, count) [°C]: season, nights, spells, noise.

    missing_share  of all hours, one by one at random and so mostly gaps of one hour
    """
    rng = np.random.default_rng(seed)
    hour = np.arange(HOURS)[:, np.newaxis]
    mean_c, depth_k, night_k = rng.uniform(
        [[9], [7], [2]], [[14], [15], [6]], (3, count)
    )
    season = mean_c - depth_k * np.sin(np.pi * hour / HOURS)
    nights = night_k * np.sin(2 * np.pi * (hour - 9) / 24)
    spells = np.repeat(rng.normal(0, 4, (HOURS // 96 + 1, count)), 96, axis=0)[:HOURS]
    c = season + nights + spells + rng.normal(0, 0.5, (HOURS, count))
    c[rng.random(c.shape) < missing_share] = np.nan
    return c.clip(-60, 70).round(6)
