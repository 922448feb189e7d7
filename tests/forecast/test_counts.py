import numpy as np
import pytest

from tests import make
from tests.forecast.conftest import AT, HOURS, cold_taxon
from wintering.forecast.queries import chill_counts, last_judged_at, tree_outlook
from wintering.forecast.services import judge_frame

pytestmark = pytest.mark.django_db


def test_chill_is_counted_by_two_models(logged, stood):
    logged(air=6.0)
    counts = chill_counts(tree_outlook(stood(), AT))
    assert counts.hours_0_7 == (111 * 24, 111 * 24)
    # 28 to 30 hours near 6 °C make a portion, as is usually quoted (from memory).
    assert 111 * 24 / 30 < counts.portions.low < 111 * 24 / 28
    assert counts.after_frost == 0


def test_portions_that_frost_had_banked_are_told_apart(logged, stood):
    air = np.full(HOURS, -8.0)
    air[-20:] = 5.0
    logged(air=air)
    counts = chill_counts(tree_outlook(stood(), AT))
    assert counts.after_frost == pytest.approx(counts.portions.low)
    assert counts.after_frost > 3
    # held in frost, 20 mild hours make no portion (specification of the variant)
    assert counts.cautious == 0


def test_a_tree_that_stood_nowhere_has_no_counts(logged):
    logged()
    assert chill_counts(tree_outlook(make.tree(taxon=cold_taxon()), AT)) is None


def test_judging_leaves_its_trace_though_no_flag_came_of_it(logged, stood):
    bench = logged()
    stood()
    assert last_judged_at() is None
    assert judge_frame(frame=bench.frame, at=AT) == []
    assert last_judged_at() == AT
