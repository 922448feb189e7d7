"""What a column's heading says: which quantity, in which unit."""

import re
from typing import Literal

Unit = Literal["c", "f", "k", "pct"]
Quantity = Literal["temperature", "humidity", "other", "unknown"]

# What a column may be taken as; the rest (battery, wind ...) is not offered.
OFFERED = {"temperature", "humidity", "unknown"}
UNIT_NAMES: dict[str, str] = {"c": "°C", "f": "°F", "k": "K", "pct": "%"}
_UNITS: dict[str, Unit] = {
    "c": "c", "celsius": "c", "cels": "c", "centigrade": "c",
    "f": "f", "fahrenheit": "f", "fahr": "f",
    "k": "k", "kelvin": "k",
    "%": "pct", "pct": "pct", "percent": "pct", "%rh": "pct", "rh%": "pct",
    "% rh": "pct",
}  # fmt: skip
_UNIT_TEXT = re.compile(
    r"(?:[°º˚]|deg(?:rees?|\.)?)?\s*([a-z%]+(?: rh)?)\.?", re.IGNORECASE
)
# Brackets or a degree sign make a letter a unit wherever it stands.
_MARKED = re.compile(
    r"[\[({<]\s*([^\[\](){}<>]*?)\s*[\])}>]"
    r"|((?:[°º˚]|\bdeg(?:rees?)?[\s._]?)\s*[CFK])(?![a-z])",
    re.IGNORECASE,
)
_HUMIDITY = {"rh", "humidity", "hum", "humid", "relhum", "relh"}
_TEMPERATURE = re.compile(
    r"t\d*|t?air\d*|temp\w*|t(?:min|max|avg|mean)|soil\d*|root\w*|ground|probe\w*"
)
# Degrees that no probe measured: worked out from several quantities.
_DERIVED = re.compile(
    r"\b(?:dew|frost ?point|wet ?bulb|wind ?chill|heat ?index|humidex|feels|apparent)"
)
_OTHER = re.compile(
    r"wind\w*|gust\w*|solar|ghi|dhi|dni|rad\w*|irradiance|par|ppfd|k?lux|light|"
    r"rain\w*|precip\w*|snow\w*|press\w*|baro\w*|[hk]?pa|mbar|batt\w*|volt\w*|vbat\w*|"
    r"m?v|rssi|signal|lqi|rec(?:ord|no)?|idx|index|id|nr|no|num(?:ber)?|count\w*|line|"
    r"row|serial|station|status|flags?|quality|qc|co2|ppm|vpd|moist\w*|vwc|ec|ph|"
    r"power|k?wh?|m2|[mc]?m|ms|mps|mj|s|sec\w*|lat\w*|lon\w*|elev\w*|alt\w*|event\w*"
)


def unit_of(text: str | None) -> Unit | None:
    """The unit that a text names by itself: '°C', 'deg F', 'Celsius', '%RH'."""
    match = _UNIT_TEXT.fullmatch(_spelt_out(text or "").strip())
    return _UNITS.get(match[1].lower()) if match else None


def units_in(heading: str) -> set[Unit]:
    """Every unit that a heading names plainly: in brackets, by a sign or a word."""
    text = _spelt_out(heading)
    marked = (unit_of(match[1] or match[2]) for match in _MARKED.finditer(text))
    found = {unit for unit in marked if unit}
    if found:
        return found
    spelt = {_UNITS[w] for w in _words(text) if len(w) > 1 and w in _UNITS}
    return spelt or ({"pct"} if "%" in text else set())


def last_letter_unit(heading: str) -> Unit | None:
    """The unit in a trailing letter: `air_c`, `Temp F`."""
    words = _words(heading)
    return _UNITS.get(words[-1]) if words and len(words[-1]) == 1 else None


def quantity_of(heading: str, unit: Unit | None) -> Quantity:
    """What a heading says is measured; 'unknown' where it does not say."""
    words = _words(re.sub(r"[\[(].*?[\])]", " ", heading))
    if any(word in _HUMIDITY for word in words) or "%rh" in heading.lower():
        return "humidity" if unit in {None, "pct"} else "other"
    if _DERIVED.search(" ".join(words)):
        return "other"
    if unit == "pct":
        # Humidity in words not known here, or how full or how wet something is.
        is_other = any(_OTHER.fullmatch(word) for word in words)
        return "other" if is_other else "unknown"
    if unit is not None or any(word.startswith("temp") for word in words):
        return "temperature"
    if any(_OTHER.fullmatch(word) for word in words):
        return "other"
    is_named = any(_TEMPERATURE.fullmatch(word) for word in words)
    return "temperature" if is_named else "unknown"


def _spelt_out(text: str) -> str:
    return text.replace("℃", "°C").replace("℉", "°F")


def _words(heading: str) -> list[str]:
    return [word for word in re.split(r"[^a-z0-9]+", heading.lower()) if word]
