"""Measures as people read them: the number, its unit, a true minus sign.

Temperatures arrive in °C and leave in the reader's unit.
"""

import math
import re

from django import template
from django.contrib.auth.models import AnonymousUser
from django.template import Context

from wintering.people.models import User
from wintering.science.units import c_to_f

register = template.Library()

UNKNOWN = "not known"
MINUS = "\N{MINUS SIGN}"
NBSP = "\N{NO-BREAK SPACE}"  # a line never ends between a number and its unit


def is_unknown(value: float | str | None) -> bool:
    """None, not a number, or what a template makes of a missing attribute."""
    return value is None or value == "" or math.isnan(value)


@register.filter
def decimals(value: float | None, places: int = 1) -> str:
    """A number with so many decimals: −0.4. Never 'minus nothing'."""
    if is_unknown(value):
        return UNKNOWN
    text = f"{value:.{places}f}"
    if float(text) == 0:
        text = text.removeprefix("-")
    return text.replace("-", MINUS)


@register.filter
def plain_number(value: float | None) -> str:
    """A number without needless decimals: 45, 2.4."""
    if is_unknown(value):
        return UNKNOWN
    return f"{value:g}".replace("-", MINUS)


def reads_fahrenheit(user: User | AnonymousUser) -> bool:
    return getattr(user, "units", User.Units.CELSIUS) == User.Units.FAHRENHEIT


@register.filter
def temperature(value_c: float | None, user: User | AnonymousUser) -> str:
    if is_unknown(value_c):
        return UNKNOWN
    if reads_fahrenheit(user):
        return f"{decimals(c_to_f(value_c))}{NBSP}°F"
    return f"{decimals(value_c)}{NBSP}°C"


@register.filter
def rough_temperature(value_c: float | None, user: User | AnonymousUser) -> str:
    """In whole degrees, to the milder side: of what a tree bears, roughly known."""
    if is_unknown(value_c):
        return UNKNOWN
    if reads_fahrenheit(user):
        return f"{decimals(math.ceil(c_to_f(value_c)), 0)}{NBSP}°F"
    return f"{decimals(math.ceil(value_c), 0)}{NBSP}°C"


@register.filter
def temperature_in_both(value_c: float | None) -> str:
    """For warnings on paper, which may be read by anyone."""
    if is_unknown(value_c):
        return UNKNOWN
    return f"{decimals(value_c)}{NBSP}°C ({decimals(c_to_f(value_c))}{NBSP}°F)"


# '-3 °C', '−3 and +2 °C', '2 to 7 °C' in a sentence.
_IN_WORDS = re.compile(
    r"(?<![\w.])([+−-]?\d+(?:\.\d+)?)"
    r"(?:( to | and )([+−-]?\d+(?:\.\d+)?))?[ \u00a0]°C"
)


# '3 K', '5.5 K' in a sentence, but neither '40 K h' nor 'W/(m² K)'.
_APART_IN_WORDS = re.compile(r"(?<![\w.])([+−-]?\d+(?:\.\d+)?)[ \u00a0]K\b(?! h)")


@register.filter
def in_readers_degrees(sentence: str, user: User | AnonymousUser) -> str:
    """A sentence written in °C, for whoever reads °F; sources stay as they are."""
    if not sentence or not reads_fahrenheit(user):
        return sentence
    return words_in_fahrenheit(sentence)


def words_in_fahrenheit(sentence: str) -> str:
    """What is written with °C is a temperature, what is written with K a difference."""
    return _APART_IN_WORDS.sub(_apart_f, _IN_WORDS.sub(_words_f, sentence))


def _apart_f(found: re.Match[str]) -> str:
    """As many decimals as were told, or one more: 3 K are 5.4 °F."""
    text = found[1]
    apart_f = float(text.replace(MINUS, "-")) * 9 / 5
    places = len(text.partition(".")[2])
    number = decimals(apart_f, places) if places else plain_number(round(apart_f, 1))
    return f"{number}{NBSP}°F"


def _words_f(found: re.Match[str]) -> str:
    first, between, second = found.groups()
    ends = [_plain_f(end) for end in (first, second) if end]
    return f"{(between or '').join(ends)}{NBSP}°F"


def _plain_f(text: str) -> str:
    """As many decimals as were told."""
    value_c = float(text.replace(MINUS, "-"))
    return decimals(c_to_f(value_c), 1 if "." in text else 0)


@register.filter
def temperature_difference(value_k: float | None, user: User | AnonymousUser) -> str:
    """How much warmer or colder: no zero point in it."""
    if is_unknown(value_k):
        return UNKNOWN
    if reads_fahrenheit(user):
        return f"{decimals(value_k * 9 / 5)}{NBSP}°F"
    return f"{decimals(value_k)}{NBSP}°C"


@register.filter
def kelvin(value_k: float | None) -> str:
    """How far off, to the hundredth: +0.30 K. One kelvin is one step of °C."""
    if is_unknown(value_k):
        return UNKNOWN
    sign = "+" if round(value_k, 2) > 0 else ""
    return f"{sign}{decimals(value_k, 2)}{NBSP}K"


@register.filter
def kelvin_apart(value_k: float | None) -> str:
    return UNKNOWN if is_unknown(value_k) else f"{decimals(value_k, 2)}{NBSP}K"


@register.filter
def measured(value: float | None, unit: str) -> str:
    """A length or weight with its unit: 45 cm, 2.4 kg."""
    return UNKNOWN if is_unknown(value) else f"{plain_number(value)}{NBSP}{unit}"


@register.simple_tag(takes_context=True)
def quantity(context: Context, value: float | str | None, unit: str) -> str:
    """A value of any unit; a temperature in °C becomes the reader's."""
    if isinstance(value, str):
        return f"{value}{NBSP}{unit}".strip()
    if unit == "°C":
        return temperature(value, context.get("user") or AnonymousUser())
    return f"{plain_number(value)}{NBSP}{unit}".strip()
