"""Signing in and out, and which addresses are open without it."""

import json
from datetime import UTC, datetime
from unittest import mock

import pytest
from django.db import OperationalError

from tests import make
from wintering.web.views import health

pytestmark = pytest.mark.django_db


def test_person_signs_in_and_comes_to_today(client):
    make.keeper(username="hana")
    sent = {"username": "hana", "password": make.PASSWORD}
    answer = client.post("/sign-in/", sent)
    assert (answer.status_code, answer["Location"]) == (302, "/")


def test_wrong_password_is_refused_in_words(client):
    make.keeper(username="hana")
    answer = client.post("/sign-in/", {"username": "hana", "password": "wrong"})
    assert answer.status_code == 200
    assert "do not belong together" in answer.content.decode()


def test_sign_in_leads_back_to_the_page_that_was_asked_for(client):
    make.keeper(username="hana")
    sent = {"username": "hana", "password": make.PASSWORD, "next": "/trees/"}
    assert client.post("/sign-in/", sent)["Location"] == "/trees/"


def test_sign_in_leads_to_no_other_site(client):
    make.keeper(username="hana")
    sent = {"username": "hana", "password": make.PASSWORD, "next": "https://x.example/"}
    assert client.post("/sign-in/", sent)["Location"] == "/"


def test_signing_out_asks_for_a_post(as_keeper):
    assert as_keeper.get("/sign-out/").status_code == 405
    assert as_keeper.post("/sign-out/")["Location"] == "/sign-in/"
    assert as_keeper.get("/")["Location"] == "/sign-in/?next=/"


@pytest.mark.parametrize("who", ["as_keeper", "as_helper", "as_client"])
def test_every_word_of_the_navigation_opens(who, request):
    browser = request.getfixturevalue(who)
    places = browser.get("/").context["places"]["all"]
    for place in places:
        page = browser.get(place.url)
        assert page.status_code == 200, place.word
        (here,) = [p.word for p in page.context["places"]["all"] if p.is_here]
        assert here == place.word


def test_a_client_is_offered_only_their_own(as_client):
    places = as_client.get("/").context["places"]
    assert [place.word for place in places["all"]] == ["Today", "Trees", "Calendar"]


def test_no_page_asks_for_script_or_style_inside_it(as_keeper):
    page = as_keeper.get("/")
    assert "style=" not in page.content.decode()
    assert "script-src 'self'" in page["Content-Security-Policy"]


def test_health_is_open_and_says_nothing_private(client):
    flag = make.flag()
    make.judging(frame=flag.frame, at=datetime(2025, 1, 20, 6, 10, tzinfo=UTC))
    answer = client.get("/healthz")
    assert answer.status_code == 200
    told = json.loads(answer.content)
    assert told["well"] is True
    assert told["last_judged"] == "2025-01-20T06:10:00+00:00"
    assert told["last_reading"] is None
    assert flag.tree.number not in answer.content.decode()


def test_health_fails_when_the_database_does_not_answer(client):
    with mock.patch.object(health, "last_reading_at", side_effect=OperationalError):
        answer = client.get("/healthz")
    assert answer.status_code == 503
    assert json.loads(answer.content)["database"] == "does not answer"


def test_health_fails_when_the_disk_is_nearly_full(client):
    with mock.patch.object(health, "LEAST_FREE_MB", 10**12):
        assert client.get("/healthz").status_code == 503
