"""Sensors that no longer speak."""

from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

from wintering.climate.models import Sensor
from wintering.forecast.findings.statements import Finding, Statement, moment_words
from wintering.forecast.models import Flag

QUIET_FOR, SILENT_FOR = timedelta(hours=6), timedelta(hours=24)
"""A sensor is quiet after six hours and silent after a day: own choice."""

PUT_AWAY_AFTER = timedelta(days=30)
"""One that has not read for so long is taken to be out of use: own choice."""


def quiet_finding(
    sensor: Sensor, last_at: datetime | None, at: datetime
) -> Finding | None:
    """A sensor that was in use and has gone quiet."""
    if last_at is None or not QUIET_FOR <= at - last_at < PUT_AWAY_AFTER:
        return None
    silent = at - last_at >= SILENT_FOR
    hours = (at - last_at) / timedelta(hours=1)
    return Finding(
        kind=Flag.Kind.SENSOR_QUIET,
        level=Flag.Level.TONIGHT if silent else Flag.Level.WEEK,
        since=last_at,
        evidence=(
            Statement(
                f"Hours since the last reading of {sensor.name} "
                f"({sensor.get_place_display()}), "
                f"{moment_words(last_at, ZoneInfo(sensor.frame.time_zone))}",
                round(hours, 1),
                "h",
                "the log",
            ),
        ),
        advice=(
            "Go and look: battery, cable, logger, power. Until it reads again nothing "
            "is known of its place; no news is not good news."
        ),
    )
