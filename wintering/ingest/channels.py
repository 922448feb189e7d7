"""Which sensor each column of a log belongs to."""

from collections.abc import Sequence
from dataclasses import dataclass

from django.core.exceptions import ValidationError

from wintering.climate.models import Sensor
from wintering.climate.services import add_sensor, place_sensor
from wintering.frames.models import Frame, Microclimate
from wintering.ingest.opening import OpenLog
from wintering.ingest.refusals import LogRefused
from wintering.ingest.series import Series
from wintering.ingest.units import Settled
from wintering.people.models import User

PLACES = (
    Sensor.Place.AIR,
    Sensor.Place.ROOT,
    Sensor.Place.GROUND,
    Sensor.Place.OUTSIDE,
)


@dataclass(frozen=True, slots=True)
class Channel:
    """A column, and the sensor and place that it was logged by."""

    column: str
    sensor: str
    place: str = Sensor.Place.UNKNOWN
    microclimate: str = ""  # slug or name

    @classmethod
    def parse(cls, text: str) -> "Channel":
        """From COLUMN=SENSOR:PLACE[:MICROCLIMATE]; ValueError says what is wrong."""
        column, equals, rest = text.rpartition("=")
        sensor, *where = (part.strip() for part in rest.split(":"))
        if not (equals and column.strip() and sensor and len(where) in {1, 2}):
            raise ValueError(f"'{text}' is not COLUMN=SENSOR:PLACE[:MICROCLIMATE].")
        if where[0] not in PLACES:
            raise ValueError(f"'{where[0]}' is no place; write {_either(PLACES)}.")
        return cls(column.strip(), sensor, *where)


def channels_of(
    log: OpenLog, mapping: Sequence[Channel] | None
) -> list[tuple[Series, Settled, Channel]]:
    """Every series taken, with its channel; unmapped ones bear their own name."""
    if mapping is None:
        mapping = [Channel(series.name, series.name) for series in log.series]
    return list(zip(log.series, log.units, mapping, strict=True))


def check_mapping(mapping: Sequence[Channel], name: str) -> None:
    """Two columns cannot be one sensor, nor one column two."""
    for what in ("column", "sensor"):
        texts = [getattr(channel, what) for channel in mapping]
        twice = next((text for text in texts if texts.count(text) > 1), None)
        if twice is not None:
            raise LogRefused(f"{name}: {what} {twice} is named twice; name it once.")


def sensor_for(
    frame: Frame, unit: Settled, channel: Channel, by: User | None
) -> Sensor:
    """The sensor of a channel, entered or placed where that is new."""
    part = _microclimate(frame, channel)
    sensor = frame.sensors.filter(name=channel.sensor).first()
    try:
        if sensor is None:
            return add_sensor(
                frame=frame,
                name=channel.sensor,
                by=by,
                place=channel.place,
                quantity=unit.quantity,
                unit=unit.unit,
                microclimate=part,
            )
        _refuse_other_use(sensor, unit, channel, part)
        if channel.place == Sensor.Place.UNKNOWN:
            return sensor
        return place_sensor(
            sensor=sensor,
            place=channel.place,
            microclimate=part or sensor.microclimate,
            by=by,
        )
    except ValidationError as error:
        raise LogRefused(f"Sensor {channel.sensor}: {error.messages[0]}") from error


def _refuse_other_use(
    sensor: Sensor, unit: Settled, channel: Channel, part: Microclimate | None
) -> None:
    """What is known of a sensor is changed on its page, not by a log."""
    unknown = Sensor.Place.UNKNOWN
    if sensor.quantity != unit.quantity:
        raise LogRefused(
            f"Sensor {sensor.name} measures {sensor.get_quantity_display()}, column "
            f"{channel.column} holds {unit.quantity}; name another sensor."
        )
    if channel.place not in {unknown, sensor.place} and sensor.place != unknown:
        raise LogRefused(
            f"Sensor {sensor.name} is known as {sensor.get_place_display()}, not "
            f"{channel.place}; name another sensor, or change its place first."
        )
    if part and sensor.microclimate and part != sensor.microclimate:
        raise LogRefused(
            f"Sensor {sensor.name} is in {sensor.microclimate.name}, not {part.name}; "
            "name another sensor, or change its place first."
        )


def _microclimate(frame: Frame, channel: Channel) -> Microclimate | None:
    if not channel.microclimate:
        return None
    wanted = channel.microclimate.lower()
    parts = list(frame.microclimates.all())
    for part in parts:
        if wanted in {part.slug.lower(), part.name.lower()}:
            return part
    known = ", ".join(part.slug for part in parts) or "none"
    raise LogRefused(
        f"{frame.name} has no microclimate '{channel.microclimate}'; it has: {known}."
    )


def _either(words: Sequence[str]) -> str:
    return f"{', '.join(words[:-1])} or {words[-1]}"
