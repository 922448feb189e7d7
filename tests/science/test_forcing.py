import numpy as np

from wintering.science.forcing import (
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
