"""A keeper's own values: seen before they are kept, taken back, and a tree's facts."""

from datetime import date

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from tests import make
from tests.web.test_taxa import stated, words
from wintering.people.models import Event
from wintering.trees.models import Evidence, Taxon, TaxonFact
from wintering.trees.services import state_fact, withdraw_fact
from wintering.web.fact_page import page_url, state_url
from wintering.web.views import facts as views

pytestmark = pytest.mark.django_db

OLD_ROOT_WORK = date(2022, 4, 1)


@pytest.fixture(autouse=True)
def _january(time_machine):
    time_machine.move_to(make.NOON)


@pytest.fixture
def own_tree(maple):
    """The keeper's own maple, in root class RB, established."""
    return make.tree(taxon=maple, root_work_on=OLD_ROOT_WORK)


def own_class(keeper, value="RA", **about) -> TaxonFact:
    return state_fact(
        on=make.DAY,
        attribute="root_class",
        value=value,
        reason="Seen.",
        by=keeper,
        **about,
    )


def sent(**answers) -> dict[str, str]:
    return {"reason": "Two winters on the bench", **answers}


class TestAsking:
    @pytest.mark.parametrize(
        ("attribute", "shown"),
        [
            ("root_class", "RB, killed at −9.4 °C"),
            ("root_kill_temp", "Figure, or lower end"),
            ("chilling_requirement", "chill portions"),
            ("note", "Say what you state."),
        ],
    )
    def test_each_kind_of_answer_has_its_own_form(
        self, as_keeper, maple, attribute, shown
    ):
        page = as_keeper.post(f"/taxa/{maple.pk}/facts/{attribute}/", {"reason": ""})
        assert shown in words(page)
        assert "Say what the value rests on." in words(page)

    def test_asking_changes_nothing(self, as_keeper, maple):
        before = TaxonFact.objects.count()
        address = f"/taxa/{maple.pk}/facts/root_class/"
        typed = sent(value="RA", keep="yes")
        assert as_keeper.get(address, typed).status_code == 200
        assert TaxonFact.objects.count() == before

    def test_a_class_of_leaves_is_no_answer_for_roots(self, as_keeper, maple):
        page = as_keeper.post(f"/taxa/{maple.pk}/facts/root_class/", sent(value="RE"))
        assert page.context["form"].errors["value"]

    def test_a_limit_says_that_warnings_rest_on_it(self, as_keeper, maple):
        page = words(as_keeper.get(f"/taxa/{maple.pk}/facts/root_kill_temp/"))
        assert "Warnings rest on this." in page
        assert "is for midwinter and for established roots" in page
        page = words(as_keeper.get(f"/taxa/{maple.pk}/facts/note/"))
        assert "Warnings rest on this." not in page

    def test_a_figure_of_a_genus_is_said_to_set_no_limit(self, as_keeper):
        acer = make.taxon("Acer", rank=Taxon.Rank.GENUS)
        page = words(as_keeper.get(f"/taxa/{acer.pk}/facts/root_kill_temp/"))
        assert "Stated of a genus it sets no limit for a species" in page

    def test_a_genus_figure_may_warn_of_trees_filed_under_the_genus(
        self, as_keeper, keeper
    ):
        acer = make.taxon("Acer", rank=Taxon.Rank.GENUS)
        tree = make.tree(taxon=acer, root_work_on=OLD_ROOT_WORK)
        address = state_url(acer, "root_kill_temp")
        page = words(as_keeper.post(address, sent(low="-12")))
        assert "−12.0 °C" in page
        assert "a warning may rest on it" in page
        as_keeper.post(address, sent(low="-12", keep="yes"))
        fact = acer.facts.get(attribute="root_kill_temp")
        for where in (page_url(acer), page_url(tree), f"/facts/{fact.pk}/withdraw/"):
            page = words(as_keeper.get(where))
            assert "a warning may rest on it" in page
            assert "from the genus" not in page

    def test_what_stands_now_is_shown(self, as_keeper, own_tree):
        page = words(as_keeper.get(state_url(own_tree, "root_class")))
        assert "RB, roots taken to be killed at −9.4 °C" in page

    def test_only_a_keeper_may_and_only_what_is_a_question(
        self, as_keeper, as_helper, as_client, owner, maple
    ):
        tree = make.tree(taxon=maple, owner=owner)
        for about in (maple, tree):
            address = state_url(about, "root_class")
            assert as_keeper.get(address).status_code == 200
            for browser in (as_helper, as_client):
                assert browser.get(address).status_code == 404
                assert browser.post(address, sent(value="RA")).status_code == 404
        assert as_keeper.get(f"/taxa/{maple.pk}/facts/colour/").status_code == 404


