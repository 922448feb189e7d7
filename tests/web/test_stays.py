"""Taking trees in and handing them back, by role."""

import io
import os
from datetime import date, timedelta

import pytest
from django.core.files.storage import default_storage
from django.utils import timezone

from tests import make
from tests.web.conftest import signed_in
from wintering.clients.models import Client
from wintering.stays.models import ConditionReport, Stay
from wintering.trees.models import Photo, Taxon, Tree
from wintering.web.drafts import sweep

CHECK_IN = "/stays/check-in/"
TODAY = date(2024, 11, 4)


@pytest.fixture(autouse=True)
def _early_november(time_machine):
    time_machine.move_to("2024-11-04 10:00:00+00:00")


def hardy(name: str, **fields) -> Taxon:
    """A taxon that is known to want the cold."""
    taxon = make.taxon(name, **fields)
    make.fact("dormancy_class", "needs cold dormancy", taxon=taxon)
    return taxon


@pytest.fixture
def maple(db):
    return hardy("Acer palmatum", common_names="Japanese maple")


def typed(**fields):
    """A check-in as the form sends it; fields win over these, None leaves one out."""
    sent = {
        "client": "Noa Sandoral",
        "taxon_name": "palmatum",
        "tree-cultivar": "Deshojo",
        "tree-original_script": "出猩々",
        "tree-identity": "certain",
        "tree-height_cm": "47",
        "tree-canopy_width_cm": "40",
        "tree-canopy_depth_cm": "36",
        "tree-weight_kg": "8",
        "tree-root_work_on": "2023-04",
        "pot-shape": "oval",
        "pot-width_cm": "34",
        "pot-depth_cm": "26",
        "pot-lip_turns_in": "no",
        "found-grade": "minor",
        "found-vigour": "strong",
        "found-pests": "none_found",
        "found-findings": "Old scar, trunk, 6 o'clock.",
        "stay-since": "2024-11-04",
        "stay-planned_until": "2025-05-10",
    }
    together = {**sent, **fields}
    return {name: text for name, text in together.items() if text is not None}


def words(answer) -> str:
    return " ".join(answer.content.decode().split())


def test_a_keeper_checks_in_a_new_tree(as_keeper, owner, maple):
    answer = as_keeper.post(CHECK_IN, typed(photo=make.picture()))
    stay = Stay.objects.get()
    assert answer.url == f"/stays/{stay.pk}/checked-in/"
    tree, pot = stay.tree, stay.tree.pots.get()
    assert (tree.number, tree.taxon, tree.cultivar) == ("T-001", maple, "Deshojo")
    assert (tree.owner, tree.original_script) == (owner, "出猩々")
    assert tree.root_work_on == date(2023, 4, 30)
    assert (pot.shape, pot.width_cm, pot.lip_turns_in) == ("oval", 34, False)
    assert (stay.since, stay.planned_until) == (TODAY, date(2025, 5, 10))
    assert stay.confirmed_at is not None
    report = ConditionReport.objects.get(stay=stay)
    assert (report.grade, report.findings) == ("minor", "Old scar, trunk, 6 o'clock.")
    assert Photo.objects.get().tree == tree


def test_after_check_in_the_number_the_label_and_the_next_steps_are_there(
    as_keeper, owner, maple
):
    answer = as_keeper.post(CHECK_IN, typed(), follow=True)
    page = words(answer)
    assert "T-001" in page
    assert "/trees/T-001/place/" in page
    assert "/trees/T-001/label.pdf" in page
    assert f"{CHECK_IN}?client={owner.pk}" in page
    assert "No agreement with Noa Sandoral" in page


def test_a_helpers_check_in_is_a_draft_without_values(as_helper, owner, maple):
    as_helper.post(CHECK_IN, typed(**{"stay-declared_tree_value": "400"}))
    stay = Stay.objects.get()
    assert stay.confirmed_at is None
    assert stay.declared_tree_value is None
    assert "Declared value" not in words(as_helper.get(CHECK_IN))
    assert "Declared, tree" not in words(as_helper.get(f"/stays/{stay.pk}/"))


