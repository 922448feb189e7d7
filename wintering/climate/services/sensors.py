"""Adding sensors, and saying where they measure."""

from django.core.exceptions import ValidationError
from django.db import transaction

from wintering.climate.models import Sensor
from wintering.climate.services.judging import holds_ice, rejudge
from wintering.frames.models import Frame, Microclimate
from wintering.people.models import User
from wintering.people.services import record


@transaction.atomic
def add_sensor(
    *,
    frame: Frame,
    name: str,
    by: User | None,
    place: str = Sensor.Place.UNKNOWN,
    quantity: str = Sensor.Quantity.TEMPERATURE,
    unit: str = Sensor.Unit.CELSIUS,
    microclimate: Microclimate | None = None,
    is_min_max: bool = False,
) -> Sensor:
    """Enter a sensor of a frame."""
    _refuse_foreign(frame, microclimate)
    sensor = Sensor(
        frame=frame,
        name=name,
        place=place,
        quantity=quantity,
        unit=unit,
        microclimate=microclimate,
        is_min_max=is_min_max,
    )
    sensor.full_clean()
    sensor.save()
    record(by, "added", sensor, name=name, place=place, frame=frame.slug)
    return sensor


@transaction.atomic
def place_sensor(
    *, sensor: Sensor, place: str, microclimate: Microclimate | None, by: User | None
) -> Sensor:
    """Say where a sensor measures: its readings stay, and are judged by the place."""
    _refuse_foreign(sensor.frame, microclimate)
    if sensor.place == place and sensor.microclimate == microclimate:
        return sensor
    was = {"place": sensor.place, "microclimate": _name(sensor.microclimate)}
    was_icy = holds_ice(sensor)
    sensor.place, sensor.microclimate = place, microclimate
    sensor.full_clean()
    sensor.save(update_fields=["place", "microclimate"])
    if holds_ice(sensor) != was_icy:
        rejudge(sensor=sensor)
    now = {"place": place, "microclimate": _name(microclimate)}
    record(by, "placed", sensor, was=was, now=now)
    return sensor


def _name(microclimate: Microclimate | None) -> str | None:
    return microclimate.name if microclimate else None


def _refuse_foreign(frame: Frame, microclimate: Microclimate | None) -> None:
    if microclimate and microclimate.frame_id != frame.pk:
        raise ValidationError(
            f"{microclimate.name} is not part of {frame.name}; choose one that is."
        )
