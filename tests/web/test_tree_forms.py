"""Entering a tree of the keeper's own and changing what is recorded, by role."""

from datetime import UTC, date, datetime

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile

from tests import make
from wintering.people.queries import events_about
from wintering.trees.models import Tree

NOW = datetime(2025, 1, 21, 6, 30, tzinfo=UTC)
pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def _late_january(time_machine):
    time_machine.move_to(NOW, tick=False)


def typed(**fields):
    """A tree as its form sends it; fields win over these, None takes one away."""
    sent = {
        "taxon_name": "Acer palmatum",
        "tree-cultivar": "'Deshojo'",
        "tree-original_script": "出猩々",
        "tree-identity": "certain",
        "tree-height_cm": "47",
        "tree-root_work_on": "2024-04-12",
        "pot-shape": "oval",
        "pot-width_cm": "34",
        "pot-depth_cm": "26",
        "pot-lip_turns_in": "",
    }
    return {name: text for name, text in {**sent, **fields}.items() if text is not None}


class TestNew:
    def test_only_a_keeper_enters_trees(self, as_keeper, as_helper, as_client, client):
        assert as_keeper.get("/trees/new/").status_code == 200
        for browser in (as_helper, as_client):
            assert browser.get("/trees/new/").status_code == 404
            assert browser.post("/trees/new/", typed()).status_code == 404
        assert client.get("/trees/new/").status_code == 302
        assert not Tree.objects.exists()

    def test_a_tree_gets_its_number_pot_and_photo(self, as_keeper, maple):
        answer = as_keeper.post("/trees/new/", typed(photo=make.picture()))
        assert (answer.status_code, answer["Location"]) == (302, "/trees/T-001/")
        tree = Tree.objects.get()
        assert (tree.name, tree.owner) == ("Acer palmatum 'Deshojo'", None)
        assert str(tree.pots.get()) == "oval 34 × 26 cm"
        assert tree.photos.count() == 1

    def test_a_part_of_a_name_leads_to_a_choice(self, as_keeper, maple):
        make.taxon("Acer palmatum var. amoenum")
        page = as_keeper.post("/trees/new/", typed(taxon_name="palmat"))
        assert page.status_code == 200
        assert "Which of these?" in page.content.decode()
        chosen = typed(taxon_name="palmat", taxon=str(maple.pk))
        assert as_keeper.post("/trees/new/", chosen).status_code == 302

    def test_a_refused_photo_stands_beside_its_field_and_the_rest_is_kept(
        self, as_keeper, maple
    ):
        file = SimpleUploadedFile("note.jpg", b"not a picture")
        page = as_keeper.post("/trees/new/", typed(photo=file))
        text = page.content.decode()
        assert "This file is not a picture that can be read." in text
        assert 'value="出猩々"' in text
        assert not Tree.objects.exists()

    def test_an_accepted_photo_is_not_asked_for_twice(self, as_keeper, maple):
        page = as_keeper.post(
            "/trees/new/", typed(photo=make.picture(), **{"tree-height_cm": "0"})
        )
        assert "between 1 and 1000" in page.content.decode()
        draft = page.context["draft"].name
        assert as_keeper.post("/trees/new/", typed(draft=draft)).status_code == 302
        assert Tree.objects.get().photos.count() == 1

    def test_sent_twice_it_is_one_tree(self, as_keeper, maple):
        draft = as_keeper.get("/trees/new/").context["draft"].name
        for _ in range(2):
            answer = as_keeper.post("/trees/new/", typed(draft=draft))
            assert answer["Location"] == "/trees/T-001/"
        assert Tree.objects.count() == 1


class TestEdit:
    def test_only_a_keeper_changes_trees(
        self, as_keeper, as_helper, as_client, collection
    ):
        assert as_keeper.get("/trees/T-002/edit/").status_code == 200
        for browser in (as_helper, as_client):
            assert browser.get("/trees/T-002/edit/").status_code == 404

    def test_the_form_shows_what_is_recorded(self, as_keeper, collection):
        text = as_keeper.get("/trees/T-002/edit/").content.decode()
        for shown in (
            'value="Acer palmatum"',
            'value="Kiyohime"',
            'value="2022-04-01"',
        ):
            assert shown in text

    def test_a_change_is_kept_with_what_stood_before(self, as_keeper, collection):
        sent = typed(
            **{
                "tree-cultivar": "Kiyohime",
                "tree-original_script": "清姫",
                "tree-height_cm": "36",
                "tree-root_work_on": "2022-04-01",
            }
        )
        answer = as_keeper.post("/trees/T-002/edit/", sent)
        assert answer["Location"] == "/trees/T-002/"
        tree = Tree.objects.get(number="T-002")
        assert (tree.height_cm, tree.owner) == (36, collection[1].owner)
        lines = as_keeper.get("/trees/T-002/").context["page"].history
        assert any("height with pot 45 → 36 cm" in line.noted for line in lines)
        assert tree.pots.count() == 1

    def test_the_same_pot_told_better_stays_the_same_pot(self, as_keeper, collection):
        page = as_keeper.get("/trees/T-002/edit/")
        assert page.context["pot"]["width_cm"].value() == 30
        told = {"pot-width_cm": "31", "pot-substrate": "akadama and pumice"}
        as_keeper.post("/trees/T-002/edit/", typed(**told))
        pot = Tree.objects.get(number="T-002").pots.get()
        assert (pot.width_cm, pot.substrate) == (31, "akadama and pumice")
        event = events_about(pot.tree).get(verb="corrected the pot of")
        assert event.detail["was"]["width_cm"] == "30.0"
        assert event.detail["now"]["width_cm"] == "31.0"

    def test_what_is_kept_is_said(self, as_keeper, collection):
        new = as_keeper.post("/trees/new/", typed(), follow=True).content.decode()
        assert "T-004 is entered." in new
        sent = typed(**{"pot-width_cm": "31"})
        said = as_keeper.post("/trees/T-002/edit/", sent, follow=True)
        assert "T-002: your changes are kept." in said.content.decode()

    def test_a_pot_that_is_not_corrected_leaves_no_event(self, as_keeper, collection):
        pot = Tree.objects.get(number="T-002").pots.get()
        sent = {f"pot-{name}": getattr(pot, name) for name in ("shape", "width_cm")}
        sent |= {"pot-depth_cm": pot.depth_cm, "pot-height_cm": pot.height_cm}
        as_keeper.post("/trees/T-002/edit/", typed(**sent))
        assert not events_about(pot.tree).filter(verb="corrected the pot of")

    def test_another_pot_ends_the_old_one(self, as_keeper, collection):
        sent = typed(**{"pot-is_other_pot": "on", "pot-width_cm": "40"})
        as_keeper.post("/trees/T-002/edit/", sent)
        pots = Tree.objects.get(number="T-002").pots.order_by("since")
        assert [pot.until for pot in pots] == [date(2025, 1, 21), None]
        assert pots[1].width_cm == 40

    def test_where_no_pot_is_recorded_what_is_told_of_one_is_kept(
        self, as_keeper, collection
    ):
        Tree.objects.get(number="T-002").pots.all().delete()
        as_keeper.post("/trees/T-002/edit/", typed(**{"pot-width_cm": "31"}))
        assert Tree.objects.get(number="T-002").pots.get().width_cm == 31

    def test_a_refused_change_changes_nothing(self, as_keeper, collection):
        page = as_keeper.post("/trees/T-002/edit/", typed(**{"tree-height_cm": "-1"}))
        assert "between 1 and 1000" in page.content.decode()
        assert Tree.objects.get(number="T-002").height_cm == 45
