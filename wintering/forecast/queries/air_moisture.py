"""How moist the air of each microclimate is, and how that favours grey mould."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from functools import cached_property
from zoneinfo import ZoneInfo

import numpy as np
from numpy.typing import NDArray

from wintering.climate.models import Sensor
from wintering.climate.queries import hourly
from wintering.climate.sources import (
    AIR_PLACES,
    Source,
    humidity_sensors_of,
    sources_of,
)
from wintering.forecast.queries.exposure import hour_of
from wintering.frames.models import Frame, Microclimate
from wintering.science.humidity import DRIEST_PCT, WETTEST_PCT, usable_rh
from wintering.science.mould import (
    WATCH,
    WET_FROM_PCT,
    MouldLevel,
    MouldRisk,
    mould_risk,
)
from wintering.science.series import HOUR_S, Hourly
from wintering.science.vapour import over_water_kpa, vapour_kpa
from wintering.stays.queries import Place
from wintering.trees.models import Tree

LOOKED_BACK_H = 30 * 24
"""So many hours are looked at: frozen days end no wet spell, and a sensor that was
silent for longer is taken to be put away. Own choice."""

SUSCEPTIBLE = ("Sequoia", "Sequoiadendron", "Chamaecyparis", "Cupressus")
"""Evergreen redwood and cypress kinds are especially so: U.S. Forest Service, Forest
Nursery Pests, 'Gray Mold'."""


@dataclass(frozen=True, eq=False)
class PartAir:
    """The air of one microclimate by clock hours; not a number where it is missing.

    sensor      the humidity sensor that speaks for it
    hangs_in    where that sensor hangs, and the temperature there
    air         temperature of the microclimate itself [°C]
    vapour      in the air [kPa]: as at the sensor, for air in one frame mixes
    warning     a sentence if the sensor seems to have drifted, else empty
    """

    part: Microclimate
    sensor: Sensor
    air_source: Source
    hangs_in: Source
    air: Hourly
    vapour: Hourly
    warning: str

    @property
    def is_at_sensor(self) -> bool:
        return self.part.pk == self.sensor.microclimate_id

    @property
    def zone(self) -> ZoneInfo:
        return ZoneInfo(self.part.frame.time_zone)

    @property
    def measured_by(self) -> str:
        """The readings behind it, in words."""
        humid = f"{self.sensor.name}, relative humidity"
        named = dict.fromkeys((humid, str(self.hangs_in), str(self.air_source)))
        return "; ".join(named)


def rh_pct(air_c: NDArray[np.float64], kpa: NDArray[np.float64]) -> NDArray[np.float64]:
    """Relative humidity of vapour in air of a temperature; what is more settles."""
    return np.clip(100 * kpa / over_water_kpa(air_c), DRIEST_PCT, WETTEST_PCT)


def airs_of(
    part_ids: Iterable[int], at: datetime, looked_back_h: int = LOOKED_BACK_H
) -> dict[int, PartAir]:
    """The air of microclimates in the 30 days before an instant, or in so many hours.

    None, and no entry, where no humidity sensor speaks, or where no air temperature is
    known there or where the sensor hangs. A constant number of statements.
    """
    humid = humidity_sensors_of(part_ids)
    if not humid:
        return {}
    homes = {sensor.microclimate_id for sensor in humid.values()}
    air = sources_of({*humid, *homes}, AIR_PLACES)
    spoken = {
        part_id: sensor
        for part_id, sensor in humid.items()
        if part_id in air and sensor.microclimate_id in air
    }
    sensors = {sensor.pk: sensor for sensor in spoken.values()}
    sensors |= {source.sensor.pk: source.sensor for source in air.values()}
    end = hour_of(at)
    start = end - looked_back_h
    measured = hourly(list(sensors.values()), _instant(start), at)
    whole = {pk: one.window(start, end) for pk, one in measured.items()}
    parts = Microclimate.objects.select_related("frame").in_bulk(spoken)
    return {
        part_id: _part_air(parts[part_id], sensor, air, whole)
        for part_id, sensor in spoken.items()
    }


def _instant(hour: int) -> datetime:
    return datetime.fromtimestamp(hour * HOUR_S, UTC)


def _part_air(
    part: Microclimate,
    sensor: Sensor,
    air: Mapping[int, Source],
    measured: Mapping[int, Hourly],
) -> PartAir:
    here, there = air[part.pk], air[sensor.microclimate_id]
    read = usable_rh(measured[sensor.pk].c)
    at_sensor = measured[there.sensor.pk].shifted(there.offset_k)
    kpa = vapour_kpa(at_sensor.c, read.rh_pct)
    return PartAir(
        part=part,
        sensor=sensor,
        air_source=here,
        hangs_in=there,
        air=measured[here.sensor.pk].shifted(here.offset_k),
        vapour=Hourly.measured(at_sensor.first_hour, kpa),
        warning=read.warning,
    )


@dataclass(frozen=True, eq=False)
class PartMould:
    """How far one microclimate's hours favour grey mould.

    is_wet  the hours from first_hour on that were wet and not frozen
    worse   what lowers the bar there
    """

    air: PartAir
    risk: MouldRisk
    first_hour: int
    is_wet: NDArray[np.bool_]
    worse: tuple[str, ...]
    has_trees: bool

    @property
    def level(self) -> MouldLevel:
        """By the last hour; where gaps leave it open, what is certain at least."""
        if self.risk.level is MouldLevel.UNKNOWN and self.index[0] >= self.watch_from:
            return MouldLevel.WATCH
        return self.risk.level

    @property
    def index(self) -> tuple[float, float]:
        """Least and most in the last hour."""
        return float(self.risk.index_low[-1]), float(self.risk.index_high[-1])

    @property
    def watch_from(self) -> float:
        """The index from which to watch; twice that asks to act."""
        return WATCH / 2 if self.worse else WATCH

    @property
    def since_hour(self) -> int:
        """From when on the index, without gaps, has stood above watch."""
        return self.first_hour + _after_last(self.risk.index_low < self.watch_from)

    @cached_property
    def spell(self) -> slice:
        """The hours, of those looked at, since the index began to rise from 0."""
        return slice(_after_last(self.risk.index_low <= 0), None)


def _after_last(true: NDArray[np.bool_]) -> int:
    found = np.flatnonzero(true)
    return int(found[-1]) + 1 if found.size else 0


@dataclass(frozen=True, eq=False)
class FrameAir:
    """The moisture of a frame's air.

    airs    by microclimate
    moulds  by humidity sensor, of the microclimates that it speaks for: those where
            trees stand before the others, the worst first
    """

    airs: dict[int, PartAir]
    moulds: dict[int, tuple[PartMould, ...]]


def frame_air(
    frame: Frame,
    places: Mapping[int, Place],
    trees: Sequence[Tree],
    airs: Mapping[int, PartAir],
) -> FrameAir:
    """The air of a frame, out of `airs_of` its microclimates.

    places  where each tree stands
    trees   with their taxa
    """
    own = {pk: air for pk, air in airs.items() if air.part.frame_id == frame.pk}
    standing: dict[int, list[Tree]] = {pk: [] for pk in own}
    for tree in trees:
        if tree.pk in places and places[tree.pk].microclimate_id in own:
            standing[places[tree.pk].microclimate_id].append(tree)
    judged = filter(None, (_mould(own[pk], there) for pk, there in standing.items()))
    moulds: dict[int, list[PartMould]] = {}
    for one in sorted(judged, key=_urgency):
        moulds.setdefault(one.air.sensor.pk, []).append(one)
    return FrameAir(own, {pk: tuple(several) for pk, several in moulds.items()})


URGENCY = (MouldLevel.ACT, MouldLevel.WATCH, MouldLevel.UNKNOWN, MouldLevel.CALM)


def _urgency(mould: PartMould) -> tuple[bool, int, float]:
    return not mould.has_trees, URGENCY.index(mould.level), -mould.index[1]


def _is_susceptible(tree: Tree) -> bool:
    return tree.taxon.genus_name in SUSCEPTIBLE


def _mould(air: PartAir, trees: Sequence[Tree]) -> PartMould | None:
    rh = rh_pct(air.air.c, air.vapour.c)
    known = np.flatnonzero(~np.isnan(rh))
    if not known.size:
        return None
    # What lies before the first reading is no gap: nobody had begun.
    c, rh = air.air.c[known[0] :], rh[known[0] :]
    named = ", ".join(tree.number for tree in trees if _is_susceptible(tree))
    worse = (f"{named}, of redwood or cypress kind",) if named else ()
    risk = mould_risk(c, rh, worse=worse)
    assert risk is not None, "an hour is known"
    return PartMould(
        air=air,
        risk=risk,
        first_hour=air.air.first_hour + int(known[0]),
        is_wet=(rh >= WET_FROM_PCT) & (c > 0),
        worse=worse,
        has_trees=bool(trees),
    )
