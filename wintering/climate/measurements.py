"""What a device sends: a name of its own, an instant, a number with its unit.

Units are written as in the SenML registry (RFC 8428, section 12.1): Cel, K and %RH;
degF, which is not in it, stands for °F.
"""

from dataclasses import dataclass
from decimal import ROUND_HALF_EVEN, Decimal

from wintering.climate.models import Sensor

UNITS = {
    "Cel": Sensor.Unit.CELSIUS,
    "K": Sensor.Unit.KELVIN,
    "degF": Sensor.Unit.FAHRENHEIT,
    "%RH": Sensor.Unit.PERCENT,
}

LONGEST_NAME = 200
# Far beyond any thermometer, and well within 32 bits of thousandths in every unit.
GREATEST = Decimal(1_000_000)


@dataclass(frozen=True, slots=True)
class Measurement:
    """One value as it was sent.

    name    what the sender calls the quantity
    second  UTC, since 1970
    value   in `unit`, exactly as written
    unit    one of UNITS
    """

    name: str
    second: int
    value: Decimal
    unit: str

    @property
    def quantity(self) -> str:
        if self.unit == "%RH":
            return Sensor.Quantity.HUMIDITY
        return Sensor.Quantity.TEMPERATURE

    def thousandths(self, unit: str) -> int:
        """The value in whole thousandths of a sensor's unit.

        In its own unit up to three decimals are kept as they are; finer ones, and what
        has to be turned into another unit, are rounded to the nearest, halves to even.
        """
        value = _turned(self.value, UNITS[self.unit], unit) * 1000
        return int(value.to_integral_value(ROUND_HALF_EVEN))


def _turned(value: Decimal, unit: str, into: str) -> Decimal:
    """Between scales of temperature, by their definitions."""
    if unit == into:
        return value
    if unit == Sensor.Unit.FAHRENHEIT:
        celsius = (value - 32) * 5 / 9
    elif unit == Sensor.Unit.KELVIN:
        celsius = value - Decimal("273.15")
    else:
        celsius = value
    if into == Sensor.Unit.FAHRENHEIT:
        return celsius * 9 / 5 + 32
    if into == Sensor.Unit.KELVIN:
        return celsius + Decimal("273.15")
    return celsius
