import numpy as np
import pytest

from wintering.science.evidence import Evidence
from wintering.science.forcing import (
    BOTTA,
    RequirementCurve,
    chill_days,
    gdh_curvilinear,
    thermal_time,
)

NAN = np.nan


def test_running_sums_of_days_pass_over_missing_ones():
    means = [5.0, NAN, 7.5, 4.0, 5.000001]
    assert chill_days(means).tolist() == [1, 1, 1, 2, 2]
    np.testing.assert_allclose(thermal_time(means), [0, 0, 2.5, 2.5, 2.500001])


def test_no_days_have_no_sums():
    assert thermal_time([]).size == chill_days([]).size == 0


def test_the_curve_of_warmth_is_closed_at_its_ends():
    # 0 at the base and at the end, 21 at the best temperature (Anderson et al. 1986)
    ends = gdh_curvilinear([4.0, 4.000001, 25.0, 35.999999, 36.0, 36.000001])
    np.testing.assert_allclose(ends, [0, 0, 21, 0, 0, 0], atol=5e-6)


def test_more_chill_never_asks_for_more_warmth_and_never_for_less_than_none():
    asked = BOTTA.required(np.arange(400))
    assert np.all(np.diff(asked) <= 0)
    # -68 + 638 exp(-0.01 C) crosses 0 at 223.9 chill days
    assert asked[223] > 0
    assert asked[224] == 0


@pytest.mark.parametrize(("b", "r"), [(0.0, -0.01), (638.0, 0.0), (638.0, 0.01)])
def test_a_curve_along_which_chill_asks_for_more_warmth_is_refused(b: float, r: float):
    with pytest.raises(ValueError, match="Chill lowers the warmth asked for"):
        RequirementCurve("x", -68.0, b, r, "no source", Evidence.OWN_CHOICE)
