"""What is known of sensors and their readings."""

from wintering.climate.queries.offsets import Offsets, as_shown, offsets_of
from wintering.climate.queries.readings import (
    Extremes,
    Latest,
    Series,
    extremes,
    hourly,
    last_reading_at,
    latest,
    readings,
    several_readings,
)
from wintering.climate.queries.sensors import log_imports_for, sensors_for
from wintering.climate.queries.tracing import Traced, traced

__all__ = [
    "Extremes",
    "Latest",
    "Offsets",
    "Series",
    "Traced",
    "as_shown",
    "extremes",
    "hourly",
    "last_reading_at",
    "latest",
    "log_imports_for",
    "offsets_of",
    "readings",
    "sensors_for",
    "several_readings",
    "traced",
]
