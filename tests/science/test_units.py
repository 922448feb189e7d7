import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from wintering.science.units import (
    TemperatureUnit,
    c_to_f,
    c_to_k,
    f_to_c,
    k_to_c,
)

# fixed points of the scales: ice and steam by definition, -40 where °F and °C meet,
# 0 °F and absolute zero (SI brochure, 2.3.1; NIST SP 811, B.8)
FIXED = [
    (0.0, 32.0, 273.15),
    (100.0, 212.0, 373.15),
    (-40.0, -40.0, 233.15),
    (-273.15, -459.67, 0.0),
]


@pytest.mark.parametrize(("c", "f", "k"), FIXED)
def test_the_scales_meet_at_their_fixed_points(c: float, f: float, k: float):
    assert f_to_c(f) == pytest.approx(c, abs=1e-12)
    assert c_to_f(c) == pytest.approx(f, abs=1e-12)
    assert k_to_c(k) == pytest.approx(c, abs=1e-12)
    assert c_to_k(c) == pytest.approx(k, abs=1e-12)


@given(st.floats(-200, 200), st.sampled_from(TemperatureUnit))
def test_there_and_back_changes_nothing(c: float, unit: TemperatureUnit):
    assert unit.to_c(unit.from_c(c)) == pytest.approx(c, abs=1e-11)


def test_whole_arrays_are_converted():
    assert TemperatureUnit("f").to_c(np.array([32.0, 50.0])).tolist() == [0.0, 10.0]
    assert TemperatureUnit("c").to_c(np.array([1.0])).tolist() == [1.0]
