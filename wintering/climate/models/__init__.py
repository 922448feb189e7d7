"""Sensors, what they measured, where it came from, and what people said of it."""

from wintering.climate.models.checks import MinMaxEntry, SensorCheck, Verdict
from wintering.climate.models.loggers import Arrival, Logger, LoggerChannel
from wintering.climate.models.logs import LogImport
from wintering.climate.models.readings import ConflictDay, ReadingDay
from wintering.climate.models.sensors import Sensor

__all__ = [
    "Arrival",
    "ConflictDay",
    "LogImport",
    "Logger",
    "LoggerChannel",
    "MinMaxEntry",
    "ReadingDay",
    "Sensor",
    "SensorCheck",
    "Verdict",
]
