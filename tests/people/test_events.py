import pytest
from django.core.exceptions import ValidationError
from django.urls import reverse

from tests import make
from wintering.people.models import Event, User
from wintering.people.queries import events_about
from wintering.people.services import record

pytestmark = pytest.mark.django_db


def test_an_event_names_who_did_what_to_which_row():
    keeper, tree = make.keeper(), make.tree()
    record(keeper, "placed", tree, on=make.DAY, at=["N1-07b"])
    [event] = events_about(tree)
    assert (event.by, event.verb) == (keeper, "placed")
    assert event.detail == {"on": "2025-01-20", "at": ["N1-07b"]}


def test_events_about_another_row_are_left_out():
    record(make.keeper(), "placed", make.tree())
    assert not events_about(make.tree())


@pytest.mark.parametrize("change", ["update", "delete"])
def test_events_are_only_ever_added(change):
    record(make.keeper(), "placed", make.tree())
    with pytest.raises(TypeError, match="only ever added"):
        getattr(Event.objects.all(), change)()


def test_whoever_sets_the_place_up_is_its_keeper():
    made = User.objects.create_superuser("hana", password=make.PASSWORD)
    assert made.is_keeper


def test_a_person_without_a_role_may_do_the_least():
    assert User.objects.create_user("noa").role == User.Role.CLIENT


def test_an_unknown_time_zone_is_refused():
    person = make.keeper()
    person.time_zone = "Mars/Olympus"
    with pytest.raises(ValidationError, match="No time zone is called"):
        person.full_clean()


def test_the_admin_cannot_alter_an_event(client):
    record(make.keeper(), "placed", make.tree())
    client.force_login(User.objects.create_superuser("hana", password=make.PASSWORD))
    address = reverse("admin:people_event_change", args=[Event.objects.get().pk])
    assert client.post(address, {"verb": "lost"}).status_code == 403
    assert Event.objects.get().verb == "placed"
