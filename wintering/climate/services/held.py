"""A sensor's stored days while they are changed: readings, and where they came from."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, datetime

import numpy as np
from django.db.models import QuerySet
from numpy.typing import NDArray

from wintering.climate.models import ReadingDay, Sensor
from wintering.climate.origins import Origins, pack_origins, unpack_origins
from wintering.climate.storage import (
    DAY_S,
    Readings,
    day_of,
    pack,
    pack_hours,
    unpack_days,
)


@dataclass(frozen=True, eq=False)
class Held:
    """Readings and their origins, side by side."""

    readings: Readings
    origins: Origins

    @classmethod
    def joined(cls, parts: Iterable["Held"]) -> "Held":
        parts = list(parts)
        return cls(
            Readings.joined(part.readings for part in parts),
            Origins.joined(part.origins for part in parts),
        )

    def __len__(self) -> int:
        return len(self.readings)

    def at(self, chosen: NDArray[np.bool_] | NDArray[np.int64] | slice) -> "Held":
        return Held(self.readings.at(chosen), self.origins.at(chosen))

    def judged_as(self, quality: NDArray[np.uint8]) -> "Held":
        judged = Readings(self.readings.seconds, self.readings.thousandths, quality)
        return Held(judged, self.origins)


def days_held(
    sensor: Sensor, first_s: int | None = None, last_s: int | None = None
) -> Held:
    """The days between two seconds, both included, held until the transaction ends."""
    days = sensor.days.order_by("day").select_for_update()
    if first_s is not None:
        days = days.filter(day__gte=day_of(first_s))
    if last_s is not None:
        days = days.filter(day__lte=day_of(last_s))
    return of_days(days)


def of_days(days: QuerySet) -> Held:
    """The rows of packed days, with their origins, in order."""
    rows = list(days.values_list("day", "packed", "count", "origin"))
    return Held(
        unpack_days([(day, packed) for day, packed, _, _ in rows]),
        Origins.joined(unpack_origins(origin, count) for *_, count, origin in rows),
    )


def by_day(held: Held, days: NDArray[np.int64]) -> Iterable[tuple[int, Held]]:
    """The part of each day, counted from 1970, of readings in order of time."""
    of_day = held.readings.seconds // DAY_S
    starts = np.searchsorted(of_day, days)
    ends = np.searchsorted(of_day, days, side="right")
    for day, start, end in zip(days.tolist(), starts, ends, strict=True):
        yield day, held.at(slice(int(start), int(end)))


def write_days(sensor: Sensor, held: Held, days: NDArray[np.int64]) -> None:
    """Store the named days, counted from 1970; one that is left empty goes."""
    rows, empty = [], []
    for day, part in by_day(held, days):
        if len(part):
            rows.append(_day_row(sensor, part))
        else:
            empty.append(day_of(day * DAY_S))
    if empty:
        sensor.days.filter(day__in=empty).delete()
    ReadingDay.objects.bulk_create(
        rows,
        update_conflicts=True,
        unique_fields=["sensor", "day"],
        update_fields=[
            "count",
            "marked",
            "low",
            "high",
            "first_at",
            "last_at",
            "packed",
            "hours",
            "origin",
        ],
    )


def _day_row(sensor: Sensor, held: Held) -> ReadingDay:
    readings = held.readings
    counted = readings.counted.thousandths
    day = day_of(int(readings.seconds[0]))
    return ReadingDay(
        sensor=sensor,
        day=day,
        count=len(readings),
        marked=len(readings) - len(counted),
        low=int(counted.min()) if len(counted) else None,
        high=int(counted.max()) if len(counted) else None,
        first_at=datetime.fromtimestamp(int(readings.seconds[0]), UTC),
        last_at=datetime.fromtimestamp(int(readings.seconds[-1]), UTC),
        packed=pack(day, readings),
        hours=pack_hours(day, readings),
        origin=pack_origins(held.origins),
    )
