"""A tree that must not freeze is not stood where it may."""

import pytest
from django.core.exceptions import ValidationError

from tests import make
from wintering.stays.queries import fit_at
from wintering.stays.services import place_tree
from wintering.trees.models import Evidence, TaxonFact

pytestmark = pytest.mark.django_db


def kept_from(bench, low_c):
    """Have the bench stand in a part whose safe band begins there."""
    part = bench.modules.first().microclimate
    part.safe_low_c, part.safe_high_c, part.best_c = low_c, low_c + 8, low_c + 3
    part.save()


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

    @pytest.mark.parametrize(
        ("rest", "refused_at", "advised", "taken_at"),
        [
            ("must stay frost-free", 4.9, "at 5 °C or warmer", 5.0),
            ("no dormancy", 5.0, "at 12 °C or warmer", 12.0),
        ],
    )
    def test_one_may_stand_where_it_is_kept_as_warm_as_its_kind_is_watched(
        self, db, rest, refused_at, advised, taken_at
    ):
        taxon = make.taxon("Ficus exempla")
        make.fact("dormancy_class", rest, taxon=taxon)
        tree, bench = make.tree(taxon=taxon), make.bench()
        where = {
            "tree": tree,
            "modules": [bench.modules.first()],
            "on": make.DAY,
            "by": make.keeper(),
        }
        kept_from(bench, refused_at)
        with pytest.raises(ValidationError, match=advised):
            place_tree(**where)
        kept_from(bench, taken_at)
        place_tree(**where)
        assert tree.placements.count() == 1

    @pytest.mark.parametrize(
        ("rest", "doubted_at", "taken_at"),
        [("must stay frost-free", 4.0, 5.0), ("no dormancy", 5.0, 12.0)],
    )
    def test_a_doubt_is_told_until_it_is_warm_enough_for_what_is_guessed(
        self, db, rest, doubted_at, taken_at
    ):
        taxon = make.taxon("Ficus exempla")
        TaxonFact.objects.create(
            habit=taxon.habit,
            attribute="dormancy_class",
            value=rest,
            kind=Evidence.CHOICE,
            source="so for most of them",
        )
        tree, bench = make.tree(taxon=taxon), make.bench()
        for low_c, is_told in ((doubted_at, True), (taken_at, False)):
            kept_from(bench, low_c)
            fit = fit_at(tree=tree, modules=[bench.modules.first()], on=make.DAY)
            assert any("is only stated of" in w for w in fit.warnings) is is_told

    def test_of_a_taxon_nobody_described_the_doubt_is_told_and_not_a_refusal(self, db):
        bench = make.bench()
        tree = make.tree(taxon=make.taxon("Nova ignota"))
        fit = fit_at(tree=tree, modules=[bench.modules.first()], on=make.DAY)
        assert not fit.refusals
        assert any("nothing is stated of its winter rest" in w for w in fit.warnings)
