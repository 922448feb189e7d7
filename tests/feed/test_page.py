"""The page that makes links, and shows each of them once."""

import re

import pytest
from django.test import Client as Browser
from django.urls import reverse

from tests import make
from wintering.care.models import FeedToken
from wintering.care.services.feeds import ensure_feed, open_feed

pytestmark = pytest.mark.django_db
PAGE, NEW_LINK = "/calendar/", "/calendar/new-link/"


@pytest.fixture
def hana(keeper):
    browser = Browser()
    browser.force_login(keeper)
    return browser


def shown_address(answer):
    [address] = re.findall(r"readonly>(https?://[^<]+)<", answer.content.decode())
    return address


def test_the_addresses_have_their_names():
    assert reverse("feed:calendar") == PAGE
    assert reverse("feed:ics", args=["abc"]) == "/calendar/abc.ics"


@pytest.mark.parametrize("role", ["keeper", "helper", "client"])
def test_everyone_who_signs_in_has_a_calendar(role):
    browser = Browser()
    browser.force_login(make.user(role))
    assert "You have no link yet." in browser.get(PAGE).content.decode()
    assert FeedToken.objects.count() == 0
    assert browser.get(shown_address(browser.post(NEW_LINK))).status_code == 200


@pytest.mark.parametrize(
    ("method", "address"),
    [
        ("get", PAGE),
        ("post", NEW_LINK),
        ("post", "/calendar/revoke/"),
        ("post", "/calendar/reminders/"),
    ],
)
def test_a_stranger_is_sent_to_sign_in(client, method, address):
    answer = getattr(client, method)(address)
    assert answer.status_code == 302
    assert "/sign-in/" in answer["Location"]
    assert FeedToken.objects.count() == 0


def test_the_link_is_shown_once_and_works(hana, client):
    answer = hana.post(NEW_LINK)
    address = shown_address(answer)
    assert re.fullmatch(r"http://testserver/calendar/[\w-]{43}\.ics", address)
    assert client.get(address).status_code == 200
    assert address not in hana.get(PAGE).content.decode()
    secret = address.rsplit("/", 1)[1].removesuffix(".ics")
    assert secret not in hana.get(PAGE).content.decode()


def test_the_page_that_shows_it_is_kept_nowhere_and_tells_no_one(hana):
    answer = hana.post(NEW_LINK)
    assert answer["Cache-Control"] == "no-store"
    assert answer["Referrer-Policy"] == "no-referrer"
    words = answer.content.decode()
    title = re.search(r"<title>(.*?)</title>", words)[1]
    assert title == "Calendar link · Wintering"
    others = re.findall(r'(?:src|href)="(?:https?:)?//([^"/]+)', words)
    assert others == []
    program = shown_address(answer).replace("http://", "webcal://")
    assert f'href="{program}"' in words


def test_a_new_link_stops_the_old_one(hana, client):
    old = shown_address(hana.post(NEW_LINK))
    new = shown_address(hana.post(NEW_LINK))
    assert client.get(old).status_code == 404
    assert client.get(new).status_code == 200


def test_an_address_without_encryption_is_said_to_be_one(hana):
    assert "is not encrypted" in hana.post(NEW_LINK).content.decode()
    safe = hana.post(NEW_LINK, secure=True)
    assert shown_address(safe).startswith("https://")
    assert "is not encrypted" not in safe.content.decode()


def test_revoking_ends_the_link(hana, client):
    address = shown_address(hana.post(NEW_LINK))
    assert hana.post("/calendar/revoke/")["Location"] == PAGE
    assert client.get(address).status_code == 404
    assert "You have no link yet." in hana.get(PAGE).content.decode()
    assert hana.post("/calendar/revoke/")["Location"] == PAGE


def test_reminders_are_switched(hana, keeper):
    feed, _ = open_feed(user=keeper, by=keeper)
    assert "Leave reminders out" in hana.get(PAGE).content.decode()
    assert hana.post("/calendar/reminders/")["Location"] == PAGE
    feed.refresh_from_db()
    assert feed.has_reminders is False
    assert "Send reminders" in hana.get(PAGE).content.decode()
    hana.post("/calendar/reminders/", {"on": "1"})
    feed.refresh_from_db()
    assert feed.has_reminders is True


def test_nothing_happens_by_looking(hana, keeper):
    ensure_feed(user=keeper, by=keeper)
    for address in (NEW_LINK, "/calendar/revoke/", "/calendar/reminders/"):
        assert hana.get(address).status_code == 405


def test_forms_need_their_own_page(keeper):
    hana = Browser(enforce_csrf_checks=True)
    hana.force_login(keeper)
    assert hana.post(NEW_LINK).status_code == 403


def test_the_page_says_what_a_calendar_is_not(hana):
    words = re.sub(r"\s+", " ", hana.get(PAGE).content.decode())
    for sentence in (
        "It is a display, not an alarm.",
        "decides how often it looks, from minutes to more than a day",
        "Whoever has the link can read this calendar without signing in.",
        "fetched by its provider's machines",
        "reachable only at home",
    ):
        assert sentence in words


def test_the_page_says_when_the_link_was_last_fetched(hana, client, now):
    address = shown_address(hana.post(NEW_LINK))
    assert "Nothing has fetched it yet." in hana.get(PAGE).content.decode()
    client.get(address)
    assert "last fetched Mon 20 Jan 2025" in hana.get(PAGE).content.decode()
