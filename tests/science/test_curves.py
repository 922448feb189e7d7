import numpy as np
import pytest

from wintering.science.curves import BOTTA, RequirementCurve
from wintering.science.evidence import Evidence


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