class TestSeenBeforeKept:
    def test_what_changes_is_shown_and_nothing_is_saved(self, as_keeper, own_tree):
        other = make.tree(taxon=own_tree.taxon, root_work_on=date(2024, 4, 1))
        before = TaxonFact.objects.count()
        address = state_url(own_tree.taxon, "root_class")
        page = as_keeper.post(address, sent(value="RC"))
        effect, hidden = page.context["preview"].effects
        assert (effect.tree, hidden.tree) == (own_tree, other)
        said = words(page)
        assert "2 trees here" in said
        assert "Roots killed at" in said
        assert "now −9.4 °C, then −6.7 °C" in said
        # Its root work stands before the class today, and will not next winter.
        assert "Roots a year after their work: killed at" in said
        assert TaxonFact.objects.count() == before
        assert not Event.objects.filter(verb="stated").exists()

    def test_what_was_typed_is_sent_again_and_kept_by_the_second_button(
        self, as_keeper, keeper, own_tree
    ):
        address = state_url(own_tree, "root_class")
        page = as_keeper.post(address, sent(value="RC"))
        typed = page.context["form"].typed
        assert dict(typed) == sent(value="RC")
        for name, value in typed:
            hidden = f'<input type="hidden" name="{name}" value="{value}">'
            assert hidden in page.content.decode()
        answer = as_keeper.post(address, {**dict(typed), "keep": "yes"})
        assert answer.url == f"/trees/{own_tree.number}/facts/"
        fact = TaxonFact.objects.get(tree=own_tree)
        assert (fact.value, fact.source) == ("RC", "Two winters on the bench")
        assert (fact.kind, fact.by) == (Evidence.OWN, keeper)
        assert fact.usable_as_limit is True

    def test_a_hardier_value_is_said_to_warn_later(self, as_keeper, own_tree):
        address = state_url(own_tree, "root_kill_temp")
        told = f"You will be warned later than now for {own_tree.number}."
        assert told in words(as_keeper.post(address, sent(low="-20")))
        assert told not in words(as_keeper.post(address, sent(low="-7")))

    def test_where_no_tree_changes_that_is_said(self, as_keeper, own_tree):
        address = state_url(own_tree.taxon, "note")
        assert "No tree here changes. It speaks of 1 tree here" in words(
            as_keeper.post(address, sent(value="Likes the floor."))
        )

    def test_the_same_change_of_several_trees_is_said_once(self, as_keeper, own_tree):
        twin = make.tree(taxon=own_tree.taxon, root_work_on=OLD_ROOT_WORK)
        address = state_url(own_tree.taxon, "root_class")
        said = words(as_keeper.post(address, sent(value="RC")))
        assert said.count("now −9.4 °C, then −6.7 °C") == 1
        assert said.index(own_tree.number) < said.index(twin.number)
        assert "All 2 trees here that it speaks of change:" in said

    def test_trees_that_are_not_in_care_are_left_out(self, as_keeper, owner, maple):
        make.tree(taxon=maple, owner=owner, root_work_on=OLD_ROOT_WORK)
        page = as_keeper.post(state_url(maple, "root_class"), sent(value="RC"))
        assert "None that it speaks of stands in your care." in words(page)

    def test_statements_do_not_grow_with_the_trees(
        self, as_keeper, own_tree, django_assert_num_queries
    ):
        address = state_url(own_tree.taxon, "root_class")
        with CaptureQueriesContext(connection) as for_one:
            as_keeper.post(address, sent(value="RC"))
        for _ in range(8):
            make.tree(taxon=own_tree.taxon, root_work_on=OLD_ROOT_WORK)
        with django_assert_num_queries(len(for_one)):
            page = as_keeper.post(address, sent(value="RC"))
        assert len(page.context["preview"].effects) == 9


