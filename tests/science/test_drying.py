import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from wintering.science.drying import (
    COARSE,
    FINE,
    Stages,
    leaf_loss_kg_d,
    slowing,
    surface_loss_mm,
)

demands = st.lists(st.floats(0, 5), min_size=1, max_size=60)
stages = st.sampled_from([COARSE, FINE])


def test_a_surface_dries_at_full_pace_at_first_and_ends():
    assert slowing([0.0, 4.0, 9.5, 15.0, 20.0], COARSE).tolist() == [1, 1, 0.5, 0, 0]


@given(demands, stages)
def test_a_surface_never_gives_more_than_asked_nor_than_it_has(demand, stage):
    lost = surface_loss_mm(demand, stage)
    assert (lost >= 0).all()
    assert (lost <= np.array(demand) + 1e-12).all()
    assert lost.sum() <= stage.totally_mm + 1e-9


@given(demands, stages, st.floats(1, 2))
def test_more_demand_never_leaves_more_water(demand, stage, times):
    less = np.cumsum(surface_loss_mm(demand, stage))
    more = np.cumsum(surface_loss_mm(np.array(demand) * times, stage))
    assert (more >= less - 1e-9).all()


def test_steady_demand_follows_the_curve_it_should():
    # d(lost)/dt = E (TEW - lost)/(TEW - REW): an exponential after the first stage
    stage, a_day = Stages(4.0, 15.0), 0.01
    lost = np.cumsum(surface_loss_mm(np.full(4000, a_day), stage))
    days = np.arange(1, 4001)
    later = 4 + 11 * (1 - np.exp(-a_day * (days - 400) / 11))
    np.testing.assert_allclose(
        lost, np.where(days <= 400, a_day * days, later), atol=0.01
    )


def test_no_demand_no_loss():
    assert surface_loss_mm([], COARSE).size == 0
    assert leaf_loss_kg_d(0.0, 1.0, 5.0) == 0


def test_a_large_crown_over_a_small_pot_outweighs_its_surface():
    # 1 m² of leaf at 10 mmol m-2 s-1 against 0.043 m² at 0.3 mm: 46 and 13 g a day
    assert 0.044 < leaf_loss_kg_d(0.3, 1.0, 10.0) < 0.047
