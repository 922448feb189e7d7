"""The temperatures each tree has stood in, stitched over its places."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, date, datetime
from zoneinfo import ZoneInfo

import numpy as np

from wintering.climate.queries import hourly
from wintering.climate.sources import AIR_PLACES, ROOT_PLACES, Source, sources_of
from wintering.science.days import local_days
from wintering.science.series import HOUR_S, Hourly, bridge, joined
from wintering.stays.queries import Place

# A microclimate and the clock hours a tree stood in it, the last excluded.
Piece = tuple[int, int, int]


@dataclass(frozen=True, eq=False)
class Exposure:
    """Hourly air and root zone of a tree, and the sensors they come from.

    Hours in which it stood nowhere, or where no sensor speaks, are missing.
    """

    air: Hourly
    root: Hourly
    air_sources: tuple[Source, ...]
    root_sources: tuple[Source, ...]


def hour_of(instant: datetime) -> int:
    """Number of the clock hour an instant lies in, since 1970-01-01 00:00 UTC."""
    return int(instant.timestamp() // HOUR_S)


def midnight_hour(day: date, zone: ZoneInfo) -> int:
    """The first clock hour that begins in a local day, as `local_days` counts it."""
    return local_days(day, day, zone).first_hour


def exposures(
    places: dict[int, list[Place]], *, since: date, at: datetime
) -> dict[int, Exposure]:
    """What each tree was exposed to from a day up to an instant.

    Trees that shared all their microclimates share one result. The number of
    statements does not grow with the trees.
    """
    end = hour_of(at)
    pieces = {tree: _pieces(stood, since, end) for tree, stood in places.items()}
    parts = {part for several in pieces.values() for part, _, _ in several}
    air, root = sources_of(parts, AIR_PLACES), sources_of(parts, ROOT_PLACES)
    series = _series([*air.values(), *root.values()], pieces.values(), end)
    made: dict[tuple[Piece, ...], Exposure] = {}
    for several in pieces.values():
        if several not in made:
            made[several] = _exposure(several, air, root, series)
    return {tree: made[several] for tree, several in pieces.items()}


def _pieces(places: list[Place], since: date, end: int) -> tuple[Piece, ...]:
    found = []
    for place in places:
        zone = ZoneInfo(place.frame.time_zone)
        first = midnight_hour(max(place.since, since), zone)
        last = (
            end if place.until is None else min(end, midnight_hour(place.until, zone))
        )
        if first < last:
            found.append((place.microclimate_id, first, last))
    return tuple(found)


def _series(
    sources: list[Source], pieces: Iterable[tuple[Piece, ...]], end: int
) -> dict[int, Hourly]:
    begins = [first for several in pieces for _, first, _ in several]
    if not begins or not sources:
        return {}
    sensors = {source.sensor.pk: source.sensor for source in sources}
    start_at, end_at = (
        datetime.fromtimestamp(hour * HOUR_S, UTC) for hour in (min(begins), end)
    )
    measured = hourly(list(sensors.values()), start_at, end_at)
    return {sensor_id: bridge(one) for sensor_id, one in measured.items()}


def _exposure(
    pieces: tuple[Piece, ...],
    air: dict[int, Source],
    root: dict[int, Source],
    series: dict[int, Hourly],
) -> Exposure:
    parts = list(dict.fromkeys(part for part, _, _ in pieces))
    return Exposure(
        air=_stitched(pieces, air, series),
        root=_stitched(pieces, root, series),
        air_sources=tuple(air[part] for part in parts if part in air),
        root_sources=tuple(root[part] for part in parts if part in root),
    )


def _stitched(
    pieces: tuple[Piece, ...], sources: dict[int, Source], series: dict[int, Hourly]
) -> Hourly:
    spoken = []
    for part, first, last in pieces:
        source = sources.get(part)
        if source and source.sensor.pk in series:
            measured = series[source.sensor.pk].shifted(source.offset_k)
        else:
            measured = Hourly.measured(first, np.empty(0))
        spoken.append((measured, first, last))
    return joined(spoken)
