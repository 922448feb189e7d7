"""Numbers and days as they are written on paper."""

from datetime import date, datetime
from zoneinfo import ZoneInfo

from wintering.science.units import c_to_f


def number(value: float) -> str:
    """At most one decimal, with a true minus sign."""
    return f"{value:.1f}".removesuffix(".0").replace("-", "−")


def kilograms(weight_kg: float | None) -> str:
    return "? kg" if weight_kg is None else f"{number(weight_kg)} kg"


def both_units(c: float) -> str:
    """A temperature for readers of either scale; its place is said beside it."""
    return f"{number(c)} °C ({round(c_to_f(c)):d} °F)".replace("(-", "(−")


def band(low_c: float, high_c: float) -> str:
    low_f, high_f = round(c_to_f(low_c)), round(c_to_f(high_c))
    text = f"{number(low_c)} to {number(high_c)} °C ({low_f} to {high_f} °F)"
    return text.replace("-", "−")


def long_day(day: date) -> str:
    return f"{day:%A} {day.day} {day:%B %Y}"


def local_moment(at: datetime, time_zone: str) -> str:
    """Day and time in a frame's own zone, which is named."""
    local = at.astimezone(ZoneInfo(time_zone))
    return f"{local:%a} {local.day} {local:%b %Y, %H:%M} ({time_zone})"
