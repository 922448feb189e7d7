"""Watering in winter: when to check a pot next, and when water would do harm."""

from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np

from wintering.science.evidence import Evidence
from wintering.science.series import Hourly

FROZEN_C = 0.3
"""At or below this a root ball counts as frozen or freezing: own choice, the accuracy
of a probe checked in ice."""

CURTAIN_H = 3
COLD_AIR_C, COLD_FORECAST_C, COLD_WATER_C = 2.0, -2.0, 2.0
"""Own choice, after extension advice to water in thaws above freezing and to let
foliage dry before night."""


@dataclass(frozen=True)
class CheckInterval:
    """Days between two moisture checks, and what that rests on."""

    earliest_days: int
    latest_days: int
    because: str
    evidence: Evidence


AUTUMN = CheckInterval(
    3,
    4,
    "October and November: every 3 to 4 days, so that pots enter winter evenly moist.",
    Evidence.COMMON_PRACTICE,
)
WINTER = CheckInterval(
    7, 7, "December to February: once a week.", Evidence.COMMON_PRACTICE
)
MARCH = CheckInterval(
    3,
    3,
    "March: every 3 days, because waking trees drink first.",
    Evidence.COMMON_PRACTICE,
)
APRIL = CheckInterval(1, 1, "April: every day.", Evidence.COMMON_PRACTICE)
GROWING = CheckInterval(
    1,
    1,
    "May to September: every day, because a potted tree in leaf can dry out in one.",
    Evidence.OWN_CHOICE,
)
BY_MONTH = {
    10: AUTUMN,
    11: AUTUMN,
    12: WINTER,
    1: WINTER,
    2: WINTER,
    3: MARCH,
    4: APRIL,
}


def check_interval(on: date) -> CheckInterval:
    """How often moisture is checked in the season of a day (northern hemisphere)."""
    return BY_MONTH.get(on.month, GROWING)


@dataclass(frozen=True)
class NextCheck:
    """When the moisture of a pot is to be checked next.

    earliest, latest  the days between which it is due
    overdue           true on a day after the latest
    """

    earliest: date
    latest: date
    overdue: bool
    because: str


def next_check(last_check: date | None, on: date) -> NextCheck:
    """When a pot that was last checked on a day is due, seen from the day `on`.

    Due is the first day on which the interval of that day's own season has passed, so
    a pot checked at the end of February is due by the closer rounds of March. A pot
    that was never checked is due now.
    """
    if last_check is None:
        return NextCheck(on, on, False, "No check has been recorded yet.")
    earliest = _first_day(last_check, latest=False)
    latest = _first_day(last_check, latest=True)
    because = check_interval(earliest).because
    return NextCheck(earliest, latest, on > latest, because)


def _first_day(last_check: date, *, latest: bool) -> date:
    passed = 1
    while True:
        day = last_check + timedelta(days=passed)
        interval = check_interval(day)
        if passed >= (interval.latest_days if latest else interval.earliest_days):
            return day
        passed += 1


def in_zero_curtain(root: Hourly, air: Hourly) -> bool:
    """Whether a root ball is freezing or thawing, held at 0 °C by its ice.

    True if in each of the last 3 hours that both know the root zone was within 0.3 K
    of 0 °C while the air was below 0 °C; false if there are not 3 such hours in a row.
    """
    end = min(root.end_hour, air.end_hour)
    roots = root.window(end - CURTAIN_H, end).c
    airs = air.window(end - CURTAIN_H, end).c
    return bool(np.all((np.abs(roots) < FROZEN_C) & (airs < 0.0)))


def why_not_water(
    root_c_now: float | None,
    air_c_now: float | None,
    zero_curtain: bool,
    *,
    air_mean_24h_c: float | None = None,
    forecast_low_c: float | None = None,
    water_c: float | None = None,
) -> list[str]:
    """Reasons not to water now, as sentences; none means that nothing known forbids it.

    root_c_now      root zone now [°C]; None if no probe is there
    air_c_now       air in the frame now [°C]; None if not known
    zero_curtain    from in_zero_curtain
    air_mean_24h_c  mean of the air over the last 24 h [°C], which stands in for a probe
    forecast_low_c  lowest air expected in the frame within 24 h [°C]; None if unknown
    water_c         temperature of the water [°C]; None if not measured

    Own choice, after Rutgers NJAES FS528 and UMass Extension on overwintering container
    plants. What is not known is itself a reason to look first.
    """
    reasons = [_root_reason(root_c_now, zero_curtain, air_mean_24h_c)]
    if air_c_now is None:
        reasons.append("The air in the frame is not known: read it before watering.")
    elif air_c_now < COLD_AIR_C:
        reasons.append(
            f"The air in the frame is {air_c_now:.1f} °C: wait until it is above "
            f"{COLD_AIR_C:.0f} °C and rising."
        )
    if forecast_low_c is not None and forecast_low_c < COLD_FORECAST_C:
        reasons.append(
            f"The frame is expected to fall to {forecast_low_c:.1f} °C within 24 hours."
        )
    if water_c is not None and water_c < COLD_WATER_C:
        reasons.append(
            f"The water is at {water_c:.1f} °C: use water of at least "
            f"{COLD_WATER_C:.0f} °C."
        )
    return [reason for reason in reasons if reason]


def _root_reason(
    root_c_now: float | None, zero_curtain: bool, air_mean_24h_c: float | None
) -> str:
    if zero_curtain:
        return (
            "The root ball has been at 0 °C for hours in freezing air: it is freezing "
            "or frozen. Let it thaw slowly, and pour no warm water."
        )
    if root_c_now is not None:
        if root_c_now > FROZEN_C:
            return ""
        return (
            f"The root ball is at {root_c_now:.1f} °C and may be frozen: let it thaw "
            "slowly, and pour no warm water."
        )
    if air_mean_24h_c is None:
        return "The root zone is not known: feel the root ball before watering."
    if air_mean_24h_c <= 0.0:
        return (
            f"There is no probe in the pot and the air was {air_mean_24h_c:.1f} °C on "
            "average over 24 hours: the root ball may be frozen."
        )
    return ""
