import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from wintering.science.mould import (
    MouldLevel,
    broome_part,
    mould_risk,
    required_wet_h,
    wetness_index,
)

NAN = np.nan
hours = st.lists(st.tuples(st.floats(-10, 35), st.booleans()), min_size=1, max_size=120)


def test_warmth_up_to_twenty_degrees_asks_for_fewer_wet_hours():
    needed = required_wet_h(np.linspace(0.001, 20.0, 4001))
    assert (np.diff(needed) < 0).all()
    # without a step where the regimes meet
    assert np.abs(np.diff(needed)).max() < 0.13
    assert required_wet_h([6.0, 9.0, 12.0]).tolist() == pytest.approx([15, 11.5, 8])


def test_from_twelve_degrees_on_it_is_the_published_equation():
    same = broome_part(8.0, 12.0)
    for c in (15.0, 20.0, 25.0, 30.0):
        assert broome_part(required_wet_h(c), c) == pytest.approx(same)


def test_outside_the_range_of_growth_no_hours_suffice():
    assert required_wet_h([-5.0, 0.0, 40.1]).tolist() == [np.inf] * 3
    assert required_wet_h(35.0) == required_wet_h(30.0)
    assert np.isnan(required_wet_h(NAN))


def test_broome_is_told_in_its_range_only():
    told = broome_part(10.0, [11.9, 12.0, 30.0, 30.1, 40.1])
    assert np.isnan(told).tolist() == [True, False, False, True, False]
    assert told[-1] == 0


def test_four_dry_hours_end_an_event():
    wet = np.array([1, 1, 0, 0, 0, 1, 0, 0, 0, 0, 1], dtype=bool)
    found = wetness_index(np.full(11, 6.0), wet) * 15
    assert found == pytest.approx([1, 2, 2, 2, 2, 3, 3, 3, 3, 0, 1], abs=1e-4)


def test_frozen_hours_neither_add_nor_end_nor_dry():
    c = [6.0, 6.0, -1.0, -1.0, -1.0, -1.0, -1.0, 6.0, 6.0, 6.0, -2.0, 6.0, 6.0]
    wet = [True, True, *[False] * 3, True, False, *[False] * 6]
    found = wetness_index(c, wet) * 15
    # the fourth dry hour above freezing is the last but one; the frozen do not count
    assert found == pytest.approx([1, *[2] * 10, 0, 0], abs=1e-4)


def plainly(c, wet):
    """The rule told hour by hour, another way round."""
    index, dry, told = 0.0, 0, []
    needed_h = required_wet_h(c)
    for air_c, is_wet, needed in zip(c, wet, needed_h, strict=True):
        if air_c > 0:
            dry = 0 if is_wet else dry + 1
            index = 0.0 if dry >= 4 else index
            index += 1 / needed if is_wet else 0.0
        told.append(index)
    return told


@given(hours)
def test_the_sum_is_that_of_the_rule_told_hour_by_hour(series):
    c, wet = zip(*series, strict=True)
    np.testing.assert_allclose(wetness_index(c, wet), plainly(c, wet), atol=1e-6)


@given(hours, st.sets(st.integers(0, 119)))
def test_missing_humidity_leaves_a_range_around_the_truth(series, gaps):
    c = np.array([air_c for air_c, _ in series])
    rh = np.array([95.0 if is_wet else 70.0 for _, is_wet in series])
    whole = mould_risk(c, rh)
    rh[[gap for gap in gaps if gap < rh.size]] = NAN
    found = mould_risk(c, rh)
    if found is not None:
        assert found.missing_h == np.isnan(rh).sum()
        assert (found.index_low <= whole.index_low + 1e-6).all()
        assert (found.index_high >= whole.index_high - 1e-6).all()


def test_levels_and_what_lowers_the_bar():
    def level(wet_h, *worse):
        return mould_risk(np.full(wet_h, 6.0), np.full(wet_h, 92.0), worse=worse).level

    assert [level(7), level(15), level(30)] == ["calm", "watch", "act"]
    assert [level(8, "wounds"), level(15, "wounds")] == ["watch", "act"]


def test_it_is_never_called_a_diagnosis():
    found = mould_risk(np.full(40, 6.0), np.full(40, 95.0), worse=["dead leaves"])
    assert found.because.startswith("Conditions have favoured grey mould for long")
    assert "40 wet and frost-free hours" in found.because
    assert "The bar is lower for: dead leaves." in found.because


def test_a_gap_that_decides_makes_the_level_unknown():
    rh = np.full(30, 95.0)
    rh[20:28] = NAN
    found = mould_risk(np.full(30, 6.0), rh)
    assert found.level is MouldLevel.UNKNOWN
    assert found.missing_h == 8
    assert found.because.endswith(
        "8 hours are missing, reckoned once as dry and once as wet."
    )


def test_missing_hours_in_a_frost_may_have_thawed_and_ended_the_event():
    c = np.array([6.0] * 20 + [-1.0] + [NAN] * 4 + [-1.0])
    found = mould_risk(c, np.array([95.0] * 20 + [70.0] * 6))
    assert found.index_low[-1] == 0.0
    assert found.index_high[-1] >= 20 / 15 - 1e-4
    assert found.level is MouldLevel.UNKNOWN
    # one missing hour fewer cannot have ended it
    fewer = mould_risk(np.delete(c, 21), np.array([95.0] * 20 + [70.0] * 5))
    assert fewer.level is MouldLevel.WATCH


def test_missing_temperature_is_taken_between_its_neighbours():
    c = np.array([3.0, NAN, 9.0])
    found = mould_risk(c, np.full(3, 95.0))
    between = mould_risk(np.array([3.0, 6.0, 9.0]), np.full(3, 95.0))
    assert found.index_high.tolist() == between.index_high.tolist()
    assert (found.index_low[1], found.missing_h) == (found.index_low[0], 1)


def test_no_known_hour_gives_no_risk_to_tell():
    assert mould_risk([NAN, 5.0], [95.0, NAN]) is None
    assert mould_risk([], []) is None


def test_the_bar_for_wetness_can_be_moved():
    rh = np.full(20, 88.0)
    assert mould_risk(np.full(20, 6.0), rh).wet_h == 0
    assert mould_risk(np.full(20, 6.0), rh, wet_from_pct=87.0).wet_h == 20


def test_the_bare_index_refuses_a_gap():
    with pytest.raises(ValueError, match="use mould_risk"):
        wetness_index([6.0, NAN], [True, True])
