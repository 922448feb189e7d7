"""The plain loop of the bench and the vectorised code count the same."""

import numpy as np
import pytest

from tests.bench.plain import plain_totals
from tests.bench.winters import winters
from wintering.science.accumulating import advance, as_they_stand, begun


@pytest.mark.parametrize("missing_share", [0.0, 0.02])
def test_all_models_agree_with_the_plain_loop(missing_share):
    c = winters(6, missing_share=missing_share, seed=7)
    found = as_they_stand(c)
    assert found.portions.min() > 10
    for index in range(6):
        for name, total in plain_totals(c[:, index].tolist()).items():
            assert getattr(found, name)[index] == pytest.approx(total, rel=1e-9), name


def test_heat_deep_frost_and_the_limits_agree_too():
    rng = np.random.default_rng(3)
    c = rng.choice([-60, -25, -2, -2.000001, 0, 1.4, 7.2, 18, 25, 30, 36, 70], 3000)
    found = advance(begun(), c)
    for name, total in plain_totals(c.tolist()).items():
        assert getattr(found, name) == pytest.approx(total, rel=1e-9), name
