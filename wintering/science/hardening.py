"""How fast a tree hardens in autumn, and loses it again on warm days.

    dx    = pace (below - T)+ (1 - x)     share of the way to the midwinter limit
    dloss = k psi(chill) f(T)             and 0.3 K a day back in cold, while psi < 0.5

Rates were published for a few species only, and for vines, seedlings and cut shoots,
not for old trees in pots. So everything is computed for two ends, a mild one with
cautious rates and a hardy one with hopeful ones; pairs below stand in that order.
"""

from dataclasses import dataclass
from datetime import date

import numpy as np
from numpy.typing import NDArray

from wintering.science.winter import Winter

Days = NDArray[np.float64]

MILD, HARDY = 0, 1

SEASON_MONTH = 9
LONGEST_DAYS = 366
"""A season begins on 1 September with nothing hardened yet: own choice."""

RESTING_BELOW_C, RESTING_PACE = 11.75, 0.14 / 22.24
WAITING_BELOW_C, WAITING_PACE = 3.75, 0.07 / 22.24
"""Hardening of buds in rest and after it: 0.14 and 0.07 K a day for each kelvin below
11.75 and 3.75 °C, slowing from -3 to -25.24 °C: grapevine 'Chardonnay', Ferguson et al.
2011, Ann. Bot. 107:389-396, doi 10.1093/aob/mcq263, its figures as quoted by others. As
shares of the way that is left they are lent to all trees: own choice."""

ROOT_BELOW_C = 7.5
"""Roots harden in a root zone colder than this: own choice. It lets roots in a Swedish
October bear -5 to -12 °C; there -10 °C killed part of the spruces and most of the pines
(Lindström & Stattin 1994, Can. J. For. Res. 24:2477-2484, doi 10.1139/x94-319). Day
length is left out: only cold hardened roots of Scots pine (abstract on photo- and
thermoperiod, scilit.com/publications/4542e049fbb86087566128b3d4391bcd; also Rutgers
NJAES FS528)."""

PACES = (0.5, 1.5)
"""Half and one and a half times the published pace, for other species: own choice."""

SHORT_DAY_SHARE, SHORT_DAY_DAYS = 0.5, 60
"""Short days alone took Scots pine to -22 of -40 °C, about half of the way (Arora &
Taulavuori 2016, doi 10.3389/fenvs.2016.00044). That this takes 60 days from September
on is own choice; it lifts only the hardy end of the top."""

TOP_LOSS_K = (2.0, 0.5)
ROOT_LOSS_K = (1.0, 0.25)
"""Most that a warm day takes away, mild and hardy end [K]: own choice for tops, 'usual
rates of 1 to 3 °C a day' from memory. Azaleas differ more than twofold (Kalberer et al.
2007, J. ASHS 132:73-79). Roots lose half of it: roots of yew dehardened more slowly
than its leaves (Mityga & Lanphear 1971, doi 10.21273/jashs.96.1.83)."""

WARM_MID_C, WARM_SPREAD_K, COLD_C = 9.0, 2.0, 2.0
"""f(T): nothing up to 2 °C, half about 9 °C, 0.95 at 15 °C: own choice. Published is
that it is not a straight line (Kovaleski, "Woody species do not differ in dormancy
progression", abstract of 2021)."""

PSI_MID, PSI_SPREAD = 0.75, 0.1
"""psi: share of the full rate of loss, by the share of the chill requirement received,
half of it at three quarters: own choice. Published is that it rises with chill
(Kovaleski), so that the same warm day is harmless in December and not in
February."""

REGAIN_K, REGAIN_UNTIL_PSI = 0.3, 0.5
"""Hardiness regained on a day at or below 2 °C, and the psi from which none is: own
choice. Azalea buds regained it after 8 warm days in early winter, less in late winter
(Kalberer et al. 2007), and hardly any tree does when leaves emerge."""

ROOT_DRIFT_MONTH, ROOT_DRIFT_K = 2, (0.15, 0.05)
FROZEN_DRIFT = 0.5
"""Roots grow milder every day from February on, however cold they lie [K a day], and
half as fast below 0 °C. That they do between January and March, in frozen storage less
than above: Lindström & Stattin 1994. How fast: own choice."""

MISSING_C = {
    9: (15.0, 9.0),
    10: (11.0, 4.0),
    11: (8.0, -1.0),
    12: (6.0, -4.0),
    1: (6.0, -6.0),
    2: (6.0, -6.0),
    3: (9.0, -2.0),
    4: (12.0, 3.0),
}
"""A day without a temperature counts as one of a mild oceanic winter for the mild end,
of a cold continental one for the hardy end: own choice."""
MISSING_SUMMER_C = (20.0, 8.0)

UNKNOWN_REST_MONTH = 12
"""Where the chill is not known, rest may have ended from December on: own choice."""


@dataclass(frozen=True, eq=False)
class SeasonDays:
    """What a tree met on consecutive local days up to the last whole one.

    first        the first of them
    air_c        daily means at the tree [°C]; not a number where missing
    root_c       daily means of the root zone, measured or computed, not a number where
                 missing; None: taken to be those of the air
    least_chill  share of the chill requirement received at each day's end, at least:
                 the low total over the high requirement. 1 and more: rest complete.
                 None or not a number: unknown
    most_chill   the same at most: the high total over the low requirement
    """

    first: date
    air_c: Days
    root_c: Days | None = None
    least_chill: Days | None = None
    most_chill: Days | None = None

    def __post_init__(self) -> None:
        given = (self.root_c, self.least_chill, self.most_chill)
        if any(each is not None and each.shape != self.air_c.shape for each in given):
            raise ValueError(
                "Air, root zone and chill are given for the same days, one value each."
            )


