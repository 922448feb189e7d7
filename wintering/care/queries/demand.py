"""What the air at a tree's place asks of its pot, day by day."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from zoneinfo import ZoneInfo

import numpy as np
from numpy.typing import NDArray

from wintering.forecast.findings.statements import instant
from wintering.forecast.queries.air_moisture import airs_of
from wintering.forecast.queries.exposure import hour_of, midnight_hour
from wintering.forecast.queries.outlook import TreeOutlook
from wintering.science.days import LocalDays, local_days
from wintering.science.evaporation import DAY_H, daily_demand_mm, frame_demand_mm_d
from wintering.science.humidity import EstimatedVapour, vapour_from_night_low
from wintering.science.series import Hourly, bridge, joined
from wintering.science.vapour import deficit_kpa
from wintering.science.water_history import Demand
from wintering.stays.queries import Place

RECENT_DAYS = 14
"""Days to come are taken to be like the last so many that are known: own choice."""

NO_SUN_WM2 = 0.0
"""Nobody measures the sun on a pot, so none is reckoned; the page says so."""


@dataclass(frozen=True, eq=False)
class AirDemand:
    """What the air asked for, and how much more it may have asked for.

    likely  demand of each day; days to come by the mean of the last 14 known ones
    high    the same in air as dry as is credible, where its moisture is estimated
    last    the last day that is known, and count how many of the 14 there are
    """

    likely: Demand
    high: Demand
    last: date
    count: int

    @property
    def recent_mm(self) -> tuple[float, float]:
        """Likely and high mean of the last 14 known days [mm/d]."""
        return self.likely.later_mm, self.high.later_mm


def air_demand(outlook: TreeOutlook, places: Sequence[Place]) -> AirDemand | None:
    """The demand at a tree since its readings begin; None if no day is known.

    places  where it has stood

    Once 14 days have a measured humidity they alone count, and days without one are
    not known; until then all are estimated. A tree's own pace is learned against one
    kind of figure: learned against the other it would be off.
    """
    air = outlook.exposure.air
    if not air.c.size:
        return None
    first = instant(air.first_hour).astimezone(outlook.zone).date()
    days = local_days(first, outlook.today, outlook.zone)
    c = air.window(days.first_hour, days.end_hour).c
    vapour, sensors = _measured(outlook, places)
    mm = _daily_mm(c, vapour.window(days.first_hour, days.end_hour).c, days)
    if np.count_nonzero(~np.isnan(mm)) >= RECENT_DAYS:
        return _demand(first, mm, mm, f"Moisture by {sensors}.")
    estimate, hours = _by_nights(c, days), np.diff(days.starts)
    likely, high = (
        _daily_mm(c, np.repeat(kpa, hours), days)
        for kpa in (estimate.kpa, estimate.low_kpa)
    )
    return _demand(first, likely, high, estimate.because)


def _demand(
    first: date, likely: NDArray[np.float64], high: NDArray[np.float64], because: str
) -> AirDemand | None:
    known = np.flatnonzero(~np.isnan(likely))
    if not known.size:
        return None
    recent = known[-RECENT_DAYS:]
    return AirDemand(
        likely=Demand(first, likely, float(likely[recent].mean()), because),
        high=Demand(first, high, float(high[recent].mean()), because),
        last=first + timedelta(days=int(known[-1])),
        count=recent.size,
    )


def _daily_mm(
    c: NDArray[np.float64], kpa: NDArray[np.float64], days: LocalDays
) -> NDArray[np.float64]:
    rate = frame_demand_mm_d(c, deficit_kpa(kpa, c), NO_SUN_WM2)
    return daily_demand_mm(rate / DAY_H, days)


def _by_nights(c: NDArray[np.float64], days: LocalDays) -> EstimatedVapour:
    """Vapour of each day from its lowest air where the tree stands.

    The rule was made for the open. Under glass wet pots and ground add vapour, so the
    air there is hardly drier than its own night allows; the dry end stands for leaks.
    """
    begins = days.starts[:-1] - days.starts[0]
    return vapour_from_night_low(np.fmin.reduceat(c, begins) if c.size else c)


def _measured(outlook: TreeOutlook, places: Sequence[Place]) -> tuple[Hourly, str]:
    """Vapour pressure where the tree stood [kPa], and the sensors it is read by."""
    heard, end = [], hour_of(outlook.at)
    airs = airs_of(
        {place.microclimate_id for place in places},
        outlook.at,
        looked_back_h=end - outlook.exposure.air.first_hour,
    )
    for place in places:
        zone = ZoneInfo(place.frame.time_zone)
        first = midnight_hour(place.since, zone)
        last = min(end, midnight_hour(place.until, zone) if place.until else end)
        if first < last and place.microclimate_id in airs:
            vapour = airs[place.microclimate_id].vapour
            heard.append((bridge(vapour), first, last))
    sensors = dict.fromkeys(air.measured_by for air in airs.values())
    return joined(heard), "; ".join(sensors)
