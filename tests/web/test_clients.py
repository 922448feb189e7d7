"""Clients and agreements: the keeper's matter, and the client's own."""

from decimal import Decimal

import pytest

from tests import make
from tests.web.test_stays import words
from wintering.clients.models import Agreement, Client


@pytest.fixture(autouse=True)
def _january(time_machine):
    time_machine.move_to("2025-01-20 12:00:00+00:00")


def test_a_keeper_adds_a_client_and_the_mark_follows_from_the_name(as_keeper):
    answer = as_keeper.post("/clients/add/", {"name": "Mika Belloran"})
    client = Client.objects.get()
    assert client.mark == "MB"
    assert answer.url == f"/clients/{client.pk}/"


def test_a_taken_mark_is_refused_beside_its_field(as_keeper):
    make.client(mark="MB")
    answer = as_keeper.post("/clients/add/", {"name": "Mia Brandt", "mark": "MB"})
    assert "mark" in answer.context["form"].errors
    assert "Mia Brandt" in words(answer)


def test_a_client_is_changed_and_may_sign_in(as_keeper):
    client, person = make.client(), make.user("client")
    sent = {"name": "Karin Tovasel", "mark": client.mark, "user": person.pk}
    as_keeper.post(f"/clients/{client.pk}/edit/", sent)
    client.refresh_from_db()
    assert (client.name, client.user) == ("Karin Tovasel", person)


def test_another_clients_sign_in_is_not_offered(as_keeper, owner):
    answer = as_keeper.post("/clients/add/", {"name": "Dara", "user": owner.user.pk})
    assert "user" in answer.context["form"].errors


def test_an_agreement_is_made_and_changed(as_keeper, owner):
    address = f"/clients/{owner.pk}/agreement/2024/"
    sent = {"trees_agreed": 7, "fee_per_module": "38", "currency": "eur"}
    as_keeper.post(address, {**sent, "wake_at_night": "yes"})
    agreement = Agreement.objects.get()
    assert (agreement.trees_agreed, agreement.wake_at_night) == (7, True)
    assert (agreement.fee_per_module, agreement.currency) == (Decimal(38), "EUR")
    as_keeper.post(address, {**sent, "trees_agreed": 8, "wake_at_night": ""})
    agreement.refresh_from_db()
    assert (agreement.trees_agreed, agreement.wake_at_night) == (8, None)


def test_a_collection_that_ends_before_it_starts_is_refused(as_keeper, owner):
    sent = {
        "trees_agreed": 7,
        "collect_from": "2025-05-20",
        "collect_until": "2025-05-10",
    }
    answer = as_keeper.post(f"/clients/{owner.pk}/agreement/2024/", sent)
    assert answer.context["form"].errors["collect_until"] == [
        "The collection window ends before it starts."
    ]


def test_a_winter_of_no_calendar_is_not_there(as_keeper, owner):
    assert as_keeper.get(f"/clients/{owner.pk}/agreement/99999/").status_code == 404


@pytest.mark.parametrize("who", ["as_helper", "as_client", "as_stranger"])
@pytest.mark.parametrize("address", ["", "add/", "{pk}/edit/", "{pk}/agreement/2024/"])
def test_contacts_and_agreements_are_the_keepers_matter(request, owner, who, address):
    browser = request.getfixturevalue(who)
    answer = browser.get("/clients/" + address.format(pk=owner.pk))
    assert answer.status_code == 404


def test_a_clients_page_is_for_the_keeper_and_for_them(
    as_keeper, as_client, as_helper, as_stranger, owner
):
    make.agreement(client=owner, fee_per_module=38, currency="EUR")
    address = f"/clients/{owner.pk}/"
    assert "38.00 EUR a module" in words(as_keeper.get(address))
    own = words(as_client.get(address))
    assert "38.00 EUR a module" in own
    assert "Edit client" not in own
    assert "Check in tree" not in own
    assert as_helper.get(address).status_code == 404
    assert as_stranger.get(address).status_code == 404


def test_a_clients_page_offers_their_trees_that_are_away(as_keeper, owner):
    away, here = make.tree(owner=owner), make.stay(client=owner).tree
    page = words(as_keeper.get(f"/clients/{owner.pk}/"))
    assert f"?tree={away.number}" in page
    assert f"?tree={here.number}" not in page


def test_the_list_takes_few_statements(as_keeper, django_assert_max_num_queries):
    for _ in range(10):
        make.agreement()
    with django_assert_max_num_queries(4):
        page = words(as_keeper.get("/clients/"))
    assert "10 clients on the books." in page