class TestFigures:
    @pytest.mark.parametrize(
        ("typed", "low", "high", "value"),
        [
            ({"low": "-8"}, -8, -8, "-8"),
            ({"low": "\N{MINUS SIGN}8,5"}, -8.5, -8.5, "-8.5"),
            ({"low": "-12", "high": "-9.5"}, -12, -9.5, "-12 to -9.5"),
        ],
    )
    def test_a_figure_is_read_as_people_write_it(
        self, as_keeper, maple, typed, low, high, value
    ):
        address = state_url(maple, "root_kill_temp")
        as_keeper.post(address, sent(**typed, keep="yes"))
        fact = maple.facts.get(attribute="root_kill_temp")
        assert (fact.low, fact.high, fact.value) == (low, high, value)
        assert fact.unit == "°C"

    def test_degrees_fahrenheit_are_kept_exactly_as_celsius(
        self, as_keeper, keeper, maple
    ):
        keeper.units = "f"
        keeper.save()
        address = state_url(maple, "root_kill_temp")
        page = as_keeper.post(address, sent(low="17"))
        assert "17.0 °F" in words(page)
        as_keeper.post(address, sent(low="17", keep="yes"))
        fact = maple.facts.get(attribute="root_kill_temp")
        # (17 - 32) * 5 / 9, by definition.
        assert fact.low == pytest.approx(-25 / 3, abs=1e-12)
        assert fact.unit == "°C"
        assert "17.0 °F" in words(as_keeper.get(maple.get_absolute_url()))

    def test_chill_is_counted_in_the_unit_that_was_chosen(self, as_keeper, maple):
        address = state_url(maple, "chilling_requirement")
        typed = sent(low="40", high="60", unit="portions")
        as_keeper.post(address, {**typed, "keep": "yes"})
        fact = maple.facts.get(attribute="chilling_requirement")
        assert (fact.value, fact.low, fact.high) == ("40-60", 40, 60)
        page = words(as_keeper.get(maple.get_absolute_url()))
        assert "40-60 chill portions" in page

    @pytest.mark.parametrize(
        ("attribute", "typed", "field", "refusal"),
        [
            ("root_kill_temp", {}, "low", "Give a figure."),
            ("root_kill_temp", {"low": "cold"}, "low", "Write a number"),
            ("root_kill_temp", {"low": "nan"}, "low", "Write a number"),
            ("root_kill_temp", {"low": "3"}, "low", "between −60.0 °C and 0.0 °C"),
            ("root_kill_temp", {"low": "-8", "high": "-9"}, "high", "below the lower"),
            ("chilling_requirement", {"low": "1,000"}, "low", "without a comma"),
            ("chilling_requirement", {"low": "300"}, "unit", "Say in what it is"),
            ("chilling_requirement", {"low": "0"}, "low", "between 1 and 4000"),
            ("dormancy_class", {"value": "sleepy"}, "value", "Select a valid choice"),
            ("note", {"value": " "}, "value", "Say what you state."),
        ],
    )
    def test_what_is_refused_is_said_beside_its_field_and_nothing_is_lost(
        self, as_keeper, maple, attribute, typed, field, refusal
    ):
        before = TaxonFact.objects.count()
        answer = as_keeper.post(state_url(maple, attribute), sent(**typed, keep="yes"))
        said = " ".join(answer.context["form"].errors[field][0].split())
        assert refusal in said
        assert "Two winters on the bench" in words(answer)
        assert TaxonFact.objects.count() == before

    def test_limits_are_told_in_the_readers_unit(self, as_keeper, keeper, maple):
        keeper.units = "f"
        keeper.save()
        page = as_keeper.post(state_url(maple, "root_kill_temp"), sent(low="40"))
        assert "−76.0 °F and 32.0 °F" in words(page)


