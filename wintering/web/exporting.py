"""Readings as CSV, a few days at a time: a winter is never held at once."""

from collections.abc import Iterator, Sequence
from datetime import UTC, datetime, timedelta

import numpy as np
from numpy.typing import NDArray

from wintering.climate.models import Sensor
from wintering.climate.queries import Traced, traced
from wintering.science.screening import Quality
from wintering.science.units import TemperatureUnit
from wintering.web.tables.tree_export import FORMULA_STARTS
from wintering.web.windows import Window

AT_ONCE = timedelta(days=7)

UNITS = {
    Sensor.Unit.CELSIUS: "c",
    Sensor.Unit.FAHRENHEIT: "f",
    Sensor.Unit.KELVIN: "k",
    Sensor.Unit.PERCENT: "percent",
}


def csv_lines(sensors: Sequence[Sensor], window: Window) -> Iterator[str]:
    """One row a reading, sensor after sensor, marked ones too.

    `raw` is what the sensor wrote, in its own unit; `value` is that in °C or % with
    what a check in ice found taken off.
    """
    yield "at_utc,at_local,sensor,place,raw,raw_unit,value,unit,set_aside_because,"
    yield "source,source_row\r\n"
    for sensor in sensors:
        start = window.start
        while start < window.end:
            end = min(start + AT_ONCE, window.end)
            yield from _lines(sensor, traced(sensor, start, end), window)
            start = end


def _lines(sensor: Sensor, found: Traced, window: Window) -> Iterator[str]:
    raw_unit = UNITS[Sensor.Unit(sensor.unit)]
    raws = _raw(sensor, found)
    unit = "percent" if raw_unit == "percent" else "c"
    named = f"{_cell(sensor.name)},{_cell(sensor.get_place_display())}"
    sources = {pk: _cell(one.file_name) for pk, one in found.imports.items()}
    reasons = {int(q): _cell(q.reason) for q in Quality if q != Quality.GOOD}
    for second, raw, value, code, source, row in zip(
        found.seconds.tolist(),
        raws.tolist(),
        found.value.tolist(),
        found.quality.tolist(),
        found.source.tolist(),
        found.row.tolist(),
        strict=True,
    ):
        at = datetime.fromtimestamp(second, UTC)
        local = at.astimezone(window.zone).isoformat()
        yield (
            f"{at:%Y-%m-%dT%H:%M:%SZ},{local},{named},{_thousandths(raw)},{raw_unit},"
            f"{value:.3f},{unit},{reasons.get(code, '')},{sources.get(source, '')},"
            f"{row if source else ''}\r\n"
        )


def _raw(sensor: Sensor, found: Traced) -> NDArray[np.int64]:
    """Thousandths of its own unit, as they are stored."""
    if sensor.quantity == Sensor.Quantity.HUMIDITY:
        own = found.shown
    else:
        own = TemperatureUnit(sensor.unit).from_c(found.shown)
    return np.round(own * 1000).astype(np.int64)


def _thousandths(raw: int) -> str:
    """As it is stored: nothing is rounded."""
    sign = "-" if raw < 0 else ""
    return f"{sign}{abs(raw) // 1000}.{abs(raw) % 1000:03d}"


def _cell(text: str) -> str:
    """Quoted where it must be; no spreadsheet takes a name for a formula."""
    safe = f"'{text}" if text.startswith(FORMULA_STARTS) else text
    if any(sign in safe for sign in ',"\r\n'):
        return '"' + safe.replace('"', '""') + '"'
    return safe
