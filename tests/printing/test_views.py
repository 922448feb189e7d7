"""Who may print what, by the addresses."""

import pytest
import time_machine
from django.urls import reverse

from tests import make
from tests.printing.conftest import AT
from tests.printing.reading import pages_of, sizes_mm, text_of

SHEET = "/frames/long-frame/sheet.pdf"


@pytest.fixture(autouse=True)
def _the_story(db):
    with time_machine.travel(AT, tick=False):
        yield


def test_the_addresses_have_their_names():
    assert reverse("printing:bench-sheet", args=["long-frame"]) == SHEET
    label = reverse("printing:tree-label", args=["T-001"])
    assert label == "/trees/T-001/label.pdf"


@pytest.mark.parametrize("role", ["keeper", "helper"])
def test_those_who_work_here_print_the_sheet(client, long_frame, role):
    client.force_login(make.user(role))
    answer = client.get(SHEET)
    assert answer.status_code == 200
    assert answer["Content-Type"] == "application/pdf"
    name = "bench-sheet-long-frame-2025-01-20.pdf"
    assert answer["Content-Disposition"] == f'inline; filename="{name}"'
    assert "no-store" in answer["Cache-Control"]
    assert "Level: bench" in pages_of(answer.content)[1]


def test_the_paper_is_chosen_in_the_address(client, long_frame):
    client.force_login(make.keeper())
    letter = client.get(SHEET, {"paper": "letter"})
    assert sizes_mm(letter.content) == {(279.4, 215.9)}


def test_an_unknown_paper_is_refused_with_the_two_there_are(client, long_frame):
    client.force_login(make.keeper())
    answer = client.get(SHEET, {"paper": "a5"})
    assert answer.status_code == 400
    assert "?paper=a4 and ?paper=letter" in answer.content.decode()


def test_a_client_does_not_see_the_frame(client, long_frame):
    client.force_login(make.user("client"))
    assert client.get(SHEET).status_code == 404


def test_a_stranger_is_sent_to_sign_in(client, long_frame):
    for address in (SHEET, "/trees/T-001/label.pdf"):
        answer = client.get(address)
        assert answer.status_code == 302
        assert "/sign-in/" in answer["Location"]


def test_nothing_is_printed_by_post(client, long_frame):
    client.force_login(make.keeper())
    assert client.post(SHEET).status_code == 405


def test_a_frame_larger_than_any_paper_is_refused_in_words(client):
    make.frame(name="Hall", slug="hall", width_cm=4000)
    client.force_login(make.keeper())
    answer = client.get("/frames/hall/sheet.pdf")
    assert answer.status_code == 400
    assert "Describe it as two frames." in answer.content.decode()


def test_a_label_is_for_those_who_may_see_the_tree(client, long_frame):
    owner = make.user("client")
    tree = make.tree(owner=make.client(user=owner))
    address = reverse("printing:tree-label", args=[tree.number])
    client.force_login(owner)
    assert tree.number in text_of(client.get(address).content)
    client.force_login(make.user("client"))
    assert client.get(address).status_code == 404
    client.force_login(make.helper())
    assert client.get(address).status_code == 200
