"""Keeping what a bridge hears at a broker, and remembering that it was kept."""

from collections.abc import Sequence
from datetime import datetime
from typing import Any

import numpy as np
from django.core.exceptions import ValidationError
from django.db import transaction
from numpy.typing import NDArray

from wintering.climate.measurements import Measurement
from wintering.climate.models import Logger, LogImport, Sensor
from wintering.climate.services.arrivals import Folded
from wintering.climate.services.channels import channels_of
from wintering.climate.services.imports import take_rows
from wintering.climate.services.storing import store_readings
from wintering.frames.models import Frame
from wintering.people.services import record

# As many as a broker may have under way to a bridge; it repeats only such ones.
DELIVERIES_REMEMBERED = 500
# Kept in one day's report, which is written with each batch: own choices.
_MOST_UNTIMED = 5_000  # values without a time
_MOST_SET_ASIDE = 1_000  # messages

Delivery = tuple[int, int]  # the broker's number of a message, and its check sum


class LoggerEnded(ValidationError):
    """A keeper took the logger out of use; nothing more of it is kept."""


@transaction.atomic
def bridge_of(*, frame: Frame, name: str, at: datetime) -> Logger:
    """The logger that stands for a bridge, made where it is new."""
    logger = known_bridge(frame, name)
    if logger is None:
        logger = Logger(frame=frame, name=name, way=Logger.Way.MQTT, added_at=at)
        logger.full_clean()
        logger.save()
        record(None, "added", logger, name=name, frame=frame.slug)
    return logger


def known_bridge(frame: Frame, name: str) -> Logger | None:
    """The logger that stands for a bridge; refused where the name means another."""
    logger = frame.loggers.filter(name=name).first()
    if logger and logger.way != Logger.Way.MQTT:
        raise ValidationError(
            f"{name} is a logger that sends by HTTP; use another name."
        )
    if logger and logger.ended_at:
        raise LoggerEnded(f"{name} was taken out of use; give the bridge another name.")
    return logger


def last_heard(frame: Frame, name: str) -> datetime | None:
    """When a bridge certainly listened; None where there was none of that name."""
    logger = known_bridge(frame, name)
    return (logger.heard_at or logger.added_at) if logger else None


def deliveries_kept(logger: Logger) -> list[Delivery]:
    """The last messages that were kept, also those of which the broker was not told."""
    last = logger.log_imports.order_by("received_on", "pk").last()
    kept = last.report.get("deliveries", []) if last else []
    return [(mid, check) for mid, check in kept]


@transaction.atomic
def keep_heard(
    *,
    logger: Logger,
    measurements: Sequence[Measurement],
    untimed: Sequence[dict[str, object]],
    set_aside: Sequence[dict[str, object]],
    not_understood: int,
    deliveries: Sequence[Delivery],
    at: datetime,
) -> Folded:
    """Store measurements and remember the messages that brought them, in one.

    untimed     values of which nobody knows when they were measured: they are kept in
                the day's report and are no readings
    set_aside   messages that are not understood, or whose name no sensor may have:
                kept in the day's report too, so that a keeper can look at them
    deliveries  the messages whose content this is, after those remembered before
    """
    if not Logger.objects.filter(pk=logger.pk, ended_at=None).update(heard_at=at):
        raise LoggerEnded(f"{logger.name} was taken out of use; nothing is kept.")
    origin, rows = take_rows(logger=logger, received_at=at, count=len(measurements))
    kept = _stored(logger, measurements, origin, rows)
    counts = {
        "read": len(measurements),
        "added": kept.added,
        "unchanged": kept.unchanged,
        "conflicts": kept.conflicts,
        "marked": kept.marked,
        "not_understood": not_understood,
    }
    _count_up(origin, counts, deliveries)
    origin.report |= {
        "untimed": _more(origin, "untimed", untimed, _MOST_UNTIMED),
        "set_aside": _more(origin, "set_aside", set_aside, _MOST_SET_ASIDE),
    }
    origin.save(update_fields=["report"])
    return kept


def _stored(
    logger: Logger,
    measurements: Sequence[Measurement],
    origin: LogImport,
    rows: NDArray[np.int64],
) -> Folded:
    by_sensor = _by_sensor(logger, measurements)
    kept = Folded()
    # In order of key, so that two loggers that share sensors never wait crosswise.
    for pk in sorted(by_sensor):
        sensor, at_rows = by_sensor[pk]
        mine = [measurements[i] for i in at_rows]
        stored = store_readings(
            sensor=sensor,
            seconds=np.array([m.second for m in mine], np.int64),
            thousandths=np.array([m.thousandths(sensor.unit) for m in mine], np.int32),
            origin=origin,
            rows=rows[at_rows],
        )
        kept += Folded.of(stored)
    return kept


def _by_sensor(
    logger: Logger, measurements: Sequence[Measurement]
) -> dict[int, tuple[Sensor, list[int]]]:
    """Which of the measurements, by their place in order, are whose sensor's."""
    channels_of(logger, measurements)  # makes those that are new
    channels = logger.channels.select_related("sensor")
    sensors = {channel.name: channel.sensor for channel in channels}
    found: dict[int, tuple[Sensor, list[int]]] = {}
    for i, one in enumerate(measurements):
        sensor = sensors[one.name]
        found.setdefault(sensor.pk, (sensor, []))[1].append(i)
    return found


def _count_up(
    origin: LogImport,
    counts: dict[str, int],
    deliveries: Sequence[Delivery],
) -> None:
    report: dict[str, Any] = origin.report
    summed = {name: report.get(name, 0) + count for name, count in counts.items()}
    origin.report = {
        **report,
        **summed,
        "deliveries": [*deliveries][-DELIVERIES_REMEMBERED:],
    }


def _more(
    origin: LogImport, name: str, new: Sequence[dict[str, object]], most: int
) -> list[dict[str, object]]:
    """What the report holds under a name, and after it what is new."""
    return [*origin.report.get(name, []), *new][:most]
