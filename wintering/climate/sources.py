"""Which sensor speaks for a microclimate: its own, or another's with an offset."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from wintering.climate.models import Sensor
from wintering.frames.models import Microclimate

# An outdoor bench has its air from a sensor that stands outside.
AIR_PLACES = (Sensor.Place.AIR, Sensor.Place.OUTSIDE)
ROOT_PLACES = (Sensor.Place.ROOT,)


@dataclass(frozen=True, slots=True)
class Source:
    """A sensor and what is added to its temperature [K]."""

    sensor: Sensor
    offset_k: float

    def __str__(self) -> str:
        where = f"{self.sensor.name}, {self.sensor.get_place_display()}"
        return f"{where}, {self.offset_k:+.1f} K" if self.offset_k else where


def sources_of(
    microclimate_ids: Iterable[int], places: Sequence[str]
) -> dict[int, Source]:
    """The temperature sensor that speaks for each microclimate; none where none does.

    A microclimate without one follows another, whose offset is added. Of several
    sensors the first by name speaks. A thermometer read by hand speaks for none: it
    has no hours.
    """
    return _speaking(microclimate_ids, places, Sensor.Quantity.TEMPERATURE)


def humidity_sensors_of(microclimate_ids: Iterable[int]) -> dict[int, Sensor]:
    """The humidity sensor that speaks for each microclimate's air, found likewise.

    Its per cent hold where it hangs. What the parts of one frame share is the vapour,
    so no offset belongs to it: at another temperature the same vapour is another
    relative humidity.
    """
    found = _speaking(microclimate_ids, AIR_PLACES, Sensor.Quantity.HUMIDITY)
    return {part_id: source.sensor for part_id, source in found.items()}


def _speaking(
    microclimate_ids: Iterable[int], places: Sequence[str], quantity: str
) -> dict[int, Source]:
    asked = set(microclimate_ids)
    parts = {
        part.pk: part
        for part in Microclimate.objects.filter(
            frame__microclimates__in=asked
        ).distinct()
    }
    own: dict[int, Sensor] = {}
    sensors = Sensor.objects.filter(
        microclimate__in=parts, place__in=places, quantity=quantity, is_min_max=False
    )
    for sensor in sensors.select_related("microclimate").order_by("name"):
        own.setdefault(sensor.microclimate_id, sensor)
    found = {part_id: _follow(part_id, parts, own) for part_id in asked & parts.keys()}
    return {part_id: source for part_id, source in found.items() if source}


def _follow(
    part_id: int, parts: dict[int, Microclimate], own: dict[int, Sensor]
) -> Source | None:
    offset_k, passed = 0.0, set()
    at: int | None = part_id
    while at is not None and at not in passed:
        if at in own:
            return Source(own[at], offset_k)
        passed.add(at)
        offset_k += parts[at].offset_k
        at = parts[at].follows_id if parts[at].follows_id in parts else None
    return None
