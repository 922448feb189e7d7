"""A tree that must not freeze is not stood where it may."""

import pytest
from django.core.exceptions import ValidationError

from tests import make
from wintering.stays.queries import fit_at
from wintering.stays.services import place_tree

pytestmark = pytest.mark.django_db


class TestTenderTrees:
    @pytest.fixture
    def fig(self, db):
        taxon = make.taxon("Ficus exempla")
        make.fact(
            "dormancy_class", "no dormancy", taxon=taxon, source="a garden's page"
        )
        return make.tree(taxon=taxon)

    def test_one_is_refused_a_part_that_may_freeze(self, fig):
        bench = make.bench()
        with pytest.raises(ValidationError, match="cannot winter in a cold frame"):
            place_tree(
                tree=fig, modules=[bench.modules.first()], on=make.DAY, by=make.keeper()
            )
        assert not fig.placements.exists()

    def test_one_may_stand_in_a_part_that_is_kept_warm(self, fig):
        bench = make.bench()
        warm = make.microclimate(
            frame=bench.frame, safe_low_c=6, safe_high_c=14, best_c=9
        )
        bench.modules.update(microclimate=warm)
        place_tree(
            tree=fig, modules=[bench.modules.first()], on=make.DAY, by=make.keeper()
        )
        assert fig.placements.count() == 1

    def test_of_a_taxon_nobody_described_the_doubt_is_told_and_not_a_refusal(self, db):
        bench = make.bench()
        tree = make.tree(taxon=make.taxon("Nova ignota"))
        fit = fit_at(tree=tree, modules=[bench.modules.first()], on=make.DAY)
        assert not fit.refusals
        assert any("nothing is stated of its winter rest" in w for w in fit.warnings)
