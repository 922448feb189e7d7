"""Which sensor each name that a logger sends is; a new name makes a sensor."""

from collections.abc import Sequence
from dataclasses import dataclass

from django.core.exceptions import ValidationError
from django.db import connection

from wintering.climate.measurements import UNITS, Measurement
from wintering.climate.models import Logger, LoggerChannel, Sensor
from wintering.climate.services.sensors import add_sensor
from wintering.frames.models import Frame

# A logger that puts a time or a counter into its names would make sensors without end;
# own choice, far above what a logger carries.
MOST_CHANNELS = 100
LONGEST_SENSOR_NAME = Sensor._meta.get_field("name").max_length

# Asked at every post, so in plain words: building them took longer than the answer.
_ASKED = """
    SELECT channel.id, channel.name, sensor.name AS sensor_name,
           sensor.quantity AS sensor_quantity, sensor.unit AS sensor_unit
    FROM climate_loggerchannel channel
    JOIN climate_sensor sensor ON sensor.id = channel.sensor_id
    WHERE channel.logger_id = %s
"""
# While a post is under way none of its channels becomes another sensor, whose unit may
# be another. SQLite has one writer at a time anyway.
_ASKED_AND_HELD = f"{_ASKED} FOR SHARE OF channel"


@dataclass(frozen=True, slots=True)
class Channel:
    """A name that a logger sends, and of its sensor what a reading needs."""

    pk: int
    sensor_name: str
    quantity: str
    unit: str


def channels_of(
    logger: Logger, measurements: Sequence[Measurement]
) -> dict[str, Channel]:
    """The channel of every name that was sent, made where it is new.

    Runs in the transaction of what was sent: when that is refused, so are these.
    """
    known = _known(logger)
    if any(m.name not in known for m in measurements):
        # Held, and looked at again: others may bring the same name at once.
        frame = Frame.objects.select_for_update(no_key=True).get(pk=logger.frame_id)
        known = _known(logger)
        # The first of each name: backwards, so that it is the last to be set.
        new = {m.name: m for m in reversed(measurements) if m.name not in known}
        _refuse_too_many(logger, len(known) + len(new))
        for first in new.values():
            known[first.name] = _new_channel(logger, frame, first)
    _refuse_other_quantities(known, measurements)
    return known


def _known(logger: Logger) -> dict[str, Channel]:
    is_held = connection.features.has_select_for_update
    rows = LoggerChannel.objects.raw(
        _ASKED_AND_HELD if is_held else _ASKED, [logger.pk]
    )
    return {
        row.name: Channel(row.pk, row.sensor_name, row.sensor_quantity, row.sensor_unit)
        for row in rows
    }


def _new_channel(logger: Logger, frame: Frame, first: Measurement) -> Channel:
    sensor = frame.sensors.filter(name=first.name).first()
    if sensor is None:
        sensor = _new_sensor(frame, first)
    elif sensor.is_min_max:
        raise ValidationError(
            f"{first.name} is read by hand here: send under another name, or choose "
            "the sensor on the logger's page."
        )
    channel = LoggerChannel(logger=logger, name=first.name, sensor=sensor)
    channel.full_clean()
    channel.save()
    return Channel(channel.pk, sensor.name, sensor.quantity, sensor.unit)


def _new_sensor(frame: Frame, first: Measurement) -> Sensor:
    if len(first.name) > LONGEST_SENSOR_NAME:
        raise ValidationError(
            f"A new sensor's name has at most {LONGEST_SENSOR_NAME} characters, not "
            f"{len(first.name)}: send a shorter one."
        )
    return add_sensor(
        frame=frame,
        name=first.name,
        by=None,
        place=Sensor.Place.UNKNOWN,
        quantity=first.quantity,
        unit=UNITS[first.unit],
        microclimate=None,
    )


def _refuse_too_many(logger: Logger, count: int) -> None:
    if count > MOST_CHANNELS:
        raise ValidationError(
            f"{logger.name} would have {count} channels; at most {MOST_CHANNELS} are "
            "kept apart. Send the same names every time, without a time or a number "
            "that counts on."
        )


def _refuse_other_quantities(
    known: dict[str, Channel], measurements: Sequence[Measurement]
) -> None:
    wrong = {
        m.name: known[m.name]
        for m in measurements
        if known[m.name].quantity != m.quantity
    }
    if wrong:
        raise ValidationError(
            [
                f"{name} is the sensor {channel.sensor_name}, which measures "
                f"{Sensor.Quantity(channel.quantity).label}: send another quantity "
                "under another name."
                for name, channel in wrong.items()
            ]
        )
