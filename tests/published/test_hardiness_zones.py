"""Cold edges of the hardiness zones; the table's source stands in each row."""

import csv
import re
from pathlib import Path

import pytest

from wintering.science.hardiness import zone_lower_limit_c

TABLE = Path(__file__).with_name("hardiness_zones.csv")


def _rows() -> list[dict[str, str]]:
    with TABLE.open(newline="") as lines:
        return list(csv.DictReader(lines))


def test_there_is_a_row_for_each_half_zone():
    assert len(_rows()) == 26


@pytest.mark.parametrize("row", _rows(), ids=lambda row: row["taxon"])
def test_the_cold_edge_of_a_half_zone(row: dict[str, str]):
    zone = re.search(r"zone (\w+)", row["taxon"])[1]
    # the table gives one decimal
    assert zone_lower_limit_c(zone) == pytest.approx(float(row["value"]), abs=0.05), (
        row["source"],
        row["address_or_memory"],
    )
