"""What an import holds of a frame's readings, and what taking it back would do."""

from collections import Counter
from dataclasses import dataclass
from datetime import UTC, date, datetime

import numpy as np
from numpy.typing import NDArray

from wintering.climate.models import ConflictDay, LogImport, ReadingDay, Sensor
from wintering.climate.origins import sources_in, unpack_origins
from wintering.climate.storage import unpack


@dataclass(frozen=True, slots=True)
class Share:
    """The readings of one sensor that came from an import and stand now."""

    sensor: Sensor
    count: int
    first: datetime
    last: datetime


@dataclass(frozen=True, slots=True)
class ComingBack:
    """Values of another import that have had to give way, and how many return."""

    log_import: LogImport | None  # None: stored before origins were kept
    count: int


def shares_of(log_import: LogImport) -> list[Share]:
    """What an import holds, by the names of its sensors."""
    counts: Counter[int] = Counter()
    ends: dict[int, tuple[date, date]] = {}
    days = ReadingDay.objects.filter(sensor__frame=log_import.frame_id)
    rows = days.order_by("sensor_id", "day")
    for pk, day, count, origin in rows.values_list(
        "sensor_id", "day", "count", "origin"
    ).iterator():
        if log_import.pk not in sources_in(origin):
            continue
        own = unpack_origins(origin, count).source == log_import.pk
        counts[pk] += int(own.sum())
        ends[pk] = (ends[pk][0] if pk in ends else day, day)
    seconds = _own_seconds(log_import, ends)
    sensors = Sensor.objects.select_related("frame").in_bulk(list(counts))
    found = [
        Share(
            sensors[pk],
            count,
            _instant(seconds[pk, ends[pk][0]][0]),
            _instant(seconds[pk, ends[pk][1]][-1]),
        )
        for pk, count in counts.items()
    ]
    return sorted(found, key=lambda share: share.sensor.name)


def coming_back(log_import: LogImport) -> list[ComingBack]:
    """Values that take the places which an import leaves.

    Those that a keeper had replaced by its values come first, then values of others
    that differ and are not settled, the oldest first.
    """
    returned: Counter[int] = Counter()
    taken: dict[tuple[int, date], NDArray[np.int64]] = {}
    replaced = log_import.conflict_days.filter(took_new=True)
    others = (
        ConflictDay.objects.filter(settled_at=None, sensor__frame=log_import.frame_id)
        .exclude(log_import=log_import)
        .order_by("log_import_id", "day")
    )
    rows = [*replaced, *others]
    free = _own_at(log_import, {(row.sensor_id, row.day) for row in rows})
    for row in rows:
        key = (row.sensor_id, row.day)
        seconds = unpack(row.day, row.packed).seconds
        left = np.setdiff1d(free.get(key, _NONE), taken.get(key, _NONE))
        is_back = np.isin(seconds, left)
        taken[key] = np.union1d(taken.get(key, _NONE), seconds[is_back])
        source = unpack_origins(row.origin, row.count).source[is_back]
        returned.update(source.tolist())
    imports = LogImport.objects.in_bulk([pk for pk in returned if pk])
    return [ComingBack(imports.get(pk), n) for pk, n in sorted(returned.items())]


_NONE = np.empty(0, np.int64)


def _own_seconds(
    log_import: LogImport, ends: dict[int, tuple[date, date]]
) -> dict[tuple[int, date], NDArray[np.int64]]:
    wanted = {(pk, day) for pk, both in ends.items() for day in both}
    return _own_at(log_import, wanted)


def _own_at(
    log_import: LogImport, wanted: set[tuple[int, date]]
) -> dict[tuple[int, date], NDArray[np.int64]]:
    """The instants of an import's readings on some days of some sensors."""
    if not wanted:
        return {}
    rows = ReadingDay.objects.filter(
        sensor_id__in={pk for pk, _ in wanted},
        day__in={day for _, day in wanted},
    ).values_list("sensor_id", "day", "packed", "count", "origin")
    found = {}
    for pk, day, packed, count, origin in rows:
        if (pk, day) in wanted and log_import.pk in sources_in(origin):
            own = unpack_origins(origin, count).source == log_import.pk
            found[pk, day] = unpack(day, packed).seconds[own]
    return found


def _instant(second: np.int64) -> datetime:
    return datetime.fromtimestamp(int(second), UTC)
