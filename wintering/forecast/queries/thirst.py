"""How much a tree's leaves may have dried while its root ball could give no water."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import timedelta
from zoneinfo import ZoneInfo

import numpy as np
from numpy.typing import NDArray

from wintering.climate.models import Sensor
from wintering.forecast.queries.air_moisture import PartAir, rh_pct
from wintering.forecast.queries.exposure import hour_of, midnight_hour
from wintering.forecast.queries.outlook import TreeOutlook
from wintering.science.days import LocalDays, local_days
from wintering.science.desiccation import (
    BARE_TIMES,
    DAY_DOSE_KPA_H,
    DOSE_DAYS,
    FIVE_DAY_DOSE_KPA_H,
    FROZEN_C,
    Desiccation,
    desiccation,
    dose_kpa_h,
)
from wintering.science.series import HOUR_S, Hourly, bridge, joined
from wintering.science.sun import sun_position
from wintering.stays.queries import Place

SUN_FROM_DEG = 10.0
"""Direct sun is reckoned from this elevation on: lower it is weak, and walls, hedges
and hills stand before it. Own choice."""

NEAR_PART = 0.8
"""A flag about drying stands until the doses are below this part of a limit: own
choice."""

JUDGED_DAYS = 2
"""Yesterday, and today so far: a day's dose says little in the morning. Own choice."""


@dataclass(frozen=True, eq=False)
class Thirst:
    """What dried a tree, by local days up to now.

    in_shade      dose if no direct sun reached the leaves: the least
    in_sun        dose if it did whenever the sun stood above 10°: the most; None where
                  it is not told where the frame lies
    frozen_h      hours of each day with the ball at or below 0 °C
    limit_times   1 for an evergreen, 3 for a bare tree
    """

    days: LocalDays
    in_shade: Desiccation
    in_sun: Desiccation | None
    frozen_h: NDArray[np.int64]
    sensors: tuple[Sensor, ...]
    limit_times: float

    @property
    def flagged_day(self) -> int | None:
        """The last of the judged days on which even the least reached a limit."""
        return _last_flagged(self.in_shade)

    @property
    def watched_day(self) -> int | None:
        """The last of the judged days on which the most reached a limit."""
        return _last_flagged(self.in_sun) if self.in_sun else None

    @property
    def is_near(self) -> bool:
        """Whether a dose of the judged days is still near a limit."""
        most, times = self.in_sun or self.in_shade, NEAR_PART * self.limit_times
        day, five = most.day_kpa_h[-JUDGED_DAYS:], most.five_kpa_h[-JUDGED_DAYS:]
        near = (day >= times * DAY_DOSE_KPA_H) | (five >= times * FIVE_DAY_DOSE_KPA_H)
        return bool(near.any())

    @property
    def missing_h(self) -> int:
        """Hours of the judged days that decide and are not known."""
        return int(self.in_shade.missing_h[-JUDGED_DAYS:].sum())


def _last_flagged(dried: Desiccation) -> int | None:
    first = dried.flagged.size - JUDGED_DAYS
    found = np.flatnonzero(dried.flagged[first:])
    return first + int(found[-1]) if found.size else None


def counts_as_evergreen(outlook: TreeOutlook) -> bool:
    """One of which that is not known counts as evergreen, on the side of caution."""
    return outlook.tree.taxon.is_evergreen is not False


def parts_stood_in(
    outlooks: Mapping[int, TreeOutlook], places: Mapping[int, Sequence[Place]]
) -> set[int]:
    """The microclimates in which the trees stood in the days that count."""
    return {
        part
        for pk, outlook in outlooks.items()
        for part, _, _ in _pieces(places.get(pk, ()), _days(outlook))
    }


def thirst_of(
    outlook: TreeOutlook, places: Sequence[Place], airs: Mapping[int, PartAir]
) -> Thirst | None:
    """None where no humidity sensor spoke for the tree, or no other sensor.

    airs  of all microclimates that the tree stood in
    """
    days = _days(outlook)
    exposure = outlook.exposure
    pieces = _pieces(places, days)
    heard = {part: airs[part] for part, _, _ in pieces if part in airs}
    if not (heard and exposure.air_sources and exposure.root_sources):
        return None
    nothing = Hourly.measured(days.first_hour, np.empty(0))
    vapour = joined(
        [
            (bridge(heard[part].vapour) if part in heard else nothing, first, last)
            for part, first, last in pieces
        ]
    ).window(days.first_hour, days.end_hour)
    lit = _in_sun(outlook, days)
    shaded = np.zeros(vapour.c.shape, dtype=bool)
    ball = exposure.root.window(days.first_hour, days.end_hour).c
    return Thirst(
        days=days,
        in_shade=_dried(outlook, vapour, days, shaded),
        in_sun=None if lit is None else _dried(outlook, vapour, days, lit),
        frozen_h=days.sums(ball <= FROZEN_C).astype(np.int64),
        limit_times=1.0 if counts_as_evergreen(outlook) else BARE_TIMES,
        sensors=tuple({air.sensor.pk: air.sensor for air in heard.values()}.values()),
    )


def _days(outlook: TreeOutlook) -> LocalDays:
    """Enough days for the five of yesterday; today's later hours are to come."""
    today = outlook.at.astimezone(outlook.zone).date()
    back = timedelta(days=DOSE_DAYS + JUDGED_DAYS - 2)
    return local_days(today - back, today + timedelta(days=1), outlook.zone)


def _pieces(places: Sequence[Place], days: LocalDays) -> list[tuple[int, int, int]]:
    found = []
    for place in places:
        zone = ZoneInfo(place.frame.time_zone)
        first = max(midnight_hour(place.since, zone), days.first_hour)
        end = midnight_hour(place.until, zone) if place.until else days.end_hour
        last = min(end, days.end_hour)
        if first < last:
            found.append((place.microclimate_id, first, last))
    return found


def _dried(
    outlook: TreeOutlook, vapour: Hourly, days: LocalDays, in_sun: NDArray[np.bool_]
) -> Desiccation:
    air = outlook.exposure.air.window(days.first_hour, days.end_hour).c
    ball = outlook.exposure.root.window(days.first_hour, days.end_hour).c
    dose = dose_kpa_h(air, rh_pct(air, vapour.c), ball, in_sun)
    dose[hour_of(outlook.at) - days.first_hour :] = 0.0  # to come, not missing
    return desiccation(dose, days, is_evergreen=counts_as_evergreen(outlook))


def _in_sun(outlook: TreeOutlook, days: LocalDays) -> NDArray[np.bool_] | None:
    """By the middle of each hour; None where the frame's place on earth is not told."""
    frame = outlook.place.frame if outlook.place else None
    if frame is None or frame.latitude_deg is None or frame.longitude_deg is None:
        return None
    middle_s = (np.arange(days.first_hour, days.end_hour) + 0.5) * HOUR_S
    sun = sun_position(middle_s, frame.latitude_deg, frame.longitude_deg)
    return sun.elevation_deg >= SUN_FROM_DEG
