import pytest
from django.core.exceptions import ValidationError

from tests import make
from wintering.clients.models import Client
from wintering.clients.queries import clients_for
from wintering.clients.services import add_client, agree, unused_mark

pytestmark = pytest.mark.django_db


def test_a_client_gets_the_initials_as_owner_mark():
    assert unused_mark("Noa Sandoral") == "NS"


def test_a_second_client_with_the_same_initials_gets_another_mark():
    make.client(name="Noa Sandoral", mark="NS")
    assert unused_mark("Nils Svara") == "NS2"


@pytest.mark.parametrize("name", ["", "…", "五葉"])
def test_any_name_gives_a_mark(name):
    assert unused_mark(name)


def test_an_owner_mark_belongs_to_one_client():
    keeper = make.keeper()
    add_client(name="Noa Sandoral", mark="NS", by=keeper)
    with pytest.raises(ValidationError, match="already exists"):
        add_client(name="Nils Svara", mark="NS", by=keeper)
    assert Client.objects.count() == 1


def test_one_agreement_for_a_client_and_winter():
    keeper, client = make.keeper(), make.client()
    agree(client=client, winter=2024, trees_agreed=6, by=keeper)
    with pytest.raises(ValidationError, match="already has an agreement"):
        agree(client=client, winter=2024, trees_agreed=7, by=keeper)


def test_a_helper_makes_no_agreement():
    with pytest.raises(ValidationError, match="Only a keeper"):
        agree(client=make.client(), winter=2024, trees_agreed=6, by=make.helper())


def test_a_collection_window_does_not_end_before_it_starts():
    with pytest.raises(ValidationError, match="ends before it starts"):
        agree(
            client=make.client(),
            winter=2024,
            trees_agreed=6,
            by=make.keeper(),
            collect_from="2025-05-24",
            collect_until="2025-05-10",
        )


def test_a_client_sees_only_themself():
    person = make.user(role="client")
    own = make.client(user=person)
    make.client()
    assert list(clients_for(person)) == [own]
    assert clients_for(make.helper()).count() == 2


def test_someone_who_was_shut_out_sees_nobody():
    person = make.user(role="client", is_active=False)
    make.client(user=person)
    assert not clients_for(person)
