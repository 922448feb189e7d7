"""Measures as people read them."""

import pytest
from django.template import Context
from django.template.loader import render_to_string

from wintering.people.models import User
from wintering.web.templatetags import units

CELSIUS, FAHRENHEIT = User(units="c"), User(units="f")
NBSP = "\N{NO-BREAK SPACE}"


@pytest.mark.parametrize(
    ("shown", "expected"),
    [
        (units.temperature(-33.0, CELSIUS), f"−33.0{NBSP}°C"),
        (units.temperature(-33.0, FAHRENHEIT), f"−27.4{NBSP}°F"),
        (units.rough_temperature(-4.0, CELSIUS), f"−4{NBSP}°C"),
        (units.temperature_in_both(0.0), f"0.0{NBSP}°C (32.0{NBSP}°F)"),
        (units.temperature_difference(1.2, FAHRENHEIT), f"2.2{NBSP}°F"),
        (units.measured(45.0, "cm"), f"45{NBSP}cm"),
        (units.quantity(Context({"user": CELSIUS}), 1.5, "h"), f"1.5{NBSP}h"),
        (units.quantity(Context(), "3, 1, 0", "h"), f"3, 1, 0{NBSP}h"),
        (units.quantity(Context(), 3.0, ""), "3"),
        (units.measured(None, "cm"), "not known"),
    ],
)
def test_no_line_ends_between_a_number_and_its_unit(shown, expected):
    assert shown == expected


@pytest.mark.parametrize(
    ("told", "read"),
    [
        ("between −3 and +2 °C outside", "between 27 and 36 °F outside"),
        ("it is at -0.6 °C and may be frozen", "it is at 30.9 °F and may be frozen"),
        ("cool (2 to 8 °C air)", "cool (36 to 46 °F air)"),
        ("4 degrees (°C) above what kills", "4 degrees (°C) above what kills"),
        ("more than 15 K away", "more than 27 °F away"),
        ("It fell by 5.5 K within an hour", "It fell by 9.9 °F within an hour"),
        ("40 K h below it, 2 W/(m² K)", "40 K h below it, 2 W/(m² K)"),
        ("5 Kalmia", "5 Kalmia"),
        ("zone 5 and 120 days", "zone 5 and 120 days"),
        ("", ""),
    ],
)
def test_sentences_in_celsius_are_read_in_the_readers_degrees(told, read):
    assert units.in_readers_degrees(told, FAHRENHEIT).replace(NBSP, " ") == read
    assert units.in_readers_degrees(told, CELSIUS) == told


def test_a_sum_of_day_degrees_keeps_its_unit_and_the_base_it_was_counted_from():
    items = [
        {"text": "Day-degrees above 5 °C", "value": 41.5, "unit": "°C d", "source": ""},
        {"text": "Lowest since 5 °C were left", "value": -1, "unit": "°C"},
    ]
    shown = render_to_string(
        "web/_evidence.html", {"items": items, "user": FAHRENHEIT}
    ).replace(NBSP, " ")
    assert "Day-degrees above 5 °C: <strong>41.5 °C d</strong>" in shown
    assert "Lowest since 41 °F were left: <strong>30.2 °F</strong>" in shown


def test_a_source_stays_as_it_is_written():
    said = {"stated_by": "a page: -14 °F (−25.6 °C)", "readings": "Killed at −10 °C."}
    shown = render_to_string("web/_evidence.html", {**said, "user": FAHRENHEIT})
    assert said["stated_by"] in shown
    assert f"Killed at 14{NBSP}°F." in shown
