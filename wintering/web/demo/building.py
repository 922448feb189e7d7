"""Building the demo's frames from their description."""

from typing import Any

from wintering.frames.models import Frame, Microclimate, Module
from wintering.frames.services import (
    add_bench,
    add_fitting,
    add_frame,
    add_microclimate,
    follow,
)
from wintering.people.models import User
from wintering.web.demo.story import Story

MODULE_CM = 45
OUTLET = "outlet floor"


def build_frame(described: dict[str, Any], *, story: Story, by: User) -> Frame:
    """A frame with its microclimates, ruled benches and fittings."""
    frame = add_frame(
        name=described["name"],
        kind=described["kind"],
        width_cm=described["width_cm"],
        depth_cm=described["depth_cm"],
        north_deg=described["north_deg"],
        time_zone=story.told["time_zone"],
        latitude_deg=described.get("latitude_deg"),
        longitude_deg=described.get("longitude_deg"),
        exit_on=story.day(described["exit_on"]),
        notes=story.words(described["notes"]),
        by=by,
    )
    parts = _microclimates(frame, described["microclimates"], by)
    for bench in described["benches"]:
        _bench(frame, dict(bench), parts, by)
    for fitting in described["fittings"]:
        add_fitting(frame=frame, by=by, **fitting)
    return frame


def module_at(label: str) -> Module:
    return Module.objects.select_related("bench__frame").get(label=label)


def _microclimates(
    frame: Frame, described: list[dict[str, Any]], by: User
) -> dict[str, Microclimate]:
    whole = frame.microclimates.get()  # every frame begins with one
    parts = {
        part["name"]: add_microclimate(frame=frame, name=part["name"], by=by)
        for part in described
    }
    for part in described:
        # Two may follow each other: one has the air sensor, one the root sensor.
        if part["follows"]:
            follow(
                microclimate=parts[part["name"]],
                follows=parts[part["follows"]],
                offset_k=part["offset_k"],
                by=by,
            )
    whole.delete()
    return parts


def _bench(
    frame: Frame, described: dict[str, Any], parts: dict[str, Microclimate], by: User
) -> None:
    ordinary = parts[described.pop("microclimate")]
    by_outlet = set(described.pop("outlet_columns", []))
    add_bench(
        frame=frame,
        by=by,
        module_cm=MODULE_CM,
        microclimate_of=lambda column, _: (
            parts[OUTLET] if column in by_outlet else ordinary
        ),
        **described,
    )
