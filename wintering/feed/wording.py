"""How events are worded: days, temperatures, lists that may be too long."""

from collections.abc import Sequence
from datetime import date

from wintering.science.units import c_to_f

# Room that calendar programs and readers bear with.
LONGEST_DESCRIPTION = 2000


def day_words(day: date) -> str:
    return f"{day:%a} {day.day} {day:%b %Y}"


def trees_words(count: int) -> str:
    return "1 tree" if count == 1 else f"{count} trees"


def named(number: str, name: str, script: str = "") -> str:
    return " ".join(part for part in (number, name, script) if part)


def measured(value: object, unit: str) -> str:
    """A value as it stands in evidence; temperatures for readers of either scale."""
    if unit == "°C" and isinstance(value, int | float):
        f = round(c_to_f(float(value)))
        return f"{value} °C ({f} °F)".replace("-", "−")
    return f"{value} {unit}".strip()


def paragraphs(
    head: Sequence[str], lines: Sequence[str], tail: Sequence[str] = ()
) -> str:
    """Paragraphs around a list. Lines that find no room are counted, never cut."""
    kept = list(lines)
    while True:
        left_out = len(lines) - len(kept)
        more = [f"and {left_out} more"] if left_out else []
        text = "\n".join([*head, *kept, *more, *tail])
        if len(text) <= LONGEST_DESCRIPTION or not kept:
            return text
        kept.pop()
