"""Taxa: every value with its source, and picking one by a part of its name."""

import pytest

from tests import make
from wintering.trees.models import Evidence

pytestmark = pytest.mark.django_db


@pytest.fixture
def maple():
    taxon = make.taxon("Acer palmatum", common_names="Japanese maple; momiji")
    make.fact(
        "usda_zone_min",
        "6",
        taxon=taxon,
        low=6,
        high=6,
        unit="zone",
        kind=Evidence.PUBLISHED,
        source="a university's plant database",
        address="https://plants.example/acpa",
    )
    make.fact(
        "root_kill_temp",
        "-14.0",
        taxon=taxon,
        low=-14,
        high=-14,
        unit="°C",
        kind=Evidence.PUBLISHED,
        source="a garden forum",
        usable_as_limit=False,
        limit_reason="second-hand",
    )
    return taxon


def test_every_value_says_its_kind_and_source(as_keeper, maple):
    page = as_keeper.get(maple.get_absolute_url()).content.decode()
    assert "zone 6" in page
    assert "published: a university&#x27;s plant database" in page
    assert 'href="https://plants.example/acpa"' in page
    assert "no warning rests on it: second-hand" in page


def test_everyone_signed_in_may_read_it_and_nobody_else(
    as_helper, as_client, client, maple
):
    for browser in (as_helper, as_client):
        assert browser.get(maple.get_absolute_url()).status_code == 200
    assert client.get(maple.get_absolute_url()).status_code == 302


def test_it_names_only_trees_that_the_reader_may_see(as_client, owner, maple):
    theirs = make.tree(taxon=maple, owner=owner)
    others = make.tree(taxon=maple, owner=make.client())
    page = as_client.get(maple.get_absolute_url()).content.decode()
    assert theirs.number in page
    assert others.number not in page


def test_temperatures_are_in_the_readers_unit(as_client, owner, maple):
    owner.user.units = "f"
    owner.user.save()
    page = as_client.get(maple.get_absolute_url()).content.decode()
    assert "6.8 °F" in page


def test_only_web_addresses_become_links(as_keeper, keeper, maple):
    make.fact(
        "note",
        "mine",
        taxon=maple,
        kind=Evidence.OWN,
        by=keeper,
        address="javascript:alert(1)",
    )
    page = as_keeper.get(maple.get_absolute_url()).content.decode()
    assert 'href="javascript' not in page


def test_the_keepers_own_value_comes_first(as_keeper, keeper, maple):
    make.fact("usda_zone_min", "5", taxon=maple, kind=Evidence.OWN, by=keeper)
    page = as_keeper.get(maple.get_absolute_url())
    stated = dict(page.context["stated"])["usda_zone_min"]
    assert [fact.value for fact in stated] == ["5", "6"]


def test_a_taxon_without_facts_says_how_it_counts(as_keeper):
    page = as_keeper.get(make.taxon("Novus nullus").get_absolute_url())
    assert "its roots as class RC" in page.content.decode()


def test_statements_do_not_grow_with_facts(as_keeper, maple, django_assert_num_queries):
    for n in range(9):
        make.fact("note", f"note {n}", taxon=maple)
    with django_assert_num_queries(5):
        as_keeper.get(maple.get_absolute_url())


class TestChoices:
    def test_a_part_of_any_name_finds_it(self, as_helper, maple):
        for typed in ("palm", "japanese", "MOMIJI"):
            part = as_helper.get("/taxa/choices/", {"q": typed}).content.decode()
            assert f'name="taxon" value="{maple.pk}"' in part

    def test_the_forms_own_field_names_the_choice(self, as_helper, maple):
        part = as_helper.get("/taxa/choices/", {"who-taxon_name": "acer"})
        assert f'name="who-taxon" value="{maple.pk}"' in part.content.decode()

    def test_nothing_typed_offers_nothing(self, as_helper, maple):
        assert "<input" not in as_helper.get("/taxa/choices/").content.decode()

    def test_what_is_not_found_is_said_and_kept_harmless(self, as_helper, maple):
        part = as_helper.get("/taxa/choices/", {"q": "<b>oak"}).content.decode()
        assert "No taxon has '&lt;b&gt;oak'" in part

    def test_many_ask_for_a_longer_part(self, as_helper):
        for n in range(9):
            make.taxon(f"Quercus numerata {n}")
        part = as_helper.get("/taxa/choices/", {"q": "quercus"}).content.decode()
        assert part.count("<input") == 6
        assert "type a longer part" in part

    def test_nobody_looks_in_without_signing_in(self, client):
        assert client.get("/taxa/choices/", {"q": "acer"}).status_code == 302
