"""Values of an import beside those that stand at the same instants."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from itertools import groupby

import numpy as np
from numpy.typing import NDArray

from wintering.climate.models import ConflictDay, LogImport, ReadingDay, Sensor
from wintering.climate.origins import unpack_origins
from wintering.climate.queries.offsets import as_shown
from wintering.climate.storage import Readings, unpack_days
from wintering.science.disagreement import Disagreement, disagreement

SHOWN = 500  # rows told one by one
_AROUND = timedelta(days=2)  # beside the conflicts, so that clocks can be compared


@dataclass(frozen=True, slots=True)
class Pair:
    """Two values at one instant, in the sensor's own unit and in °C or %."""

    at: datetime
    row: int  # of the value that does not stand, in its own source
    stands: float
    stands_shown: float
    other: float
    other_shown: float


@dataclass(frozen=True, slots=True)
class SensorConflicts:
    """Values of one sensor that differ, all still to be settled or settled together."""

    sensor: Sensor
    settled: ConflictDay | None  # who, when, why; None while a keeper has to choose
    count: int
    first: datetime
    last: datetime
    difference: Disagreement | None  # None where nothing stands there any more
    pairs: tuple[Pair, ...]  # the first of them

    @property
    def is_open(self) -> bool:
        return self.settled is None


def conflicts_of(log_import: LogImport) -> list[SensorConflicts]:
    """An import's conflicts, by sensor; those to be settled first."""
    rows = list(
        log_import.conflict_days.select_related("sensor__frame", "settled_by").order_by(
            "sensor__name", "sensor_id", "settled_at", "day"
        )
    )
    if not rows:
        return []
    standing = _standing(rows)
    found = [
        _told(list(group), standing.get(key[0], Readings.none()))
        for key, group in groupby(rows, key=lambda r: (r.sensor_id, r.settled_at))
    ]
    return sorted(found, key=lambda told: not told.is_open)


def _standing(rows: Sequence[ConflictDay]) -> dict[int, Readings]:
    """What is stored of the sensors around the conflicts, in one look."""
    days = ReadingDay.objects.filter(
        sensor_id__in={row.sensor_id for row in rows},
        day__gte=min(row.day for row in rows) - _AROUND,
        day__lte=max(row.day for row in rows) + _AROUND,
    ).order_by("sensor_id", "day")
    found = groupby(days.values_list("sensor_id", "day", "packed"), lambda row: row[0])
    return {
        pk: unpack_days([(day, packed) for _, day, packed in group])
        for pk, group in found
    }


def _told(rows: list[ConflictDay], standing: Readings) -> SensorConflicts:
    sensor = rows[0].sensor
    other = unpack_days([(row.day, row.packed) for row in rows])
    source_row = np.concatenate([unpack_origins(r.origin, r.count).row for r in rows])
    at = np.searchsorted(standing.seconds, other.seconds)
    at = np.minimum(at, max(len(standing) - 1, 0))
    is_there = np.zeros(len(other), bool)
    if len(standing):
        is_there = standing.seconds[at] == other.seconds
    both, stands = other.at(is_there), standing.at(at[is_there])
    return SensorConflicts(
        sensor=sensor,
        settled=rows[0] if rows[0].settled_at else None,
        count=len(other),
        first=_instant(other.seconds[0]),
        last=_instant(other.seconds[-1]),
        difference=_difference(sensor, both, stands, standing),
        pairs=_pairs(sensor, both, stands, source_row[is_there]),
    )


def _difference(
    sensor: Sensor, other: Readings, stands: Readings, standing: Readings
) -> Disagreement | None:
    if not len(other):
        return None
    return disagreement(
        other.seconds,
        as_shown(sensor, stands.thousandths),
        as_shown(sensor, other.thousandths),
        around_s=standing.seconds,
        around_c=as_shown(sensor, standing.thousandths),
    )


def _pairs(
    sensor: Sensor, other: Readings, stands: Readings, row: NDArray[np.int64]
) -> tuple[Pair, ...]:
    some = slice(0, SHOWN)
    return tuple(
        Pair(_instant(second), int(source_row), raw / 1000, shown, raw2 / 1000, shown2)
        for second, source_row, raw, shown, raw2, shown2 in zip(
            other.seconds[some],
            row[some],
            stands.thousandths[some].tolist(),
            as_shown(sensor, stands.thousandths[some]).tolist(),
            other.thousandths[some].tolist(),
            as_shown(sensor, other.thousandths[some]).tolist(),
            strict=True,
        )
    )


def _instant(second: np.int64) -> datetime:
    return datetime.fromtimestamp(int(second), UTC)
