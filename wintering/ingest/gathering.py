"""A log's readings into its sensors, gathered so that a day is not written often."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import UTC, datetime

import numpy as np

from wintering.climate.models import LogImport, Sensor
from wintering.climate.queries import as_shown
from wintering.climate.services import Stored, store_readings
from wintering.ingest.headings import Unit
from wintering.ingest.opening import Part
from wintering.ingest.report import MOST_LISTED, ConflictRow, SensorReport
from wintering.ingest.scanning import Int32, Int64
from wintering.science.screening import REACH_S, Quality
from wintering.science.units import TemperatureUnit

TOGETHER = 1_000_000  # readings; more are stored and let go of: own choice
_NEVER = 2**62


@dataclass(slots=True, eq=False)
class Gathered:
    """One sensor's readings that wait to be stored, and what became of the others."""

    sensor: Sensor
    unit: Unit  # of the file
    parts: list[Part] = field(default_factory=list)
    count: int = 0
    read: int = 0
    added: int = 0
    marked: int = 0
    unchanged: int = 0
    conflict_count: int = 0
    conflicts: list[ConflictRow] = field(default_factory=list)
    first: int = _NEVER
    last: int = -_NEVER
    low: float = np.inf
    high: float = -np.inf

    def report(self) -> SensorReport:
        has_extremes = self.low <= self.high
        return SensorReport(
            place=self.sensor.place,
            unit=self.sensor.unit,
            read=self.read,
            added=self.added,
            marked=self.marked,
            unchanged=self.unchanged,
            replaced=0,
            conflicts=self.conflicts,
            conflicts_count=self.conflict_count,
            first=_iso(self.first) if self.first <= self.last else None,
            last=_iso(self.last) if self.first <= self.last else None,
            min_c=round(self.low, 3) if has_extremes else None,
            max_c=round(self.high, 3) if has_extremes else None,
        )


class Gathering:
    """Stores what was gathered whenever it is enough, and the rest at the end."""

    def __init__(self, sensors: Sequence[tuple[Sensor, Unit]], came: LogImport) -> None:
        self.series = [Gathered(sensor, unit) for sensor, unit in sensors]
        self._came = came
        self._count = 0
        self._listed = 0

    def add(self, part: Part) -> None:
        gathered = self.series[part.which]
        gathered.parts.append(part)
        gathered.count += len(part.seconds)
        self._count += len(part.seconds)
        if self._count >= TOGETHER:
            self._store_all(is_last=False)

    def finish(self) -> list[SensorReport]:
        self._store_all(is_last=True)
        return [gathered.report() for gathered in self.series]

    def _store_all(self, *, is_last: bool) -> None:
        for gathered in self.series:
            if gathered.parts:
                self._store(gathered, is_last=is_last)
        self._count = sum(gathered.count for gathered in self.series)

    def _store(self, gathered: Gathered, *, is_last: bool) -> None:
        seconds = np.concatenate([part.seconds for part in gathered.parts])
        values = np.concatenate([part.thousandths for part in gathered.parts])
        row = np.concatenate([part.row for part in gathered.parts])
        gathered.parts, gathered.count = [], 0
        if not is_last:
            held = _at_the_border(seconds)
            if held.any():
                kept = Part(0, seconds[held], values[held], row[held])
                gathered.parts, gathered.count = [kept], len(kept.seconds)
                seconds, values, row = seconds[~held], values[~held], row[~held]
        values = in_unit_of(gathered.sensor, gathered.unit, values)
        stored = store_readings(
            sensor=gathered.sensor,
            seconds=seconds,
            thousandths=values,
            origin=self._came,
            rows=row,
        )
        self._note(gathered, seconds, values, row, stored)

    def _note(
        self,
        gathered: Gathered,
        seconds: Int64,
        values: Int32,
        row: Int32,
        stored: Stored,
    ) -> None:
        sensor = gathered.sensor
        gathered.read += len(seconds)
        gathered.added += stored.added
        gathered.marked += stored.marked
        gathered.unchanged += stored.unchanged
        gathered.conflict_count += stored.conflict_count
        for conflict in stored.first_conflicts(MOST_LISTED - self._listed):
            self._listed += 1
            gathered.conflicts.append(
                ConflictRow(
                    row=int(row[conflict.index]),
                    sensor=sensor.name,
                    at=_iso(int(seconds[conflict.index])),
                    stored=conflict.stored / 1000,
                    new=conflict.new / 1000,
                )
            )
        counts = stored.stands & (stored.quality == Quality.GOOD)
        if not counts.any():
            return
        gathered.first = min(gathered.first, int(seconds[counts].min()))
        gathered.last = max(gathered.last, int(seconds[counts].max()))
        if sensor.quantity == Sensor.Quantity.TEMPERATURE:
            ends = np.array([values[counts].min(), values[counts].max()], np.int32)
            shown = as_shown(sensor, ends)
            gathered.low = min(gathered.low, float(shown[0]))
            gathered.high = max(gathered.high, float(shown[1]))


def in_unit_of(sensor: Sensor, unit: Unit, thousandths: Int32) -> Int32:
    if sensor.unit == unit:
        return thousandths
    c = TemperatureUnit(unit).to_c(thousandths / 1000)
    turned = TemperatureUnit(sensor.unit).from_c(c)
    return np.rint(np.clip(turned * 1000, -(2**31) + 1, 2**31 - 1)).astype(np.int32)


def _at_the_border(seconds: Int64) -> np.ndarray:
    """Readings whose verdict may hang on what the file has next: they wait for it."""
    if seconds[-1] < seconds[0]:
        held = seconds < seconds.min() + REACH_S
    else:
        held = seconds > seconds.max() - REACH_S
    is_few = np.count_nonzero(held) * 2 <= len(seconds)
    return held if is_few else np.zeros(len(seconds), bool)


def _iso(second: int) -> str:
    return datetime.fromtimestamp(second, UTC).isoformat()
