"""Why two records differ, in words; nothing where it is not clear."""

from wintering.climate.models import Sensor
from wintering.climate.queries.conflicts import SensorConflicts
from wintering.science.disagreement import Reason

_UNIT = "with that unit."
_WORDS = {
    Reason.NEW_IS_F: "All differ as °F read as °C would: this file is most likely in "
    f"°F. Read it again {_UNIT}",
    Reason.STORED_IS_F: "All differ as if the stored ones were °F read as °C: the log "
    f"they came from is most likely in °F. Read that one again {_UNIT}",
    Reason.NEW_IS_K: "All differ as K read as °C would: this file is most likely in "
    f"K. Read it again {_UNIT}",
    Reason.STORED_IS_K: "All differ as if the stored ones were K read as °C: the log "
    f"they came from is most likely in K. Read that one again {_UNIT}",
    Reason.ROUNDING: "All differ by no more than rounding to a tenth: one of the two "
    "is most likely a rounded copy.",
    Reason.OFFSET: "All differ by the same amount: one of the two was most likely "
    "corrected by an offset.",
}


def words_for(one: SensorConflicts) -> str:
    """The likely reason, where it is clear and still to be acted on."""
    difference = one.difference
    is_temperature = one.sensor.quantity == Sensor.Quantity.TEMPERATURE
    if not one.is_open or difference is None or difference.reason is None:
        return ""
    if difference.reason == Reason.CLOCK:
        way = "later" if difference.shift_s > 0 else "earlier"
        return (
            f"The same values stand {_length(difference.shift_s)} {way} in this file: "
            "the clock or the time zone of one of the two is most likely wrong. Read "
            "it again with the right zone."
        )
    return _WORDS[difference.reason] if is_temperature else ""


def _length(shift_s: int) -> str:
    hours, rest = divmod(abs(shift_s) // 60, 60)
    parts = [f"{hours} h" if hours else "", f"{rest} min" if rest else ""]
    return " ".join(part for part in parts if part)