def test_a_check_in_is_confirmed_once_and_that_is_said(as_keeper):
    address = f"/stays/{make.stay().pk}/confirm/"
    assert "is confirmed." in words(as_keeper.post(address, follow=True))
    assert "confirmed or over already" in words(as_keeper.post(address, follow=True))


def test_the_keeper_confirms_a_draft_and_a_helper_cannot(as_keeper, as_helper):
    stay = make.stay()
    address = f"/stays/{stay.pk}/confirm/"
    assert as_helper.post(address).status_code == 404
    assert as_keeper.get(address).status_code == 405
    as_keeper.post(address)
    stay.refresh_from_db()
    assert stay.confirmed_by.username == "hana"


@pytest.mark.parametrize("address", [CHECK_IN, "/stays/1/checked-in/"])
def test_a_client_does_not_check_in(as_client, address):
    assert as_client.get(address).status_code == 404


@pytest.mark.parametrize(
    ("field", "text", "sentence"),
    [
        ("client", "Nobody", "No client is called &#x27;Nobody&#x27;"),
        ("client", "", "Say whose tree it is"),
        ("taxon_name", "", "Say which taxon it is."),
        ("taxon_name", "xylograph", "No taxon has &#x27;xylograph&#x27;"),
        ("tree-height_cm", "0", "between 1 and 1000"),
        ("tree-height_cm", "", "This field is required."),
        ("tree-root_work_on", "last spring", "a month such as 2026-04"),
        ("tree-root_work_on", "2025-02", "That lies ahead of today."),
        ("tree-root_work_on", "", "Give the date, or tick"),
        ("pot-width_cm", "0", "Pot width and depth must be above 0 cm."),
        ("stay-planned_until", "2024-10-01", "lies before the check-in"),
        ("stay-since", "2024-11-05", "That day lies ahead"),
        ("stay-declared_tree_value", "400", "Say in which currency"),
    ],
)
def test_a_refusal_stands_in_the_form_and_nothing_typed_is_lost(
    as_keeper, owner, maple, field, text, sentence
):
    answer = as_keeper.post(CHECK_IN, typed(**{field: text}))
    page = words(answer)
    assert answer.status_code == 200
    assert sentence in page
    assert "Old scar, trunk, 6 o&#x27;clock." in page
    assert "出猩々" in page
    assert not Tree.objects.exists()


def test_a_constraints_refusal_stands_beside_its_field(as_keeper, owner, maple):
    answer = as_keeper.post(CHECK_IN, typed(**{"tree-height_cm": "1200"}))
    assert "height_cm" in answer.context["tree"].errors
    assert not answer.context["tree"].non_field_errors()


def test_several_taxa_of_a_name_become_a_choice(as_keeper, owner, maple):
    trident = hardy("Acer buergerianum")
    page = words(as_keeper.post(CHECK_IN, typed(taxon_name="acer")))
    assert "Which of these?" in page
    assert f'value="{trident.pk}"' in page
    assert f'value="{maple.pk}"' in page
    as_keeper.post(CHECK_IN, typed(taxon_name="acer", taxon=trident.pk))
    assert Tree.objects.get().taxon == trident


def test_a_name_typed_after_the_choice_counts(as_keeper, owner, maple):
    larch = hardy("Larix kaempferi")
    as_keeper.post(CHECK_IN, typed(taxon_name="larix", taxon=maple.pk))
    assert Tree.objects.get().taxon == larch


def test_a_new_client_comes_with_the_tree_or_not_at_all(as_keeper, maple):
    new = {"client": "", "new_name": "Karin Tovasel", "new_phone": "555 0142"}
    as_keeper.post(CHECK_IN, typed(**new, **{"tree-height_cm": "0"}))
    assert not Client.objects.exists()
    as_keeper.post(CHECK_IN, typed(**new))
    client = Client.objects.get()
    assert (client.mark, client.phone) == ("KT", "555 0142")
    assert Stay.objects.get().client == client


def test_a_helper_names_a_new_client_but_not_how_to_reach_them(as_helper, maple):
    new = {"client": "", "new_name": "Karin Tovasel", "new_phone": "555 0142"}
    as_helper.post(CHECK_IN, typed(**new))
    assert Client.objects.get().phone == ""


