"""Taxa: the catalogue, every value with its source, picking one by part of its name."""

import re
from datetime import date
from html import unescape

import pytest

from tests import make
from wintering.trees.models import Evidence, Taxon, TaxonFact

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


def genus(name: str) -> Taxon:
    return make.taxon(name, rank=Taxon.Rank.GENUS, habit="")


def of_habit(attribute: str, value: str, habit: str) -> TaxonFact:
    return TaxonFact.objects.create(
        habit=habit,
        attribute=attribute,
        value=value,
        kind=Evidence.CHOICE,
        source="so for most of this habit",
    )


def words(answer) -> str:
    """What is read on a page, without its tags."""
    return " ".join(unescape(re.sub("<[^>]+>", "", answer.content.decode())).split())


def stated(page) -> dict[str, list[str]]:
    """The values on a page of facts, by question."""
    questions = [q for _, several in page.context["page"].themes for q in several]
    return {q.name: [fact.value for fact in q.facts] for q in questions}


class TestFacts:
    def test_every_value_says_its_kind_and_source(self, as_keeper, maple):
        page = as_keeper.get(maple.get_absolute_url()).content.decode()
        assert "zone 6" in page
        assert "published: a university&#x27;s plant database" in page
        assert 'href="https://plants.example/acpa"' in page
        assert "no warning rests on it: second-hand" in page

    def test_everyone_signed_in_may_read_it_and_nobody_else(
        self, as_helper, as_client, client, maple
    ):
        for browser in (as_helper, as_client):
            page = browser.get(maple.get_absolute_url())
            assert page.status_code == 200
            assert "State your own value" not in words(page)
        assert client.get(maple.get_absolute_url()).status_code == 302

    def test_it_names_only_trees_that_the_reader_may_see(self, as_client, owner, maple):
        theirs = make.tree(taxon=maple, owner=owner)
        others = make.tree(taxon=maple, owner=make.client())
        page = words(as_client.get(maple.get_absolute_url()))
        assert theirs.number in page
        assert others.number not in page

    def test_temperatures_are_in_the_readers_unit(self, as_client, owner, maple):
        owner.user.units = "f"
        owner.user.save()
        make.fact("root_class", "RB", taxon=maple)
        page = words(as_client.get(maple.get_absolute_url()))
        assert "6.8 °F" in page
        assert "RB, roots taken to be killed at 15.1 °F" in page

    def test_only_web_addresses_become_links(self, as_keeper, keeper, maple):
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

    def test_the_keepers_own_value_comes_first(self, as_keeper, keeper, maple):
        make.fact("usda_zone_min", "5", taxon=maple, kind=Evidence.OWN, by=keeper)
        page = as_keeper.get(maple.get_absolute_url())
        assert stated(page)["usda_zone_min"] == ["5", "6"]

    def test_cautions_stand_before_all_else(self, as_helper, maple):
        make.fact("caution", "Wakes early in a warm frame.", taxon=maple)
        page = words(as_helper.get(maple.get_absolute_url()))
        assert page.index("Wakes early") < page.index("Roots killed at")

    def test_what_stands_in_says_from_whom(self, as_helper, maple):
        make.fact("root_class", "RB", taxon=genus("Acer"), usable_as_limit=True)
        of_habit("winter_light", "none while leafless", maple.habit)
        page = words(as_helper.get(maple.get_absolute_url()))
        assert "roots taken to be killed at −9.4 °C from the genus Acer" in page
        assert "none while leafless as for every deciduous tree" in page

    def test_on_its_own_page_a_genus_stands_in_for_nobody(self, as_helper):
        acer = genus("Acer")
        make.fact("root_class", "RB", taxon=acer)
        page = words(as_helper.get(acer.get_absolute_url()))
        assert "from the genus" not in page
        assert "A genus: what is stated of it stands in" in page

    def test_a_genus_names_the_taxa_it_stands_in_for(self, as_helper, maple):
        acer, hybrid = genus("Acer"), make.taxon("×Acer hybrida")
        make.taxon("Aceriphyllum rossii")
        page = as_helper.get(acer.get_absolute_url())
        assert set(page.context["species"]) == {maple, hybrid}
        assert "It stands in for" not in words(as_helper.get(maple.get_absolute_url()))

    def test_a_broadleaf_habit_is_named_as_a_tree(self, as_helper):
        taxon = make.taxon("Fagus crenata", habit="deciduous broadleaf")
        of_habit("winter_light", "none", "deciduous broadleaf")
        page = words(as_helper.get(taxon.get_absolute_url()))
        assert "as for every deciduous broadleaf tree" in page

    @pytest.mark.parametrize(
        ("more", "told"),
        [
            (
                {"root_age": "mature", "address": "https://example.org/roots"},
                "a warning may rest on it",
            ),
            ({"root_age": "mature"}, "its source has no address"),
            ({"root_age": "immature"}, "no warning rests on it: it speaks of young"),
            (
                {
                    "root_age": "immature",
                    "kind": Evidence.PUBLISHED,
                    "address": "https://example.org/roots",
                },
                "a warning may rest on it while its roots count as just worked on",
            ),
        ],
    )
    def test_a_figure_of_roots_says_whether_it_may_warn(self, as_helper, more, told):
        taxon = make.taxon()
        make.fact(
            "root_kill_temp", "-9", taxon=taxon, low=-9, usable_as_limit=True, **more
        )
        assert told in words(as_helper.get(taxon.get_absolute_url()))

    def test_a_genus_figure_of_roots_warns_of_no_species(self, as_helper, maple):
        maple.facts.filter(attribute="root_kill_temp").delete()
        make.fact(
            "root_kill_temp", "-9", taxon=genus("Acer"), low=-9, usable_as_limit=True
        )
        page = words(as_helper.get(maple.get_absolute_url()))
        assert "no warning rests on it: it is no figure of the taxon's own" in page

    def test_what_nobody_has_stated_is_named_once(self, as_helper, maple):
        page = words(as_helper.get(maple.get_absolute_url()))
        assert "Not known: root class; top survives to about; winter rest;" in page
        assert page.count("chill needed") == 1

    def test_roots_without_a_class_are_said_to_count_as_rc(self, as_helper, maple):
        told = "its roots count as class RC, killed at −6.7 °C"
        assert told in words(as_helper.get(maple.get_absolute_url()))
        make.fact("root_class", "RB", taxon=maple)
        assert told not in words(as_helper.get(maple.get_absolute_url()))

    @pytest.mark.parametrize("also", [None, "root_class"])
    def test_roots_of_a_tender_taxon_count_as_no_class(self, as_helper, maple, also):
        make.fact("dormancy_class", "must stay frost-free", taxon=maple)
        if also:
            make.fact(also, "RB", taxon=maple)
        page = words(as_helper.get(maple.get_absolute_url()))
        assert "count as class" not in page
        assert "no class of hardy roots is for it" in page
        assert "Act at 2.0 °C, watch from 5.0 °C." in page

    def test_a_taxon_without_facts_says_how_it_counts(self, as_keeper):
        page = as_keeper.get(make.taxon("Novus nullus").get_absolute_url())
        assert "its roots as class RC" in page.content.decode()

    def test_a_value_taken_back_is_told_apart(self, as_keeper, keeper, maple):
        make.fact(
            "note",
            "mine",
            taxon=maple,
            kind=Evidence.OWN,
            by=keeper,
            stated_on=date(2025, 1, 10),
            withdrawn_on=date(2025, 1, 20),
        )
        page = as_keeper.get(maple.get_absolute_url())
        assert "note" not in stated(page)
        assert "taken back Mon 20 Jan 2025" in words(page)

    def test_statements_do_not_grow_with_facts(
        self, as_keeper, keeper, maple, django_assert_num_queries
    ):
        for n in range(9):
            make.fact("note", f"note {n}", taxon=maple)
            make.fact("caution", f"{n}", taxon=maple, kind=Evidence.OWN, by=keeper)
            make.tree(taxon=maple)
        with django_assert_num_queries(8):
            as_keeper.get(maple.get_absolute_url())


