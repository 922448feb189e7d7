"""What people say of the demo's sensors, and read off by hand."""

from decimal import Decimal
from uuid import NAMESPACE_URL, uuid5

from wintering.climate.models import Sensor
from wintering.climate.services import add_sensor
from wintering.climate.services.checks import check_in_ice
from wintering.climate.services.min_max import record_min_max
from wintering.climate.services.verdicts import give_verdict
from wintering.frames.models import Frame
from wintering.people.models import User
from wintering.science.ice_bath import TAKEN
from wintering.science.units import TemperatureUnit
from wintering.web.demo.story import Story


def tell_of_sensors(story: Story, people: dict[str, User]) -> None:
    """Checks in ice, readings of the thermometer by the door, a word on readings."""
    _checks(story, people)
    _readings_by_hand(story, people)
    _verdicts(story, people)


def _checks(story: Story, people: dict[str, User]) -> None:
    told = story.told["ice_checks"]
    for name, offset_k in told["offsets_k"].items():
        sensor = Sensor.objects.get(name=name)
        check_in_ice(
            sensor=sensor,
            shown=_shown_in_ice(TemperatureUnit(sensor.unit), offset_k),
            at=story.moment(told["at"]),
            by=people[told["by"]],
        )


def _shown_in_ice(unit: TemperatureUnit, offset_k: float) -> list[float]:
    """Ten readings in tenths, as a display shows them, whose mean is the offset."""
    tenths = round(float(unit.from_c(offset_k)) * 10 * TAKEN)
    low, higher = divmod(tenths, TAKEN)
    return [(low + (n < higher)) / 10 for n in range(TAKEN)]


def _readings_by_hand(story: Story, people: dict[str, User]) -> None:
    for told in story.told["thermometers"]:
        frame = Frame.objects.get(name=told["frame"])
        thermometer = add_sensor(
            frame=frame,
            name=told["name"],
            place=told["place"],
            unit=told["unit"],
            microclimate=frame.microclimates.get(name=told["microclimate"]),
            is_min_max=True,
            by=people["hana"],
        )
        for read in told["readings"]:
            if not story.has_come(read["at"]):
                continue
            record_min_max(
                sensor=thermometer,
                unit=told["unit"],
                read_at=story.moment(read["at"]),
                was_reset=read["was_reset"],
                note=read["note"],
                entry_id=uuid5(NAMESPACE_URL, f"{told['name']} {read['at']}"),
                by=people[read["by"]],
                **{name: Decimal(read[name]) for name in ("low", "high", "now")},
            )


def _verdicts(story: Story, people: dict[str, User]) -> None:
    for told in story.told["verdicts"]:
        if story.has_come(told["until"]):
            give_verdict(
                sensor=Sensor.objects.get(name=told["sensor"]),
                start_at=story.moment(told["from"]),
                end_at=story.moment(told["until"]),
                counts=told["counts"],
                reason=told["reason"],
                by=people[told["by"]],
            )
