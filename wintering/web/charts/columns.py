"""Columns of many readings as one picture: what it shows, before it is drawn."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from zoneinfo import ZoneInfo

import numpy as np
from django.contrib.auth.models import AnonymousUser
from numpy.typing import NDArray

from wintering.climate.models import Sensor
from wintering.climate.queries.charting import (
    Aside,
    Grid,
    Line,
    chart_lines,
)
from wintering.climate.storage import DAY_S, day_of
from wintering.frames.models import Frame
from wintering.people.models import User
from wintering.science.nights import nights
from wintering.science.series import HOUR_S
from wintering.web.charts.contents import Band
from wintering.web.happenings import Happening, happenings
from wintering.web.scales import Scale, scales_of

JOINED_S = 3 * HOUR_S
"""Columns further apart than this are not joined by a line, as in every chart here."""

NIGHTS_UP_TO_S = 100 * DAY_S
"""In a longer range nights are too thin to be seen: own choice."""


@dataclass(frozen=True, slots=True, eq=False)
class Drawn:
    """One line of a picture, and how its values are told."""

    key: int
    name: str
    place: str
    scale: Scale
    line: Line
    asides: tuple[Aside, ...] = ()


@dataclass(frozen=True, slots=True, eq=False)
class Picture:
    """Lines over one time: from start_s up to end_s, in columns of one grid."""

    title: str
    frame: Frame
    start_s: int
    end_s: int
    grid: Grid
    drawn: tuple[Drawn, ...]
    bands: tuple[Band, ...] = ()
    nights: NDArray[np.int64] | None = None
    happenings: tuple[Happening, ...] = ()
    is_laid_over: bool = False

    @property
    def zone(self) -> ZoneInfo:
        return ZoneInfo(self.frame.time_zone)

    @property
    def unit(self) -> str:
        return self.drawn[0].scale.unit if self.drawn else ""

    @property
    def gap_after_s(self) -> int:
        return max(JOINED_S, self.grid.step_s)

    @property
    def is_empty(self) -> bool:
        return all(np.isnan(one.line.low).all() for one in self.drawn)

    def at(self, second: float) -> datetime:
        return datetime.fromtimestamp(second, self.zone)


def picture_of(
    sensors: Sequence[Sensor],
    start_s: int,
    end_s: int,
    *,
    points: int,
    user: User | AnonymousUser | None,
) -> Picture:
    """Sensors of one frame that measure one quantity, over some time."""
    frame = sensors[0].frame
    found = chart_lines(sensors, start_s, end_s, points=points)
    scales = scales_of(sensors, user, day_of(end_s - 1))
    return Picture(
        title=_title(sensors),
        frame=frame,
        start_s=start_s,
        end_s=end_s,
        grid=found.grid,
        drawn=tuple(
            Drawn(
                sensor.pk,
                sensor.name,
                sensor.get_place_display(),
                scales[sensor.pk],
                found.lines[sensor.pk],
                found.asides[sensor.pk],
            )
            for sensor in sensors
        ),
        bands=bands_of(sensors),
        nights=nights_of(frame, start_s, end_s),
        happenings=tuple(happenings(frame, sensors, start_s, end_s)),
    )


def _title(sensors: Sequence[Sensor]) -> str:
    if len(sensors) == 1:
        return f"{sensors[0].name}, {sensors[0].get_place_display()}"
    is_humid = sensors[0].quantity == Sensor.Quantity.HUMIDITY
    what = "Relative humidity" if is_humid else "Temperatures"
    return f"{what} in {sensors[0].frame}"


def bands_of(sensors: Sequence[Sensor]) -> tuple[Band, ...]:
    """The safe bands of their microclimates [°C]; equal ones are one."""
    parts: dict[tuple[float, float], dict[str, None]] = {}
    for sensor in sensors:
        part = sensor.microclimate
        if part and sensor.quantity == Sensor.Quantity.TEMPERATURE:
            ends = (part.safe_low_c, part.safe_high_c)
            parts.setdefault(ends, {})[part.name] = None
    return tuple(
        Band(low, high, "safe band, " + _few(list(names)))
        for (low, high), names in parts.items()
    )


def _few(names: list[str]) -> str:
    return names[0] if len(names) == 1 else f"{len(names)} microclimates"


def nights_of(frame: Frame, start_s: int, end_s: int) -> NDArray[np.int64] | None:
    """None where the frame's position is not known, or nights would be too thin."""
    if frame.latitude_deg is None or frame.longitude_deg is None:
        return None
    if end_s - start_s > NIGHTS_UP_TO_S:
        return None
    return nights(start_s, end_s, frame.latitude_deg, frame.longitude_deg)