class TestCatalogue:
    def test_everyone_signed_in_may_look_and_nobody_else(
        self, as_keeper, as_helper, as_client, client, maple
    ):
        for browser in (as_keeper, as_helper, as_client):
            assert "Acer palmatum" in words(browser.get("/taxa/"))
        assert client.get("/taxa/").status_code == 302

    def test_the_words_at_the_side_lead_to_it(self, as_helper):
        assert 'href="/taxa/"' in as_helper.get("/").content.decode()

    def test_any_of_its_names_finds_it(self, as_helper, maple):
        make.taxon("Ulmus minor")
        for typed in ("palm", "momiji"):
            rows = as_helper.get("/taxa/", {"q": typed}).context["table"].rows
            assert [row.record.taxon for row in rows] == [maple]

    def test_what_is_not_found_is_said(self, as_keeper, maple):
        page = words(as_keeper.get("/taxa/", {"q": "zzz"}))
        assert "No taxon has that in one of its names" in page

    def test_a_line_tells_what_it_needs_and_what_stands_in(self, as_helper, maple):
        make.fact("dormancy_class", "needs cold dormancy", taxon=maple)
        make.fact("root_class", "RB", taxon=genus("Acer"))
        page = words(as_helper.get("/taxa/", {"q": "palmatum"}))
        assert "needs cold dormancy RB from the genus Acer 0" in page

    def test_a_genus_is_marked_as_one(self, as_helper):
        genus("Acer")
        assert "Acer genus" in words(as_helper.get("/taxa/"))

    def test_only_trees_in_care_that_the_reader_may_see_are_counted(
        self, as_keeper, as_client, owner, maple, time_machine
    ):
        time_machine.move_to(make.NOON)
        make.tree(taxon=maple)
        make.stay(tree=make.tree(taxon=maple, owner=owner))
        make.tree(taxon=maple, owner=make.client())
        make.taxon("Ulmus minor")
        for browser, count in ((as_keeper, 2), (as_client, 1)):
            table = browser.get("/taxa/", {"kept": "here"}).context["table"]
            assert [row.record.trees for row in table.rows] == [count]

    def test_statements_do_not_grow_with_the_taxa(
        self, as_keeper, django_assert_num_queries
    ):
        for n in range(12):
            taxon = make.taxon(f"Quercus numerata {n}")
            make.fact("root_class", "RB", taxon=taxon)
            make.tree(taxon=taxon)
        with django_assert_num_queries(7):
            as_keeper.get("/taxa/")