def test_a_photo_that_is_none_is_refused_beside_its_field(as_keeper, owner, maple):
    note = io.BytesIO(b"not a picture")
    note.name = "tree.jpg"
    answer = as_keeper.post(CHECK_IN, typed(photo=note))
    assert "photo" in answer.context["photo"].errors
    assert "is not a picture that can be read" in words(answer)
    assert "Old scar" in words(answer)
    assert not Tree.objects.exists()


def test_an_accepted_photo_is_kept_while_the_rest_is_mended(as_keeper, owner, maple):
    picture = make.picture()
    answer = as_keeper.post(CHECK_IN, typed(photo=picture, **{"tree-height_cm": "0"}))
    assert f"The photo {picture.name} is kept." in words(answer)
    draft = answer.context["draft"].name
    as_keeper.post(CHECK_IN, typed(draft=draft))
    assert Photo.objects.get().tree == Tree.objects.get()
    assert default_storage.listdir("waiting")[1] == []


def test_a_kept_photo_belongs_to_its_session_alone(as_keeper, owner, maple):
    answer = as_keeper.post(
        CHECK_IN, typed(photo=make.picture(), **{"tree-height_cm": "0"})
    )
    draft = answer.context["draft"].name
    signed_in(make.keeper()).post(CHECK_IN, typed(draft=draft))
    assert Tree.objects.exists()
    assert not Photo.objects.exists()


@pytest.mark.parametrize(("hours", "left"), [(23, 1), (25, 0)])
def test_a_photo_whose_form_was_never_sent_is_removed(
    as_keeper, owner, maple, hours, left
):
    as_keeper.post(CHECK_IN, typed(photo=make.picture(), **{"tree-height_cm": "0"}))
    (name,) = default_storage.listdir("waiting")[1]
    then = (timezone.now() - timedelta(hours=hours)).timestamp()
    os.utime(default_storage.path(f"waiting/{name}"), (then, then))
    sweep()
    assert len(default_storage.listdir("waiting")[1]) == left


def test_a_form_sent_twice_makes_one_tree(as_keeper, owner, maple):
    draft = as_keeper.get(CHECK_IN).context["draft"].name
    first = as_keeper.post(CHECK_IN, typed(draft=draft))
    second = as_keeper.post(CHECK_IN, typed(draft=draft))
    assert first.url == second.url
    assert Tree.objects.count() == 1


def test_one_tree_more_than_agreed_needs_an_addendum(as_keeper, owner, maple):
    make.agreement(client=owner, winter=2024, trees_agreed=1)
    make.stay(client=owner)
    page = words(as_keeper.post(CHECK_IN, typed()))
    assert "1 agreed for 2024/25, this would be the 2nd: needs an addendum." in page
    assert Stay.objects.count() == 1
    as_keeper.post(CHECK_IN, typed(beyond_agreement="on"))
    newest = Stay.objects.order_by("-pk").first()
    assert "taken by an addendum" in newest.agreed


def test_a_helper_is_not_told_how_many_were_agreed(as_helper, owner, maple):
    make.agreement(client=owner, winter=2024, trees_agreed=1)
    make.stay(client=owner)
    page = words(as_helper.post(CHECK_IN, typed()))
    assert "One more tree than agreed for 2024/25: needs an addendum." in page
    assert "1 agreed" not in page


def test_a_tree_that_was_here_before_is_found_and_checked_in_again(
    as_keeper, owner, maple
):
    tree = make.tree(
        owner=owner, taxon=maple, height_cm=40, root_work_on=date(2022, 4, 1)
    )
    make.stay(tree=tree, winter=2023, since=date(2023, 10, 9), until=date(2024, 5, 1))
    found = words(as_keeper.get(CHECK_IN, {"known": tree.number}))
    assert f"?tree={tree.number}" in found
    sent = {**typed(), "tree-height_cm": "43", "tree-root_work_on": "2024-04-12"}
    as_keeper.post(f"{CHECK_IN}?tree={tree.number}", sent)
    tree.refresh_from_db()
    assert (tree.height_cm, tree.root_work_on) == (43, date(2024, 4, 12))
    assert tree.stays.filter(winter=2024).count() == 1
    assert tree.pots.count() == 1


