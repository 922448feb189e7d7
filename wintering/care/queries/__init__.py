"""What is due, when each tree was last looked at, and when it will want water."""

from wintering.care.queries.checks import (
    Care,
    DueCheck,
    care_of,
    reasons_not_to_water,
    rounds_for,
    watering_due,
    why_not_now,
)
from wintering.care.queries.water import TreeWater, water_of

__all__ = [
    "Care",
    "DueCheck",
    "TreeWater",
    "care_of",
    "reasons_not_to_water",
    "rounds_for",
    "water_of",
    "watering_due",
    "why_not_now",
]
