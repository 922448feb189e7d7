from decimal import ROUND_HALF_EVEN, Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.ingest.dialects import number
from wintering.ingest.cells import BAD, EMPTY, NumberCells

LIMIT = 2**31 - 1


@given(st.integers(-LIMIT, LIMIT), st.sampled_from(".,"))
def test_every_thousandth_comes_back_exactly(thousandths, decimal):
    text = number(thousandths, decimal)
    if Decimal(text.replace(",", ".")) in {-9999, -999, Decimal("-999.9")}:
        return
    assert NumberCells()[text] == thousandths


@given(st.decimals(-999, 999, places=6))
def test_finer_readings_are_rounded_once(value):
    expected = int((value * 1000).to_integral_value(ROUND_HALF_EVEN))
    if value == -999:
        expected = EMPTY
    assert NumberCells()[f"{value:f}"] == expected


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("21.3", 21300),
        (" 21,3 ", 21300),
        ("+0.5", 500),
        (".5", 500),
        ("-,25", -250),
        ("7.", 7000),
        ("\u22124.2", -4200),
        ("1.5e1", 15000),
        ("21.3 °C", 21300),
        ("21.3C", 21300),
        ("70 deg F", 70000),
        ("0.0005", 0),
        ("0.0015", 2),
    ],
)
def test_a_number_is_read(text, value):
    assert NumberCells()[text] == value


@pytest.mark.parametrize(
    "text", ["", " ", "NAN", "NaN", "na", "N/A", "--", "-9999", "-9999.0", "NULL", "?"]
)
def test_not_recorded_is_empty(text):
    assert NumberCells()[text] == EMPTY


@pytest.mark.parametrize(
    "text",
    [
        "ERR",
        "inf",
        "1_000",
        "1.234,5",
        "12:30",
        "1 2",
        "21.3 V",
        "9e99",
        "2147483.648",
        "٣",
        "1" * 50,
    ],
)
def test_what_is_no_reading_is_bad(text):
    assert NumberCells()[text] == BAD


def test_units_met_are_kept_with_the_first_cell_that_had_them():
    cells = NumberCells()
    assert [cells[text] for text in ("5", "21.3 °C", "22 C", "70.3 °F", "-")]
    assert cells.units == {"": "5", "c": "21.3 °C", "f": "70.3 °F"}


def test_many_columns_share_what_is_remembered():
    cells = NumberCells(columns=400)
    for whole in range(5_000):
        assert cells[f"{whole}.25"] == 1000 * whole + 250
    assert len(cells) <= 501
