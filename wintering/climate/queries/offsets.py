"""From stored integers to °C or %: the unit, and what a check in ice found."""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Self

import numpy as np
from numpy.typing import NDArray

from wintering.climate.models import Sensor, SensorCheck
from wintering.science.units import TemperatureUnit


def as_shown(sensor: Sensor, thousandths: NDArray[np.int32]) -> NDArray[np.float64]:
    """Stored integers as °C, or % relative humidity, just as the sensor gave them."""
    value = thousandths / 1000
    if sensor.quantity == Sensor.Quantity.HUMIDITY:
        return value
    return TemperatureUnit(sensor.unit).to_c(value)


@dataclass(frozen=True, eq=False)
class Offsets:
    """How much too high a sensor shows, from each check in ice to the next [K]."""

    since: NDArray[np.int64]  # seconds since 1970, in order
    offset_k: NDArray[np.float64]

    @classmethod
    def none(cls) -> Self:
        return cls(np.empty(0, np.int64), np.empty(0))

    def at(self, seconds: NDArray[np.int64]) -> NDArray[np.float64]:
        """Zero before the first check."""
        checks = np.searchsorted(self.since, seconds, side="right")
        return np.concatenate([[0.0], self.offset_k])[checks]

    def taken_off(
        self, seconds: NDArray[np.int64], shown: NDArray[np.float64]
    ) -> NDArray[np.float64]:
        if not self.since.size:
            return shown
        # Of a thousandth more there never was: sums of binary fractions are rounded.
        return np.round(shown - self.at(seconds), 6)


def offsets_of(sensors: Iterable[Sensor]) -> dict[int, Offsets]:
    """The offsets of each sensor by its pk, in one look at the database."""
    pks = [sensor.pk for sensor in sensors]
    found: dict[int, list[tuple[int, float]]] = {pk: [] for pk in pks}
    checks = SensorCheck.objects.filter(sensor__in=pks, withdrawn_at=None)
    rows = checks.order_by("checked_at").values_list(
        "sensor_id", "checked_at", "offset_k"
    )
    for pk, checked_at, offset_k in rows:
        found[pk].append((int(checked_at.timestamp()), offset_k))
    return {pk: _offsets(told) for pk, told in found.items()}


def _offsets(told: list[tuple[int, float]]) -> Offsets:
    return Offsets(
        np.array([since for since, _ in told], np.int64),
        np.array([offset_k for _, offset_k in told], np.float64),
    )
