"""Every reading back to the file and row, or the logger, that it came from."""

from dataclasses import dataclass
from datetime import datetime

import numpy as np
from numpy.typing import NDArray

from wintering.climate.models import LogImport, Sensor
from wintering.climate.origins import Origins, unpack_origins
from wintering.climate.queries.offsets import as_shown, offsets_of
from wintering.climate.storage import day_of, second_from, unpack_days


@dataclass(frozen=True, eq=False)
class Traced:
    """Readings in order of time: as the sensor showed them, corrected, and whence."""

    seconds: NDArray[np.int64]  # UTC, since 1970
    shown: NDArray[np.float64]  # °C or %, before any offset
    value: NDArray[np.float64]  # °C or %
    quality: NDArray[np.uint8]
    source: NDArray[np.int64]  # pk of the import, 0 where it is not known
    row: NDArray[np.int64]
    imports: dict[int, LogImport]  # those that occur

    def __len__(self) -> int:
        return len(self.seconds)


def traced(sensor: Sensor, start: datetime, end: datetime) -> Traced:
    """What a sensor measured from start up to and without end, with its origin."""
    first_s, end_s = second_from(start), second_from(end)
    days = sensor.days.filter(day__gte=day_of(first_s), day__lte=day_of(end_s))
    rows = list(days.order_by("day").values_list("day", "packed", "count", "origin"))
    found = unpack_days([(day, packed) for day, packed, _, _ in rows])
    origins = Origins.joined(unpack_origins(o, count) for _, _, count, o in rows)
    first, last = np.searchsorted(found.seconds, [first_s, end_s])
    window = slice(int(first), int(last))
    found, origins = found.at(window), origins.at(window)
    shown = as_shown(sensor, found.thousandths)
    used = np.unique(origins.source)
    return Traced(
        seconds=found.seconds,
        shown=shown,
        value=offsets_of([sensor])[sensor.pk].taken_off(found.seconds, shown),
        quality=found.quality,
        source=origins.source,
        row=origins.row,
        imports=LogImport.objects.in_bulk(used[used > 0].tolist()),
    )
