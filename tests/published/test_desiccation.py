"""Winter drought at a leaf against the saturation pressures that ASHRAE tabulates."""

import pytest

from tests.published.physics import table
from wintering.science.desiccation import dose_kpa_h

AT_5_C = table()["P03"]
AT_5_C_KPA = float(AT_5_C.expected) / 1000
WITHIN_KPA = float(AT_5_C.tolerance) / 1000


def test_a_shaded_leaf_over_a_frozen_ball_lacks_what_the_table_says():
    # a temperature of the table, at 60 % humidity
    found = dose_kpa_h(5.0, 60.0, ball_c=-1.0, in_sun=False)
    assert found == pytest.approx(0.4 * AT_5_C_KPA, abs=WITHIN_KPA)


def test_a_leaf_in_the_sun_is_reckoned_at_its_own_temperature():
    # air saturated at 0 °C (0.6112 kPa in the same table; from memory), leaf at 5 °C
    found = dose_kpa_h(0.0, 100.0, ball_c=-1.0, in_sun=True)
    assert found == pytest.approx(AT_5_C_KPA - 0.6112, abs=WITHIN_KPA)
