"""Which sensor each name that a logger sends is; a new name makes a sensor."""

from collections.abc import Sequence

from django.core.exceptions import ValidationError

from wintering.climate.measurements import UNITS, Measurement
from wintering.climate.models import Logger, LoggerChannel, Sensor
from wintering.climate.services.sensors import add_sensor
from wintering.frames.models import Frame

# A logger that puts a time or a counter into its names would make sensors without end;
# own choice, far above what a logger carries.
MOST_CHANNELS = 100
_LONGEST_SENSOR_NAME = Sensor._meta.get_field("name").max_length


def channels_of(
    logger: Logger, measurements: Sequence[Measurement]
) -> dict[str, LoggerChannel]:
    """The channel of every name that was sent, made where it is new.

    Runs in the transaction of what was sent: when that is refused, so are these.
    """
    known = {c.name: c for c in logger.channels.select_related("sensor")}
    new = {m.name: m for m in measurements if m.name not in known}
    if new:
        # Two loggers of a frame may bring the same name at once.
        frame = Frame.objects.select_for_update().get(pk=logger.frame_id)
        _refuse_too_many(logger, len(known) + len(new))
        for first in new.values():
            known[first.name] = _new_channel(logger, frame, first)
    _refuse_other_quantities(known, measurements)
    return known


def _new_channel(logger: Logger, frame: Frame, first: Measurement) -> LoggerChannel:
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
    return channel


def _new_sensor(frame: Frame, first: Measurement) -> Sensor:
    if len(first.name) > _LONGEST_SENSOR_NAME:
        raise ValidationError(
            f"A new sensor's name has at most {_LONGEST_SENSOR_NAME} characters, not "
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
    known: dict[str, LoggerChannel], measurements: Sequence[Measurement]
) -> None:
    wrong = {
        m.name: known[m.name].sensor
        for m in measurements
        if known[m.name].sensor.quantity != m.quantity
    }
    if wrong:
        raise ValidationError(
            [
                f"{name} is the sensor {sensor.name}, which measures "
                f"{sensor.get_quantity_display()}: send another quantity under "
                "another name."
                for name, sensor in wrong.items()
            ]
        )
