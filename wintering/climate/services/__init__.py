"""What can be done to sensors and their readings."""

from wintering.climate.services.conflicts import settle_conflicts
from wintering.climate.services.imports import begin_import, take_rows
from wintering.climate.services.judging import rejudge
from wintering.climate.services.sensors import add_sensor, place_sensor
from wintering.climate.services.storing import Conflict, Stored, store_readings
from wintering.climate.services.undoing import (
    fill_freed,
    take_out_import,
    undo_import,
)

__all__ = [
    "Conflict",
    "Stored",
    "add_sensor",
    "begin_import",
    "fill_freed",
    "place_sensor",
    "rejudge",
    "settle_conflicts",
    "store_readings",
    "take_out_import",
    "take_rows",
    "undo_import",
]