def test_a_tree_that_comes_back_may_stand_in_another_pot(as_keeper, owner, maple):
    tree = make.tree(owner=owner, taxon=maple)
    sent = {**typed(), "pot-is_other_pot": "on"}
    as_keeper.post(f"{CHECK_IN}?tree={tree.number}", sent)
    pots = tree.pots.order_by("since")
    assert [(pot.width_cm, pot.until) for pot in pots] == [(30, TODAY), (34, None)]


def test_a_tree_in_care_is_not_checked_in_again(as_keeper, owner):
    tree = make.stay(client=owner).tree
    assert as_keeper.get(f"{CHECK_IN}?tree={tree.number}").status_code == 404


def test_the_list_is_one_winters_and_each_sees_their_own(
    as_keeper, as_client, as_stranger, owner
):
    mine, other = make.stay(client=owner), make.stay()
    make.stay(winter=2023, since=date(2023, 10, 9), until=date(2024, 5, 1))
    staff, client = words(as_keeper.get("/stays/")), words(as_client.get("/stays/"))
    assert mine.tree.number in staff
    assert other.tree.number in staff
    assert mine.tree.number in client
    assert other.tree.number not in client
    assert "No tree in care now." in words(as_stranger.get("/stays/"))
    assert "2023/24" in staff


@pytest.mark.parametrize("winter", ["0", "2023", "99999999999999999999", "x"])
def test_any_winter_may_be_asked_for(as_keeper, winter):
    assert as_keeper.get("/stays/", {"winter": winter}).status_code == 200


def test_drafts_wait_for_the_keeper_at_the_top_of_the_list(as_keeper):
    stay = make.stay()
    page = words(as_keeper.get("/stays/"))
    assert "1 check-in waits for the keeper to confirm." in page
    assert f"/stays/{stay.pk}/confirm/" in page


def test_the_list_takes_few_statements(as_keeper, django_assert_max_num_queries):
    for _ in range(12):
        make.stay()
    with django_assert_max_num_queries(9):
        as_keeper.get("/stays/")


def test_a_client_reads_their_stay_with_what_was_declared(
    as_client, as_stranger, owner
):
    stay = make.stay(client=owner, declared_tree_value=420, currency="EUR")
    address = f"/stays/{stay.pk}/"
    page = words(as_client.get(address))
    assert "420.00 EUR" in page
    assert "Check out" not in page
    assert "Confirm" not in page
    assert as_stranger.get(address).status_code == 404


def test_check_out_frees_the_place_and_reports_the_condition(as_keeper):
    stay = make.stay(since=date(2024, 10, 12))
    make.condition_report(tree=stay.tree, stay=stay, findings="Chip, back left.")
    make.placement(tree=stay.tree, since=date(2024, 10, 20))
    address = f"/stays/{stay.pk}/check-out/"
    assert "Chip, back left." in words(as_keeper.get(address))
    condition = {
        "found-grade": "minor",
        "found-vigour": "normal",
        "found-pests": "none_found",
        "found-findings": "Chip unchanged.",
    }
    as_keeper.post(address, {"on": "2024-11-04", **condition})
    stay.refresh_from_db()
    assert stay.until == TODAY
    assert not stay.tree.placements.filter(until=None).exists()
    report = stay.condition_reports.get(occasion="check_out")
    assert report.findings == "Chip unchanged."


def test_a_check_out_that_is_refused_keeps_what_was_typed(as_keeper):
    stay = make.stay(since=date(2024, 10, 12))
    sent = {
        "on": "2024-10-12",
        "found-grade": "sound",
        "found-vigour": "normal",
        "found-pests": "none_found",
        "found-findings": "All as it came.",
    }
    page = words(as_keeper.post(f"/stays/{stay.pk}/check-out/", sent))
    assert "A stay ends on a day after its check-in." in page
    assert "All as it came." in page


@pytest.mark.parametrize("who", ["as_helper", "as_client"])
def test_only_the_keeper_hands_a_tree_back(request, owner, who):
    stay = make.stay(client=owner)
    browser = request.getfixturevalue(who)
    assert browser.get(f"/stays/{stay.pk}/check-out/").status_code == 404
