"""How finely and in which unit a sensor's values are told to a reader.

As many digits as the sensor writes, no more and no fewer, and how far off it may be,
where its maker states that.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Self

from django.contrib.auth.models import AnonymousUser

from wintering.climate.models import Sensor
from wintering.climate.queries.charting import written_decimals
from wintering.people.models import User
from wintering.science.units import Number, c_to_f
from wintering.web.templatetags.units import (
    NBSP,
    UNKNOWN,
    decimals,
    is_unknown,
    reads_fahrenheit,
)

NOT_YET_KNOWN = 1
"""Decimals of a sensor that has written nothing to tell them by: own choice."""


@dataclass(frozen=True, slots=True)
class Scale:
    """Values arrive in °C or % and leave in `unit`; the accuracy is in it already."""

    unit: str
    decimals: int
    accuracy: float | None = None

    @classmethod
    def of(
        cls, sensor: Sensor, written: int | None, user: User | AnonymousUser | None
    ) -> Self:
        digits = NOT_YET_KNOWN if written is None else written
        if sensor.quantity == Sensor.Quantity.HUMIDITY:
            return cls("%", digits, sensor.accuracy)
        if reads_fahrenheit(user):
            off = None if sensor.accuracy is None else sensor.accuracy * 9 / 5
            return cls("°F", digits, off)
        # A tenth of a °F is half a tenth of a °C: one more digit, or some are lost.
        more = sensor.unit == Sensor.Unit.FAHRENHEIT
        return cls("°C", digits + more, sensor.accuracy)

    def told(self, value: Number) -> Number:
        return c_to_f(value) if self.unit == "°F" else value

    def number(self, value: float | None) -> str:
        """Without its unit: −0.25."""
        if value is None or is_unknown(value):
            return UNKNOWN
        return decimals(self.told(value), self.decimals)

    def words(self, value: float | None) -> str:
        """With its unit: −0.25 °C."""
        number = self.number(value)
        return number if number == UNKNOWN else f"{number}{NBSP}{self.unit}"

    @property
    def accuracy_words(self) -> str:
        if self.accuracy is None:
            return "accuracy not stated"
        return f"±{self.accuracy:.2g}{NBSP}{self.unit} as its maker states"


def scales_of(
    sensors: Sequence[Sensor], user: User | AnonymousUser | None, until: date
) -> dict[int, Scale]:
    """By sensor pk; how finely each writes is told by its days up to `until`."""
    written = written_decimals(sensors, until)
    return {s.pk: Scale.of(s, written.get(s.pk), user) for s in sensors}
