"""What to ask of a temperature that a person read off and wrote down."""

from wintering.science.units import TemperatureUnit

EITHER_FROM, EITHER_TO = 20.0, 50.0
"""Between these a number may be °F of a frame or °C of a summer's day: common
practice."""

FAR_K = 3.0
"""Two thermometers side by side differ by less: own choice, several times what cheap
ones are off."""

OTHER_UNIT = {
    TemperatureUnit.CELSIUS: TemperatureUnit.FAHRENHEIT,
    TemperatureUnit.FAHRENHEIT: TemperatureUnit.CELSIUS,
}


def is_other_unit_likely(
    value: float, unit: TemperatureUnit, expected_c: float | None
) -> bool:
    """Whether to ask if a number was meant in the other of °C and °F.

    value       as it was read
    unit        that the thermometer is said to show
    expected_c  what is known of that place then [°C]; None where nothing is

    With something to hold it against: where the other unit comes nearer and the stated
    one is more than 3 K off. Without: of °C alone, because 20 to 50 °F is any winter's
    day in a frame. Of °C only 20 to 50 is asked, the numbers that occur in both; of °F
    any number, because what is usual in °C, from -30 to 20, is frost in °F.
    """
    other = OTHER_UNIT.get(unit)
    is_celsius = unit is TemperatureUnit.CELSIUS
    if other is None or (is_celsius and not EITHER_FROM <= value <= EITHER_TO):
        return False
    if expected_c is None:
        return is_celsius
    off_k = abs(unit.to_c(value) - expected_c)
    return off_k > FAR_K and abs(other.to_c(value) - expected_c) < off_k


def is_far(value_c: float, beside_c: float) -> bool:
    """Whether a reading is too far from one beside it to be passed over."""
    return round(abs(value_c - beside_c), 6) > FAR_K
