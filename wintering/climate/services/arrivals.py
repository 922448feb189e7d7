"""Taking in what loggers send.

Merging into a packed day at each post would be too dear for a logger that posts every
second. So a post is kept as one short row, an Arrival, before it is answered; arrivals
are folded into their days together, at most once in FOLD_EVERY for one logger.
"""

import logging
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from itertools import groupby
from typing import Self

import numpy as np
from django.db import DatabaseError, transaction
from django.db.models import Min
from numpy.typing import NDArray

from wintering.climate.measurements import Measurement
from wintering.climate.models import Arrival, Logger, LoggerChannel, LogImport, Sensor
from wintering.climate.services.channels import channels_of
from wintering.climate.services.imports import take_rows
from wintering.climate.services.storing import Stored, store_readings

# Own choices, all three.
# A logger that posts once a minute is folded at every post, so that its answers tell
# what became of the readings; readings of quicker ones lag by up to this.
FOLD_EVERY = timedelta(seconds=50)
BIG = 1_000  # readings of one post that are not left waiting
_AT_ONCE = 2_000  # arrivals in one transaction, so that it stays short

log = logging.getLogger(__name__)


@dataclass(frozen=True, slots=True)
class Folded:
    """What became of the readings of some arrivals."""

    arrivals: int = 0
    added: int = 0
    unchanged: int = 0
    conflicts: int = 0
    marked: int = 0  # of those added: kept, but set aside by a check

    @classmethod
    def of(cls, stored: Stored) -> Self:
        return cls(
            added=stored.added,
            unchanged=stored.unchanged,
            conflicts=stored.conflict_count,
            marked=stored.marked,
        )

    def __add__(self, other: "Folded") -> "Folded":
        return Folded(
            self.arrivals + other.arrivals,
            self.added + other.added,
            self.unchanged + other.unchanged,
            self.conflicts + other.conflicts,
            self.marked + other.marked,
        )


@transaction.atomic
def receive(
    *, logger: Logger, measurements: Sequence[Measurement], at: datetime
) -> Folded | None:
    """Keep what a logger in use sent at an instant, all of it or nothing.

    Returns what became of it and of those that waited before it, merged together; or
    None while it waits: it is kept all the same.
    """
    channels = channels_of(logger, measurements)
    readings = [
        [channels[m.name].pk, m.second, m.thousandths(channels[m.name].unit)]
        for m in measurements
    ]
    arrival = Arrival(logger=logger, at=at, readings=readings)
    arrival.save(force_insert=True)
    if len(measurements) < BIG and not _is_due(logger, at):
        return None
    folded = _fold_once(logger)
    # Behind many it may wait on: only the oldest were folded.
    return None if logger.arrivals.filter(pk=arrival.pk).exists() else folded


def fold_logger(*, logger: Logger) -> Folded:
    """Fold whatever of a logger waits, in short transactions."""
    total = Folded()
    while (folded := _fold_once(logger)).arrivals:
        total += folded
    return total


def fold_arrivals(*, at: datetime, waiting_for: timedelta = timedelta()) -> int:
    """Fold all loggers of which something has waited so long; returns arrivals.

    One that cannot be folded now is tried again the next time and holds up no other.
    """
    waiting = Arrival.objects.order_by().values("logger").annotate(oldest=Min("at"))
    due = waiting.filter(oldest__lte=at - waiting_for).values("logger")
    count = 0
    for logger in Logger.objects.filter(pk__in=due):
        try:
            count += fold_logger(logger=logger).arrivals
        except DatabaseError:
            log.exception("what logger %s sent could not be folded yet", logger.pk)
    return count


def _is_due(logger: Logger, at: datetime) -> bool:
    last = logger.heard_at  # set where its arrivals are folded
    return last is None or turn_of(logger, last) != turn_of(logger, at)


def turn_of(logger: Logger, at: datetime) -> int:
    """Counts FOLD_EVERY, for each logger from a beginning of its own.

    The beginnings lie evenly over the span, however many loggers there are (steps of
    the golden ratio), so that not all of them are folded in the same second.
    """
    every_s = FOLD_EVERY.total_seconds()
    return int((at.timestamp() / every_s + logger.pk * 0.6180339887) // 1)


@transaction.atomic
def _fold_once(logger: Logger) -> Folded:
    """Fold the oldest of a logger's arrivals."""
    # Held, so that two who fold at once do not fold the same; new ones may arrive.
    Logger.objects.select_for_update(no_key=True).get(pk=logger.pk)
    arrivals = list(logger.arrivals.order_by("pk")[:_AT_ONCE])
    if not arrivals:
        return Folded()
    total = Folded(arrivals=len(arrivals))
    for _, some in groupby(arrivals, key=lambda one: one.at.astimezone(UTC).date()):
        total += _fold_day(logger, list(some))
    Arrival.objects.filter(pk__in=[one.pk for one in arrivals]).delete()
    Logger.objects.filter(pk=logger.pk).update(heard_at=arrivals[-1].at)
    return total


def _fold_day(logger: Logger, arrivals: list[Arrival]) -> Folded:
    """Fold what was received on one UTC day, each reading with a row of its own."""
    sent = np.array([r for one in arrivals for r in one.readings], dtype=np.int64)
    origin, rows = take_rows(logger=logger, received_at=arrivals[0].at, count=len(sent))
    sensors = _sensors(sent[:, 0])
    total = Folded()
    # In order of key, so that two loggers that share sensors never wait crosswise.
    for pk in sorted({sensor.pk for sensor in sensors.values()}):
        channels = [c for c, sensor in sensors.items() if sensor.pk == pk]
        is_its = np.isin(sent[:, 0], channels)
        stored = store_readings(
            sensor=sensors[channels[0]],
            seconds=sent[is_its, 1],
            thousandths=sent[is_its, 2].astype(np.int32),
            origin=origin,
            rows=rows[is_its],
        )
        total += Folded.of(stored)
    _count_up(origin, len(sent), total, arrivals[-1].at)
    return total


def _sensors(channels: NDArray[np.int64]) -> dict[int, Sensor]:
    found = LoggerChannel.objects.filter(pk__in=np.unique(channels).tolist())
    return {channel.pk: channel.sensor for channel in found.select_related("sensor")}


def _count_up(origin: LogImport, read: int, folded: Folded, at: datetime) -> None:
    now = {
        "read": read,
        "added": folded.added,
        "unchanged": folded.unchanged,
        "conflicts": folded.conflicts,
        "marked": folded.marked,
    }
    told = origin.report
    origin.report = told | {name: told.get(name, 0) + n for name, n in now.items()}
    origin.at = max(origin.at, at)
    origin.save(update_fields=["report", "at"])
