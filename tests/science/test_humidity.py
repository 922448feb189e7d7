import numpy as np
import pytest

from wintering.science.evidence import Evidence
from wintering.science.humidity import usable_rh, vapour_from_night_low
from wintering.science.vapour import frost_point_c, over_ice_kpa

NAN = np.nan


def test_humidity_is_held_between_what_air_can_be():
    found = usable_rh([0.0, 55.0, 100.0, 104.0, 110.0])
    assert found.rh_pct.tolist() == [0.5, 55, 100, 100, 100]
    assert (found.capped_h, found.set_aside, found.warning) == (2, 0, "")


def test_what_is_no_humidity_is_set_aside_and_counted():
    found = usable_rh([-0.1, 110.1, 999.0, NAN, 60.0])
    assert np.isnan(found.rh_pct).tolist() == [True, True, True, True, False]
    assert found.set_aside == 3


@pytest.mark.parametrize(("hours", "is_said"), [(23, False), (24, True)])
def test_a_day_above_a_hundred_speaks_of_drift(hours, is_said):
    found = usable_rh([80.0] + [101.0] * hours + [80.0] + [101.0] * 20)
    assert found.capped_h == hours + 20
    assert (f"above 100 % for {hours} hours on end" in found.warning) is is_said


def test_no_readings_are_no_drift():
    assert usable_rh([]).warning == ""


def test_a_nights_lowest_stands_in_only_as_an_estimate():
    found = vapour_from_night_low([-5.0, 2.0, NAN])
    assert found.kpa[0] == over_ice_kpa(-5.0)
    assert frost_point_c(found.low_kpa)[:2] == pytest.approx([-8.0, -1.0])
    assert np.isnan(found.kpa).tolist() == [False, False, True]
    assert found.because.startswith("No humidity was measured")
    assert found.because.endswith("Low confidence.")
    assert found.evidence is Evidence.FROM_MEMORY
