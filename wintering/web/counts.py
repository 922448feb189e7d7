"""What some days of a temperature add up to: nights, warm spells, frost and thaw."""

from dataclasses import dataclass
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

import numpy as np

from wintering.science.counters import (
    FREEZE_C,
    THAW_C,
    WARM_DAYS,
    WARM_MEAN_C,
    FreezeThaw,
    WarmSpell,
    coldest_nights,
    freeze_thaw,
    warm_spells,
)
from wintering.science.days import LocalDays
from wintering.science.forcing import daily_means
from wintering.science.series import DECIMALS, HOUR_S, Hourly, bridge

NIGHTS_TOLD = 5  # the coldest: own choice
ONE_DAY = timedelta(days=1)


@dataclass(frozen=True, slots=True)
class ColdNight:
    """The morning that it ended in, its coldest hour, and whether hours are missing."""

    morning: date
    lowest_c: float
    at: datetime
    missing_h: int


@dataclass(frozen=True, slots=True)
class Spell:
    """A warm spell by its first and last day."""

    first: date
    last: date
    mean_c: float
    is_cut_by_gap: bool

    @property
    def days(self) -> int:
        return (self.last - self.first).days + 1


@dataclass(frozen=True, slots=True)
class Counts:
    """By hourly means; what is missing is counted as nothing, and told."""

    nights: tuple[ColdNight, ...]
    nights_below_zero: int
    nights_known: int
    spells: tuple[Spell, ...]
    days_unknown: int
    frost: FreezeThaw
    freeze_c: float = FREEZE_C
    thaw_c: float = THAW_C
    warm_c: float = WARM_MEAN_C
    warm_days: int = WARM_DAYS


def counts_of(hours: Hourly, days: LocalDays, zone: ZoneInfo) -> Counts:
    """What measured clock hours add up to; means of days bridge short gaps.

    Nothing is rounded as a reader sees it, so that all readers see the same counts.
    """
    nights = coldest_nights(hours, days, count=len(days))
    means = daily_means(bridge(hours), days)
    return Counts(
        nights=tuple(
            ColdNight(
                night.evening + ONE_DAY,
                night.lowest_c,
                datetime.fromtimestamp(night.at_hour * HOUR_S, zone),
                night.missing_hours,
            )
            for night in nights[:NIGHTS_TOLD]
        ),
        nights_below_zero=sum(round(n.lowest_c, DECIMALS) < 0 for n in nights),
        nights_known=len(nights),
        spells=tuple(_spell(s) for s in warm_spells(means, days.first)),
        days_unknown=int(np.isnan(means).sum()),
        frost=freeze_thaw(hours.c),
    )


def _spell(spell: WarmSpell) -> Spell:
    last = spell.until - ONE_DAY
    return Spell(spell.since, last, spell.mean_c, spell.is_cut_by_gap)
