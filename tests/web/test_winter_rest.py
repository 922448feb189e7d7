"""Whether a tree may winter in the frame: refused, asked about, or taken."""

import pytest

from tests import make
from tests.web.test_stays import CHECK_IN, typed, words
from wintering.stays.models import Stay
from wintering.trees.models import Evidence, TaxonFact


@pytest.fixture(autouse=True)
def _early_november(time_machine):
    time_machine.move_to("2024-11-04 10:00:00+00:00")


@pytest.fixture
def unknown(db):
    """A taxon of whose winter rest nothing is stated."""
    return make.taxon("Acer palmatum", common_names="Japanese maple")


@pytest.mark.parametrize("rest", ["must stay frost-free", "no dormancy"])
def test_a_tree_that_the_frame_would_harm_is_refused_with_the_source(
    as_keeper, owner, unknown, rest
):
    make.fact("dormancy_class", rest, taxon=unknown, source="horticultural practice")
    page = words(as_keeper.post(CHECK_IN, typed()))
    assert f"Acer palmatum cannot winter in a cold frame: {rest}" in page
    assert "common practice: horticultural practice" in page
    assert not Stay.objects.exists()
    as_keeper.post(CHECK_IN, typed(to_heated_place="on"))
    assert "Goes to a heated place." in Stay.objects.get().agreed


def test_only_the_keeper_sends_a_tree_to_a_heated_place(as_helper, owner, unknown):
    make.fact("dormancy_class", "no dormancy", taxon=unknown)
    page = words(as_helper.post(CHECK_IN, typed(to_heated_place="on")))
    assert "Ask the keeper before taking it." in page
    assert not Stay.objects.exists()


@pytest.mark.parametrize("rest", ["needs cold dormancy", "needs cool rest"])
def test_a_tree_that_rests_in_the_cold_is_taken(as_keeper, owner, unknown, rest):
    make.fact("dormancy_class", rest, taxon=unknown)
    as_keeper.post(CHECK_IN, typed())
    assert Stay.objects.exists()


@pytest.mark.parametrize("rest", ["needs cold dormancy", "must stay frost-free"])
def test_what_rests_on_a_habit_alone_is_asked_before_it_is_taken(
    as_keeper, owner, unknown, rest
):
    TaxonFact.objects.create(
        habit=unknown.habit,
        attribute="dormancy_class",
        value=rest,
        kind=Evidence.CHOICE,
        source="so for most of them",
    )
    page = words(as_keeper.post(CHECK_IN, typed()))
    assert f"“{rest}” is only stated of every deciduous tree" in page
    assert "own choice: so for most of them" in page
    assert "Old scar, trunk, 6 o&#x27;clock." in page
    assert not Stay.objects.exists()
    as_keeper.post(CHECK_IN, typed(is_known_to_bear_it="on"))
    agreed = Stay.objects.get().agreed
    assert "by the keeper's knowledge of its kind" in agreed
    assert "so for most of them" in agreed


def test_a_taxon_of_which_nothing_is_known_is_asked_about(as_keeper, owner, unknown):
    page = words(as_keeper.post(CHECK_IN, typed()))
    assert "nothing is stated of its winter rest" in page
    assert "I know this kind: it may stand in the frame" in page
    assert "It goes to a heated place" in page
    assert not Stay.objects.exists()
    as_keeper.post(CHECK_IN, typed(to_heated_place="on"))
    agreed = Stay.objects.get().agreed
    assert "Goes to a heated place. It is not known whether" in agreed


def test_a_helper_asks_the_keeper_where_a_winter_rest_is_not_known(
    as_helper, owner, unknown
):
    page = words(as_helper.post(CHECK_IN, typed(is_known_to_bear_it="on")))
    assert "nothing is stated of its winter rest. Ask the keeper" in page
    assert "I know this kind" not in page
    assert not Stay.objects.exists()


def test_knowing_a_kind_does_not_lift_a_refusal(as_keeper, owner, unknown):
    make.fact("dormancy_class", "no dormancy", taxon=unknown)
    as_keeper.post(CHECK_IN, typed(is_known_to_bear_it="on"))
    assert not Stay.objects.exists()


def test_a_tree_that_comes_back_is_asked_about_too(as_keeper, owner, unknown):
    tree = make.tree(owner=owner, taxon=unknown)
    address = f"{CHECK_IN}?tree={tree.number}"
    assert "nothing is stated of its winter rest" in words(
        as_keeper.post(address, typed())
    )
    as_keeper.post(address, typed(is_known_to_bear_it="on"))
    assert tree.stays.count() == 1
