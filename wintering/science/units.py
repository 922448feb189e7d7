"""Units of temperature. Everything is stored and computed in °C."""

from enum import StrEnum
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

Number = TypeVar("Number", float, NDArray[np.float64])

ZERO_C_IN_K = 273.15
"""0 °C in kelvin, by the definition of the degree Celsius (SI brochure, 2.3.1).
The Dynamic model has a reference of its own, see dynamic.py."""


def f_to_c(f: Number) -> Number:
    """Degrees Fahrenheit to degrees Celsius, by definition; nothing is rounded."""
    return (f - 32.0) * 5.0 / 9.0


def c_to_f(c: Number) -> Number:
    """Degrees Celsius to degrees Fahrenheit, by definition; nothing is rounded."""
    return c * 9.0 / 5.0 + 32.0


def k_to_c(k: Number) -> Number:
    """Kelvin to degrees Celsius."""
    return k - ZERO_C_IN_K


def c_to_k(c: Number) -> Number:
    """Degrees Celsius to kelvin."""
    return c + ZERO_C_IN_K


class TemperatureUnit(StrEnum):
    """The units a log can be written in and a person can ask for."""

    CELSIUS = "c"
    FAHRENHEIT = "f"
    KELVIN = "k"

    def to_c(self, value: Number) -> Number:
        """A temperature in this unit as °C."""
        if self is TemperatureUnit.FAHRENHEIT:
            return f_to_c(value)
        if self is TemperatureUnit.KELVIN:
            return k_to_c(value)
        return value

    def from_c(self, c: Number) -> Number:
        """A temperature in °C as this unit."""
        if self is TemperatureUnit.FAHRENHEIT:
            return c_to_f(c)
        if self is TemperatureUnit.KELVIN:
            return c_to_k(c)
        return c
