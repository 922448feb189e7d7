"""Loggers that send by themselves: their tokens, and which sensors they are."""

import secrets
from datetime import datetime

from django.core.exceptions import ValidationError
from django.db import transaction

from wintering.climate.models import Logger, LoggerChannel, Sensor
from wintering.climate.queries.loggers import hash_of
from wintering.climate.services.arrivals import fold_logger
from wintering.frames.models import Frame
from wintering.people.models import User
from wintering.people.services import record

TOKEN_BYTES = 32


@transaction.atomic
def add_logger(
    *, frame: Frame, name: str, by: User, at: datetime
) -> tuple[Logger, str]:
    """Enter a logger that sends by HTTP, and its token, which is told this once."""
    _keepers_only(by)
    token = secrets.token_urlsafe(TOKEN_BYTES)
    logger = Logger(frame=frame, name=name, token_hash=hash_of(token), added_at=at)
    logger.full_clean()
    logger.save()
    record(by, "added", logger, name=name, frame=frame.slug)
    return logger, token


@transaction.atomic
def renew_token(*, logger: Logger, by: User) -> str:
    """A new token; the one before opens nothing from now on."""
    _keepers_only(by)
    logger = _held(logger)
    _still_sending(logger)
    token = secrets.token_urlsafe(TOKEN_BYTES)
    logger.token_hash = hash_of(token)
    logger.save(update_fields=["token_hash"])
    record(by, "made a new token for", logger)
    return token


@transaction.atomic
def end_logger(*, logger: Logger, by: User, at: datetime) -> Logger:
    """Take a logger out of use: its token opens nothing, its readings stay."""
    _keepers_only(by)
    logger = _held(logger)
    if logger.ended_at:
        return logger
    fold_logger(logger=logger)
    logger.ended_at = at
    logger.save(update_fields=["ended_at"])
    record(by, "ended", logger)
    return logger


@transaction.atomic
def choose_sensor(
    *, logger: Logger, name: str, sensor: Sensor, by: User
) -> LoggerChannel:
    """Say which sensor a logger's channel is, from now on.

    What it has sent so far stays with the sensor that it was.
    """
    _keepers_only(by)
    _refuse_unfit(logger, sensor)
    # Held first: posts under way come to their end, later ones find the new sensor.
    held = logger.channels.select_for_update(of=("self",)).select_related("sensor")
    channel = held.filter(name=name).first()
    fold_logger(logger=logger)
    if channel and channel.sensor_id == sensor.pk:
        return channel
    was = channel.sensor.name if channel else None
    channel = channel or LoggerChannel(logger=logger, name=name)
    if channel.pk and channel.sensor.quantity != sensor.quantity:
        raise ValidationError(
            f"{name} sends {channel.sensor.get_quantity_display()}; choose a sensor "
            "that measures the same."
        )
    channel.sensor = sensor
    channel.full_clean()
    channel.save()
    record(by, "chose a sensor for", logger, channel=name, was=was, now=sensor.name)
    return channel


def _refuse_unfit(logger: Logger, sensor: Sensor) -> None:
    if sensor.frame_id != logger.frame_id:
        raise ValidationError(
            f"{sensor.name} stands in another frame; choose one of {logger.frame}."
        )
    if sensor.is_min_max:
        raise ValidationError(
            f"{sensor.name} is read by hand; choose a sensor that records by itself."
        )


def _still_sending(logger: Logger) -> None:
    if logger.ended_at:
        raise ValidationError(
            f"{logger.name} was taken out of use; add a logger of another name."
        )
    if logger.way != Logger.Way.HTTP:
        raise ValidationError(f"{logger.name} is heard through a broker: no token.")


def _held(logger: Logger) -> Logger:
    """Held as folding holds it: a post may refer to it meanwhile."""
    return Logger.objects.select_for_update(no_key=True).get(pk=logger.pk)


def _keepers_only(by: User) -> None:
    if not by.is_keeper:
        raise ValidationError("Only a keeper sets up loggers; ask one.")
