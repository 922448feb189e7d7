"""Readings taken by hand as the pages tell them."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from wintering.climate.models import MinMaxEntry, Sensor
from wintering.climate.queries.min_max import (
    HandReading,
    in_c,
    last_by_hand,
    thermometers_for,
)
from wintering.people.models import User
from wintering.science.units import TemperatureUnit
from wintering.web.templatetags.units import MINUS, NBSP


@dataclass(frozen=True, slots=True)
class HandLine:
    """A thermometer and what was last read of it."""

    sensor: Sensor
    told: HandReading


def hand_lines(user: User, at: datetime) -> list[HandLine]:
    """What was last read of each thermometer that a person sees."""
    return last_lines(thermometers_for(user).order_by("frame", "name"), at)


def last_lines(sensors: Iterable[Sensor], at: datetime) -> list[HandLine]:
    sensors = list(sensors)
    read = last_by_hand(sensors, at)
    return [HandLine(one, read[one.pk]) for one in sensors if one.pk in read]


def starts_from(sensor: Sensor) -> dict[str, str]:
    """The numbers last read, in the unit that the thermometer shows."""
    last = sensor.min_max_entries.filter(withdrawn_at=None).order_by("read_at").last()
    if last is None:
        return {}
    shown = TemperatureUnit(sensor.unit)
    values = {"low": last.low, "high": last.high, "now": last.now}
    return {
        name: _plain(value / 1000)
        if last.unit == sensor.unit
        else _plain(float(shown.from_c(in_c(value, last.unit))))
        for name, value in values.items()
        if value is not None
    }


def as_written(entry: MinMaxEntry) -> str:
    """The numbers of an entry as they were read, in words."""
    named = [("lowest", entry.low), ("highest", entry.high), ("now", entry.now)]
    unit = entry.get_unit_display()
    told = [
        f"{name} {_plain(value / 1000)}{NBSP}{unit}"
        for name, value in named
        if value is not None
    ]
    return f"{entry.sensor.name}: {', '.join(told)}"


def _plain(value: float) -> str:
    return f"{round(value, 1) + 0.0:g}".replace("-", MINUS)
