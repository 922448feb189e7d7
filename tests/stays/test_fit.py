from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests import make
from wintering.stays.fit import Rectangle, footprint_cm
from wintering.stays.queries import fit_at

ON = date(2024, 11, 17)

sizes = st.floats(1, 200)
spots = st.builds(Rectangle, st.floats(0, 500), st.floats(0, 500), sizes, sizes)


@given(spots, spots)
def test_a_gap_is_the_same_from_both_sides(one, other):
    assert one.gap_to(other) == pytest.approx(other.gap_to(one))


@given(spots)
def test_a_rectangle_overlaps_itself(one):
    assert one.gap_to(one) < 0


@pytest.mark.django_db
class TestFit:
    def fit(self, tree, modules=None, **bench):
        if modules is None:
            modules = [make.bench(**bench).modules.first()]
        return fit_at(tree=tree, modules=modules, on=ON)

    def test_a_tree_that_fits_is_not_refused(self):
        assert self.fit(make.tree()).refusals == ()

    def test_a_tree_as_tall_as_the_headroom_fits(self):
        assert not self.fit(make.tree(height_cm=45), headroom_cm=45).refusals

    def test_a_tree_that_is_too_tall_is_told_both_heights(self):
        [refusal] = self.fit(make.tree(height_cm=72), headroom_cm=65).refusals
        assert "too tall: 72 cm with its pot" in refusal
        assert "65 cm of headroom" in refusal

    def test_a_tree_that_is_too_wide_is_told_to_take_more_modules(self):
        tree = make.tree(canopy_width_cm=66, canopy_depth_cm=44)
        [refusal] = self.fit(tree).refusals
        assert "too wide: 66 × 44 cm" in refusal
        assert "Take more modules" in refusal

    def test_the_pot_counts_where_it_is_wider_than_the_canopy(self):
        tree = make.tree(canopy_width_cm=20, canopy_depth_cm=20, pot={"width_cm": 50})
        assert footprint_cm(tree, tree.pots.get()) == (50, 22)
        assert "too wide" in self.fit(tree).refusals[0]

    def test_a_long_tree_may_stand_turned_a_quarter(self):
        bench = make.bench(columns=1, rows=2)
        tree = make.tree(canopy_width_cm=80, canopy_depth_cm=40)
        fit = self.fit(tree, list(bench.modules.all()))
        assert not fit.refusals
        assert "It fits only when turned a quarter." in fit.warnings
        assert (fit.stands.width_cm, fit.stands.depth_cm) == (40, 80)

    def test_a_tree_without_measures_is_measured_first(self):
        tree = make.tree(canopy_width_cm=None, canopy_depth_cm=None, pot=None)
        assert "Measure T-001 first" in self.fit(tree).refusals[0]

    def test_modules_of_two_benches_are_refused(self):
        frame = make.frame()
        modules = [make.bench(frame=frame).modules.first() for _ in range(2)]
        assert "stands on one bench" in self.fit(make.tree(), modules).refusals[0]

    def test_modules_that_do_not_touch_are_refused(self):
        bench = make.bench(rows=1)
        modules = list(bench.modules.filter(column__in=[1, 3]))
        assert "side by side" in self.fit(make.tree(), modules).refusals[0]

    def test_a_bench_carries_no_more_than_its_limit(self):
        tree = make.tree(weight_kg=26)
        assert (
            "above its limit of 25 kg" in self.fit(tree, weight_limit_kg=25).refusals[0]
        )

    def test_a_load_over_four_fifths_is_only_told(self):
        fit = self.fit(make.tree(weight_kg=21), weight_limit_kg=25)
        assert not fit.refusals
        assert any("80%" in warning for warning in fit.warnings)

    def test_the_load_counts_the_trees_that_stand_there(self):
        bench = make.bench(weight_limit_kg=25)
        make.placement(
            tree=make.tree(weight_kg=20), modules=[bench.modules.first()], since=ON
        )
        fit = self.fit(make.tree(weight_kg=6), [bench.modules.last()])
        assert "26 kg" in fit.refusals[0]

    def test_an_unknown_weight_is_said_to_be_unknown(self):
        fit = self.fit(make.tree(weight_kg=None))
        assert any("not known" in warning for warning in fit.warnings)

    def test_little_air_to_a_neighbour_is_told_with_its_number(self):
        bench = make.bench(rows=1)
        wide = {"canopy_width_cm": 44, "canopy_depth_cm": 44}
        make.placement(
            tree=make.tree(**wide), modules=[bench.modules.first()], since=ON
        )
        fit = self.fit(make.tree(**wide), [bench.modules.all()[1]])
        assert any("1 cm of air to T-001" in warning for warning in fit.warnings)
        assert not fit.refusals
