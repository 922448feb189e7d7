"""The counters against their worked examples."""

from tests.published import physics
from wintering.science.counters import cold_below, freeze_thaw

CYCLES, DEGREE_HOURS = physics.row("K01"), physics.row("K02")


def test_freeze_thaw_cycles_with_hysteresis():
    c = [1, 0.5, -0.5, -2, -3, -1, 0.2, 1, -0.1, -1.5, 0.8]
    CYCLES.check(freeze_thaw(c, freeze_c=-1.0, thaw_c=0.5).cycles)


def test_degree_hours_below_a_limit():
    DEGREE_HOURS.check(cold_below([-3, -6, -8, -7, -5.5, -4], -5.0).degree_hours_kh)