def psi(chill_share: Days) -> Days:
    """Share of the full rate at which hardiness can be lost, from 0 to 1."""
    full = _logistic((chill_share - PSI_MID) / PSI_SPREAD)
    none = _logistic(np.array(-PSI_MID / PSI_SPREAD))
    return np.clip((full - none) / (1 - none), 0.0, 1.0)


def warmth(c: Days) -> Days:
    """f(T): share of the full rate of loss on a day of this mean temperature."""
    rising = _logistic((c - WARM_MID_C) / WARM_SPREAD_K)
    none = _logistic(np.array((COLD_C - WARM_MID_C) / WARM_SPREAD_K))
    return np.clip((rising - none) / (1 - none), 0.0, 1.0)


def _logistic(x: Days) -> Days:
    return 1.0 / (1.0 + np.exp(-x))


def top_hardened(c: Days, psi_by_day: Days, end: int) -> Days:
    """Share of the way to its midwinter limit that a top has gone, from 0 to 1."""
    resting = RESTING_PACE * np.maximum(RESTING_BELOW_C - c, 0.0)
    waiting = WAITING_PACE * np.maximum(WAITING_BELOW_C - c, 0.0)
    by_cold = _approach(
        PACES[end] * np.where(psi_by_day < REGAIN_UNTIL_PSI, resting, waiting)
    )
    if end == MILD:
        return by_cold
    days = np.arange(1, c.size + 1)
    by_short_days = SHORT_DAY_SHARE * np.minimum(days / SHORT_DAY_DAYS, 1.0)
    return np.maximum(by_cold, by_short_days)


def root_hardened(c: Days, end: int) -> Days:
    """The same for roots, by the temperature of the root zone alone."""
    return _approach(PACES[end] * RESTING_PACE * np.maximum(ROOT_BELOW_C - c, 0.0))


def _approach(of_what_is_left: Days) -> Days:
    left: Days = np.cumprod(1.0 - np.minimum(of_what_is_left, 1.0), dtype=np.float64)
    return 1.0 - left


def lost_k(c: Days, psi_by_day: Days, most_k: float) -> Days:
    """Hardiness lost to warm days and not regained by each day's end [K]."""
    regains = (c <= COLD_C) & (psi_by_day < REGAIN_UNTIL_PSI)
    change = most_k * psi_by_day * warmth(c) - REGAIN_K * regains
    total = np.cumsum(change)
    # a running sum that never falls below 0
    lowest = np.minimum.accumulate(np.minimum(total, 0.0))
    lost: Days = total - lowest
    return lost


def root_drift_k(c: Days, months: NDArray[np.int64], end: int) -> Days:
    """What roots have lost to the season alone since 1 February [K]."""
    drifts = (months >= ROOT_DRIFT_MONTH) & (months < SEASON_MONTH)
    pace = np.where(c < 0.0, FROZEN_DRIFT, 1.0)
    return np.cumsum(ROOT_DRIFT_K[end] * drifts * pace)


@dataclass(frozen=True, eq=False)
class DaysMet:
    """The days since 1 September; gaps filled for the mild and for the hardy end."""

    first: date
    months: NDArray[np.int64]
    air_c: tuple[Days, Days]
    root_c: tuple[Days, Days]
    psi: tuple[Days, Days]
    air_missing: int
    root_missing: int
    rest_unknown: bool

    @classmethod
    def of(cls, days: SeasonDays) -> "DaysMet":
        first = date(Winter.of(days.first).start_year, SEASON_MONTH, 1)
        before = (days.first - first).days
        count = before + days.air_c.size
        if count > LONGEST_DAYS:
            raise ValueError(
                f"A season is one winter: {count} days since {first} are too many."
            )
        dates = np.datetime64(first) + np.arange(max(count, 0))
        months = dates.astype("datetime64[M]").astype(np.int64) % 12 + 1
        air = _padded(days.air_c, before, np.nan)
        root = air if days.root_c is None else _padded(days.root_c, before, np.nan)
        winter = (months >= UNKNOWN_REST_MONTH) | (months < SEASON_MONTH)
        most = _share(days.most_chill, before, winter.astype(np.float64))
        least = _share(days.least_chill, before, np.zeros(months.shape))
        return cls(
            first=first,
            months=months,
            air_c=(_filled(air, months, 0), _filled(air, months, 1)),
            root_c=(_filled(root, months, 0), _filled(root, months, 1)),
            psi=(psi(most), psi(least)),
            air_missing=int(np.isnan(air).sum()),
            root_missing=int(np.isnan(root).sum()),
            rest_unknown=days.most_chill is None or bool(np.isnan(days.most_chill[-1])),
        )


def _padded(values: Days, before: int, by: float) -> Days:
    if before < 0:
        return values[-before:]
    return np.concatenate([np.full(before, by), values])


def _share(given: Days | None, before: int, unknown: Days) -> Days:
    if given is None:
        return unknown
    share = _padded(given, before, 0.0)
    return np.where(np.isnan(share), unknown, share)


def _filled(c: Days, months: NDArray[np.int64], end: int) -> Days:
    usual = [MISSING_C.get(int(month), MISSING_SUMMER_C)[end] for month in months]
    return np.where(np.isnan(c), np.array(usual, dtype=np.float64), c)
