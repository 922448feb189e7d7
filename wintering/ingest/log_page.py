"""What the page of one import tells."""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from wintering.climate.models import LogImport, Sensor
from wintering.climate.queries.imports import Share, shares_of
from wintering.ingest.dates import ORDER_NAMES
from wintering.ingest.forms import PASSES
from wintering.ingest.kept import is_kept

_UNITS = {"c": "°C", "f": "°F", "k": "K"}


@dataclass(frozen=True, slots=True)
class ColumnTold:
    """A column of the file and the sensor it went into."""

    column: str
    sensor: str
    sensor_pk: int | None  # None where no sensor has that name now
    place: str
    microclimate: str


@dataclass(frozen=True, slots=True)
class SensorTold:
    """One sensor's part of the report; `sensor_pk` as above."""

    name: str
    sensor_pk: int | None
    told: dict[str, Any]


@dataclass(frozen=True, slots=True)
class LogPage:
    how: tuple[tuple[str, str], ...]  # what was settled, and how
    columns: tuple[ColumnTold, ...]
    sensors: tuple[SensorTold, ...]
    shares: tuple[Share, ...]  # what stands of it now
    is_kept: bool

    @property
    def standing(self) -> int:
        return sum(share.count for share in self.shares)


def log_page(log_import: LogImport) -> LogPage:
    sensors = Sensor.objects.filter(frame=log_import.frame_id)
    known = dict(sensors.values_list("name", "pk"))
    reports = log_import.report.get("sensors", {})
    return LogPage(
        how=tuple(_how(log_import)),
        columns=tuple(_columns(log_import, known)),
        sensors=tuple(
            SensorTold(name, known.get(name), told) for name, told in reports.items()
        ),
        shares=tuple(shares_of(log_import)),
        is_kept=is_kept(log_import),
    )


def _how(log_import: LogImport) -> Iterable[tuple[str, str]]:
    if log_import.kind != LogImport.Kind.FILE:
        yield "Times", "each reading came with its own instant, or that of its arrival"
        return
    habits = log_import.habits
    zone = habits.get("zone")
    yield (
        "Times",
        f"carry no zone in the file; read as {zone}"
        if zone
        else "carry their zone in the file",
    )
    order = habits.get("date_order")
    yield (
        "Dates",
        f"written {ORDER_NAMES[order]}"
        if order in ORDER_NAMES
        else "written so that nothing had to be settled",
    )
    unit = habits.get("unit")
    yield (
        "Temperatures",
        f"taken as {_UNITS[unit]}, as was said"
        if unit in _UNITS
        else "in the unit that the file states or its values speak for",
    )
    if habits.get("repeated_hour") in PASSES:
        yield "The hour shown twice", PASSES[habits["repeated_hour"]]
    if not habits.get("columns"):
        yield "Columns", "each column of temperatures became a sensor of its name"


def _columns(log_import: LogImport, known: dict[str, int]) -> Iterable[ColumnTold]:
    places = dict(Sensor.Place.choices)
    parts = dict(log_import.frame.microclimates.values_list("slug", "name"))
    for column, told in (log_import.habits.get("columns") or {}).items():
        part = told.get("microclimate", "")
        yield ColumnTold(
            column=column,
            sensor=told["sensor"],
            sensor_pk=known.get(told["sensor"]),
            place=str(places.get(told.get("place"), "")),
            microclimate=parts.get(part, part),
        )
