"""Which loggers there are, and which one a token belongs to."""

import hashlib

from django.db.models import Max, QuerySet
from django.db.models.functions import Coalesce

from wintering.climate.models import Logger, LoggerChannel, Sensor
from wintering.people.models import User


def loggers_for(user: User) -> QuerySet[Logger]:
    """Those who work here see every logger; clients see none."""
    if not user.is_staffing:
        return Logger.objects.none()
    # What has just arrived and is not folded yet was heard last.
    newest = Coalesce(Max("arrivals__at"), "heard_at")
    return Logger.objects.select_related("frame").annotate(last_at=newest)


def sensors_for_channel(
    logger: Logger, channel: LoggerChannel | None = None
) -> QuerySet[Sensor]:
    """What a channel of a logger may be: a sensor of its frame that records by itself,
    and that measures the same as before.
    """
    sensors = logger.frame.sensors.filter(is_min_max=False)
    return sensors.filter(quantity=channel.sensor.quantity) if channel else sensors


def hash_of(token: str) -> str:
    """What is kept of a token: long and random as it is, its hash tells nothing."""
    return hashlib.sha256(token.encode("utf-8", "surrogatepass")).hexdigest()


def logger_of_token(token: str) -> Logger | None:
    """The logger that may send with this token; one that was ended may not."""
    # Asked at every post, so in plain words: building them took longer than the answer.
    # The index leaves out loggers without a token; said again, so that it is used.
    found = Logger.objects.raw(
        "SELECT * FROM climate_logger"
        " WHERE token_hash = %s AND NOT token_hash = '' AND ended_at IS NULL",
        [hash_of(token)],
    )
    return next(iter(found), None)
