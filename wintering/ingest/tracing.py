"""Readings of one instant with all that is known of where they come from."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

import numpy as np

from wintering.climate.models import ConflictDay, LogImport, Sensor
from wintering.climate.origins import unpack_origins
from wintering.climate.queries import Traced, as_shown, traced
from wintering.climate.storage import day_of, unpack
from wintering.ingest.kept import line_of
from wintering.ingest.refusals import LogRefused
from wintering.science.screening import Quality
from wintering.science.units import TemperatureUnit

REACH = timedelta(days=2)  # the nearest reading is looked for so far away: own choice


@dataclass(frozen=True, slots=True)
class Rival:
    """Another value at that instant, which does not stand."""

    log_import: LogImport
    row: int
    value: float  # in the sensor's own unit
    shown: float  # °C or %
    day: ConflictDay  # who settled it, when, why


@dataclass(frozen=True, slots=True)
class OneReading:
    at: datetime
    utc_offset: str  # of the frame's clocks then: '+02:00'
    raw: float  # in the sensor's own unit
    shown: float  # °C or %, before any offset
    value: float  # °C or %
    counts: bool
    reason: str  # why it does not count
    log_import: LogImport | None
    row: int
    line: str | None  # as it stands in the kept file
    line_missing: str  # why there is none
    rivals: tuple[Rival, ...]

    @property
    def offset(self) -> float:
        """What a check in ice takes off [K]."""
        return round(self.shown - self.value, 3)


@dataclass(frozen=True, slots=True)
class Found:
    is_exact: bool
    readings: tuple[OneReading, ...]  # two where clocks showed the time twice


def found_at(sensor: Sensor, instants: Sequence[datetime]) -> Found:
    """The readings of some instants, or the one nearest to the first of them."""
    first, last = min(instants), max(instants)
    near = traced(sensor, first - REACH, last + REACH)
    if not len(near):
        return Found(False, ())
    asked = [int(at.timestamp()) for at in instants]
    at = np.flatnonzero(np.isin(near.seconds, asked))
    is_exact = bool(len(at))
    if not is_exact:
        at = np.array([np.argmin(np.abs(near.seconds - asked[0]))])
    return Found(is_exact, tuple(_one(sensor, near, int(i)) for i in at))


def _one(sensor: Sensor, near: Traced, i: int) -> OneReading:
    second, shown = int(near.seconds[i]), float(near.shown[i])
    came = near.imports.get(int(near.source[i]))
    row = int(near.row[i])
    line, missing = _line(came, row)
    quality = Quality(int(near.quality[i]))
    at = datetime.fromtimestamp(second, ZoneInfo(sensor.frame.time_zone))
    return OneReading(
        at=at,
        utc_offset=at.isoformat()[19:],
        raw=_own(sensor, shown),
        shown=shown,
        value=float(near.value[i]),
        counts=quality == Quality.GOOD,
        reason="" if quality == Quality.GOOD else quality.reason,
        log_import=came,
        row=row,
        line=line,
        line_missing=missing,
        rivals=tuple(_rivals(sensor, second)),
    )


def _line(came: LogImport | None, row: int) -> tuple[str | None, str]:
    if came is None:
        return None, "It was stored before origins were kept."
    if came.kind != LogImport.Kind.FILE:
        return None, "A logger sent it; there is no file."
    try:
        line = line_of(came, row)
    except LogRefused as refusal:
        return None, str(refusal)
    return line, "" if line is not None else "The kept file has no such row."


def _rivals(sensor: Sensor, second: int) -> list[Rival]:
    rows = sensor.conflict_days.filter(day=day_of(second))
    found = []
    for row in rows.select_related("log_import", "settled_by"):
        held = unpack(row.day, row.packed)
        for i in np.flatnonzero(held.seconds == second):
            # After a choice the values have changed places: the origin says whose.
            origin = unpack_origins(row.origin, row.count)
            source = int(origin.source[i])
            whose = row.log_import if source in {row.log_import_id, 0} else None
            found.append(
                Rival(
                    log_import=whose or LogImport.objects.get(pk=source),
                    row=int(origin.row[i]),
                    value=int(held.thousandths[i]) / 1000,
                    shown=float(as_shown(sensor, held.thousandths[i : i + 1])[0]),
                    day=row,
                )
            )
    return found


def _own(sensor: Sensor, shown: float) -> float:
    if sensor.quantity == Sensor.Quantity.HUMIDITY:
        return round(shown, 3)
    return round(float(TemperatureUnit(sensor.unit).from_c(shown)), 3)
