"""What the page of a frame says of its air: how moist, and what that favours."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

from wintering.climate.models import Sensor
from wintering.climate.queries import Latest, latest
from wintering.climate.sources import AIR_PLACES, Source, humidity_sensors_of
from wintering.forecast.findings import Statement, mould_evidence
from wintering.forecast.queries.air_moisture import (
    FrameAir,
    PartAir,
    PartMould,
    airs_of,
    frame_air,
)
from wintering.frames.models import Frame, Microclimate
from wintering.science.humidity import usable_rh
from wintering.science.mould import MouldLevel
from wintering.science.vapour import frost_point_c, vapour_kpa
from wintering.stays.queries import places_on, trees_in_frame

TOGETHER = timedelta(hours=1)
"""Humidity and temperature read this close together make a dew point: own choice."""

NOT_NOW = timedelta(hours=6)
"""A reading this old says nothing of now: own choice, as for a sensor gone quiet."""

STATES = {
    MouldLevel.CALM: "Conditions do not favour grey mould",
    MouldLevel.WATCH: "Conditions favour grey mould: keep an eye on leaves and wounds",
    MouldLevel.ACT: "Conditions have favoured grey mould for long: act this week",
    MouldLevel.UNKNOWN: (
        "Whether conditions favour grey mould is not known: readings are missing in "
        "the hours that decide it"
    ),
}


@dataclass(frozen=True, slots=True)
class AirLine:
    """One humidity sensor: what it read last, and what its hours favour.

    dew_c     where dew settles, or hoar frost; None where no temperature goes with it
    state     of grey mould, in words; not known says why
    """

    sensor: Sensor
    read: Latest | None
    is_old: bool
    dew_c: float | None
    state: str
    evidence: tuple[Statement, ...]

    @property
    def is_frost(self) -> bool:
        return self.dew_c is not None and self.dew_c < 0


@dataclass(frozen=True, slots=True)
class AirNow:
    """Lines, and sentences on what is not known."""

    lines: tuple[AirLine, ...]
    unknown: tuple[str, ...]


def air_now(frame: Frame, parts: Iterable[Microclimate], now: datetime) -> AirNow:
    """The statements do not grow with trees, sensors or microclimates."""
    named = {part.pk: part.name for part in parts}
    placed = frame.sensors.filter(
        quantity=Sensor.Quantity.HUMIDITY, place__in=AIR_PLACES
    )
    sensors = list(placed.select_related("microclimate").order_by("name"))
    if not sensors:
        return AirNow((), tuple(_unheard(named.values())))
    heard = humidity_sensors_of(named)
    airs = airs_of(named, now)
    air = _frame_air(frame, airs, now)
    hangs = {one.sensor.pk: one.hangs_in for one in airs.values()}
    last = latest([*sensors, *(source.sensor for source in hangs.values())], now)
    lines = (_line(sensor, hangs.get(sensor.pk), air, last) for sensor in sensors)
    deaf = [name for pk, name in named.items() if pk in heard and pk not in airs]
    silent = [name for pk, name in named.items() if pk not in heard]
    return AirNow(tuple(lines), (*_unheard(silent), *_without_air(deaf)))


def _frame_air(frame: Frame, airs: Mapping[int, PartAir], now: datetime) -> FrameAir:
    today = now.astimezone(ZoneInfo(frame.time_zone)).date()
    trees = list(trees_in_frame(frame, today).select_related("taxon"))
    return frame_air(frame, places_on(trees, today), trees, airs)


def _line(
    sensor: Sensor, hangs_in: Source | None, air: FrameAir, last: dict[int, Latest]
) -> AirLine:
    read = last.get(sensor.pk)
    moulds = air.moulds.get(sensor.pk, ())
    return AirLine(
        sensor=sensor,
        read=read,
        is_old=read is not None and read.age >= NOT_NOW,
        dew_c=_dew_c(read, hangs_in, last),
        state=_state(moulds[0]) if moulds else _no_state(sensor, hangs_in),
        evidence=tuple(mould_evidence(moulds[0])) if moulds else (),
    )


def _dew_c(
    read: Latest | None, hangs_in: Source | None, last: dict[int, Latest]
) -> float | None:
    warm = last.get(hangs_in.sensor.pk) if hangs_in else None
    if read is None or warm is None or abs(read.at - warm.at) > TOGETHER:
        return None
    kpa = vapour_kpa(warm.value + hangs_in.offset_k, usable_rh([read.value]).rh_pct)
    return float(frost_point_c(kpa)[0])


def _state(mould: PartMould) -> str:
    said, where = STATES[mould.level], mould.air.part.name
    if mould.level is not MouldLevel.CALM:
        return f"{said}, at {where}."
    if mould.index[1] <= 0:
        return f"{said}: no wet spell has begun."
    bar = f"{mould.index[1]:.1f} where watch begins at {mould.watch_from:g}"
    return f"{said}; nearest to it is {where}, with {bar}."


def _no_state(sensor: Sensor, hangs_in: Source | None) -> str:
    said = "Grey mould: not known, "
    if sensor.microclimate is None:
        return f"{said}nobody told in which microclimate {sensor.name} hangs."
    if hangs_in is None:
        return f"{said}no air temperature is measured where {sensor.name} hangs."
    return f"{said}no humidity and temperature of the last 30 days go together."


def _unheard(names: Iterable[str]) -> Iterator[str]:
    where = ", ".join(names)
    if where:
        yield (
            "Grey mould and the drying out of trees: not known: no humidity sensor "
            f"speaks for {where}."
        )


def _without_air(names: Iterable[str]) -> Iterator[str]:
    where = ", ".join(names)
    if where:
        yield (
            "Grey mould and the drying out of trees: not known: no air temperature is "
            f"measured for {where}, or where its humidity sensor hangs."
        )