class TestTakingBack:
    def test_what_stands_again_is_shown_before_anything_is_taken_back(
        self, as_keeper, keeper, own_tree
    ):
        fact = own_class(keeper, tree=own_tree)
        address = f"/facts/{fact.pk}/withdraw/"
        assert as_keeper.get(address).status_code == 200
        page = as_keeper.post(address, {"reason": "It froze."})
        assert "now −25.0 °C, then −9.4 °C" in words(page)
        fact.refresh_from_db()
        assert fact.withdrawn_on is None

    def test_it_is_taken_back_with_its_reason(self, as_keeper, keeper, own_tree):
        fact = own_class(keeper, tree=own_tree)
        address = f"/facts/{fact.pk}/withdraw/"
        page = as_keeper.post(address, {"reason": "It froze.", "keep": "yes"})
        assert page.url == f"/trees/{own_tree.number}/facts/"
        fact.refresh_from_db()
        assert fact.withdrawn_on == make.DAY
        assert Event.objects.get(verb="took back").detail["reason"] == "It froze."
        page = as_keeper.get(page.url)
        assert stated(page)["root_class"] == ["RB"]
        assert "taken back Mon 20 Jan 2025" in words(page)

    def test_without_a_reason_it_stays(self, as_keeper, keeper, maple):
        fact = own_class(keeper, taxon=maple)
        address = f"/facts/{fact.pk}/withdraw/"
        page = as_keeper.post(address, {"reason": " ", "keep": "yes"})
        assert page.context["form"].errors["reason"]
        fact.refresh_from_db()
        assert fact.withdrawn_on is None

    def test_a_second_press_takes_nothing_back_twice(self, as_keeper, keeper, maple):
        fact = own_class(keeper, taxon=maple)
        address = f"/facts/{fact.pk}/withdraw/"
        for _ in range(2):
            page = as_keeper.post(address, {"reason": "x", "keep": "yes"}, follow=True)
        assert "was taken back before" in words(page)
        assert Event.objects.filter(verb="took back").count() == 1

    def test_of_two_who_press_at_once_one_is_told_it_was_done(
        self, as_keeper, keeper, maple, monkeypatch
    ):
        fact = own_class(keeper, taxon=maple)

        def late(**asked):
            other = TaxonFact.objects.get(pk=fact.pk)
            withdraw_fact(fact=other, reason="quicker", on=make.DAY, by=keeper)
            withdraw_fact(**asked)

        monkeypatch.setattr(views, "withdraw_fact", late)
        answer = {"reason": "x", "keep": "yes"}
        page = as_keeper.post(f"/facts/{fact.pk}/withdraw/", answer, follow=True)
        assert page.status_code == 200
        assert "This value was taken back before." in words(page)
        assert Event.objects.get(verb="took back").detail["reason"] == "quicker"

    def test_only_a_keeper_may_and_only_an_own_value(
        self, as_keeper, as_helper, as_client, keeper, maple
    ):
        own = own_class(keeper, taxon=maple)
        published = maple.facts.exclude(kind=Evidence.OWN).first()
        for browser in (as_helper, as_client):
            assert browser.get(f"/facts/{own.pk}/withdraw/").status_code == 404
        assert as_keeper.get(f"/facts/{own.pk}/withdraw/").status_code == 200
        assert as_keeper.get(f"/facts/{published.pk}/withdraw/").status_code == 404

    def test_the_way_to_it_stands_beside_an_own_value_for_keepers(
        self, as_keeper, as_helper, keeper, maple
    ):
        way = f"/facts/{own_class(keeper, taxon=maple).pk}/withdraw/"
        assert way in as_keeper.get(maple.get_absolute_url()).content.decode()
        assert way not in as_helper.get(maple.get_absolute_url()).content.decode()


class TestFactsOfATree:
    def test_its_own_values_stand_first(self, as_keeper, keeper, own_tree):
        own_class(keeper, tree=own_tree)
        page = as_keeper.get(f"/trees/{own_tree.number}/facts/")
        assert stated(page)["root_class"] == ["RA", "RB"]
        said = words(page)
        assert "killed at −25.0 °C of this tree alone" in said
        assert said.count("Also stated:") == 1

    def test_another_tree_of_the_taxon_is_not_spoken_of(
        self, as_keeper, keeper, own_tree
    ):
        own_class(keeper, tree=own_tree)
        other = make.tree(taxon=own_tree.taxon)
        page = as_keeper.get(f"/trees/{other.number}/facts/")
        assert stated(page)["root_class"] == ["RB"]

    def test_its_client_may_read_it_and_no_other(
        self, as_client, as_stranger, as_helper, client, owner, maple
    ):
        tree = make.tree(taxon=maple, owner=owner)
        address = f"/trees/{tree.number}/facts/"
        for browser in (as_client, as_helper):
            page = words(browser.get(address))
            assert "RB, roots taken to be killed at" in page
            assert "State your own value" not in page
        assert as_stranger.get(address).status_code == 404
        assert client.get(address).status_code == 302

    def test_statements_do_not_grow_with_facts(
        self, as_keeper, keeper, own_tree, django_assert_num_queries
    ):
        for n in range(9):
            state_fact(
                on=make.DAY,
                attribute="note",
                value=f"{n}",
                reason="x",
                by=keeper,
                tree=own_tree,
            )
        with django_assert_num_queries(5):
            as_keeper.get(f"/trees/{own_tree.number}/facts/")