class TestAdding:
    def test_a_keeper_adds_a_taxon_and_hears_what_stands_in(self, as_keeper):
        make.fact("root_class", "RB", taxon=genus("Acer"))
        make.taxon("Fagus crenata", habit="deciduous tree")
        of_habit("winter_light", "none", "deciduous tree")
        sent = {"scientific_name": "Acer  japonicum", "habit": "deciduous tree"}
        answer = as_keeper.post("/taxa/add/", sent, follow=True)
        taxon = Taxon.objects.get(scientific_name="Acer japonicum")
        assert answer.redirect_chain == [(taxon.get_absolute_url(), 302)]
        assert (taxon.habit, taxon.is_evergreen) == ("deciduous tree", None)
        told = "they are taken from the genus Acer and as for every deciduous tree"
        assert told in words(answer)

    def test_where_nothing_stands_in_that_is_said(self, as_keeper):
        sent = {"scientific_name": "Novus nullus", "is_evergreen": "yes"}
        answer = as_keeper.post("/taxa/add/", sent, follow=True)
        assert "Nothing stands in for what is not stated of it" in words(answer)
        assert Taxon.objects.get().is_evergreen is True

    def test_an_x_between_words_is_the_sign_of_a_hybrid(self, as_keeper):
        as_keeper.post("/taxa/add/", {"scientific_name": "Acer x freemanii"})
        assert Taxon.objects.get().scientific_name == "Acer ×freemanii"

    @pytest.mark.parametrize(
        ("name", "refusal"),
        [
            ("Acer palmatum", "The catalogue has this name already."),
            ("japanese maple", "is not written as a botanical name"),
            ("", "Say what it is called."),
        ],
    )
    def test_a_name_is_refused_beside_its_field_and_nothing_is_lost(
        self, as_keeper, maple, name, refusal
    ):
        sent = {"scientific_name": name, "common_names": "kaede"}
        answer = as_keeper.post("/taxa/add/", sent)
        assert refusal in answer.context["form"].errors["scientific_name"][0]
        assert "kaede" in answer.content.decode()
        assert Taxon.objects.count() == 1

    def test_only_a_keeper_may(self, as_helper, as_client, as_keeper):
        for browser in (as_helper, as_client):
            assert browser.get("/taxa/add/").status_code == 404
            assert "/taxa/add/" not in browser.get("/taxa/").content.decode()
        assert as_keeper.get("/taxa/add/").status_code == 200


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


class TestAddingByMistake:
    def test_a_known_name_in_small_letters_leads_to_what_is_known(self, as_keeper):
        known = make.taxon("Acer palmatum")
        page = as_keeper.post("/taxa/add/", {"scientific_name": "acer palmatum"})
        assert "The catalogue has this name already." in words(page)
        assert known.get_absolute_url() in page.content.decode()

    def test_leaves_that_contradict_the_habit_are_asked_about(self, as_keeper):
        make.taxon("Pinus exempla", habit="evergreen conifer")
        sent = {"scientific_name": "Pinus nova", "habit": "evergreen conifer"}
        page = as_keeper.post("/taxa/add/", {**sent, "is_evergreen": "no"})
        assert "contradicts its habit" in words(page)
        assert not Taxon.objects.filter(scientific_name="Pinus nova").exists()
