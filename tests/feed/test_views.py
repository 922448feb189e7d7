"""The open address: every row of the contract, and what it must never say."""

import gzip
import logging
from datetime import timedelta

import pytest
from django.core.cache import cache
from django.db import DatabaseError
from django.test import Client as Browser

from tests import make
from tests.feed.reading import read
from wintering.care.models import FeedToken
from wintering.care.services.feeds import (
    open_feed,
    revoke_feed,
    rotate_feed,
    switch_reminders,
)
from wintering.feed import views

DAY = timedelta(days=1)
MARKED = "Zx9-marked_secret-" + "q" * 25


@pytest.fixture(autouse=True)
def _story(now):
    cache.clear()


@pytest.fixture
def secret(keeper, stand):
    stand("N1-01f")
    return open_feed(user=keeper, by=keeper)[1]


@pytest.fixture
def fetch(client, secret):
    def get(**headers):
        return client.get(f"/calendar/{secret}.ics", headers=headers)

    return get


class TestGoodAddress:
    def test_it_answers_without_sign_in(self, fetch):
        answer = fetch()
        assert answer.status_code == 200
        assert answer["Content-Type"] == "text/calendar; charset=utf-8"
        assert answer["Cache-Control"] == "private, max-age=0, must-revalidate"
        assert answer["Vary"] == "Accept-Encoding"
        assert answer["Content-Disposition"] == 'inline; filename="wintering.ics"'
        assert answer["ETag"].strip('"').isalnum()
        assert answer["Last-Modified"] == "Mon, 20 Jan 2025 12:00:00 GMT"
        assert int(answer["Content-Length"]) == len(answer.content)
        assert read(answer.content).named("VEVENT")

    def test_it_keeps_its_readers_private(self, fetch):
        answer = fetch()
        assert answer["Referrer-Policy"] == "no-referrer"
        assert answer["X-Robots-Tag"] == "noindex, nofollow"
        assert answer["X-Content-Type-Options"] == "nosniff"
        assert answer.cookies == {}

    def test_no_header_of_the_reader_changes_the_answer(self, fetch, keeper):
        plain = fetch()
        others = fetch(
            accept_language="fr,de;q=0.8",
            user_agent="another program",
            cookie="sessionid=nobody-who-is-known-here",
            accept="*/*",
        )
        assert others.content == plain.content
        assert others["ETag"] == plain["ETag"]
        assert others["Vary"] == "Accept-Encoding"

    def test_the_name_of_the_host_is_nowhere_in_it(self, client, secret, settings):
        settings.ALLOWED_HOSTS = ["a.example", "b.example"]
        bodies = {
            client.get(f"/calendar/{secret}.ics", headers={"host": host}).content
            for host in settings.ALLOWED_HOSTS
        }
        assert len(bodies) == 1

    def test_a_browser_that_is_signed_in_gets_the_same(self, fetch, secret, keeper):
        browser = Browser()
        browser.force_login(keeper)
        answer = browser.get(f"/calendar/{secret}.ics")
        assert answer.content == fetch().content
        assert answer["Vary"] == "Accept-Encoding"

    def test_head_is_as_get_without_a_body(self, client, fetch, secret):
        answer = client.head(f"/calendar/{secret}.ics")
        assert answer.status_code == 200
        assert answer.content == b""
        for header in ("ETag", "Last-Modified", "Content-Type", "Content-Length"):
            assert answer[header] == fetch()[header]

    @pytest.mark.parametrize(
        "method", ["post", "put", "patch", "delete", "options", "propfind", "report"]
    )
    def test_nothing_but_reading_is_allowed(self, secret, method):
        browser = Browser(enforce_csrf_checks=True)
        answer = browser.generic(method.upper(), f"/calendar/{secret}.ics")
        assert answer.status_code == 405

    def test_compressed_answers_hold_the_same(self, fetch, settings):
        settings.MIDDLEWARE = [
            "django.middleware.gzip.GZipMiddleware",
            *settings.MIDDLEWARE,
        ]
        plain, packed = fetch(), fetch(accept_encoding="gzip")
        assert packed["Content-Encoding"] == "gzip"
        assert gzip.decompress(packed.content) == plain.content
        assert packed["ETag"] == f"W/{plain['ETag']}"
        assert fetch(if_none_match=packed["ETag"]).status_code == 304


class TestConditions:
    def test_the_same_digest_is_not_sent_again(self, fetch):
        first = fetch()
        for given in (
            first["ETag"],
            f"W/{first['ETag']}",
            f'"other", {first["ETag"]}',
            "*",
        ):
            answer = fetch(if_none_match=given)
            assert (answer.status_code, answer.content) == (304, b"")
            for header in ("ETag", "Last-Modified", "Cache-Control", "Vary"):
                assert answer[header] == first[header]
            assert answer["Referrer-Policy"] == "no-referrer"
            assert answer["X-Robots-Tag"] == "noindex, nofollow"

    def test_another_digest_wins_over_the_date(self, fetch):
        modified = fetch()["Last-Modified"]
        answer = fetch(if_none_match='"other"', if_modified_since=modified)
        assert answer.status_code == 200

    @pytest.mark.parametrize(
        ("since", "status"),
        [
            ("Mon, 20 Jan 2025 12:00:00 GMT", 304),
            ("Tue, 21 Jan 2025 00:00:00 GMT", 304),
            ("Mon, 20 Jan 2025 11:59:59 GMT", 200),
            ("some day", 200),
        ],
    )
    def test_a_date_alone_decides_by_the_second(self, fetch, since, status):
        fetch()
        assert fetch(if_modified_since=since).status_code == status

    def test_the_time_of_change_moves_with_the_content_and_not_with_the_clock(
        self, fetch, now, stand
    ):
        first = fetch()
        now.move_to(make.NOON + timedelta(hours=2))
        assert fetch()["Last-Modified"] == first["Last-Modified"]
        stand("N1-02f")
        later = fetch()
        assert later["ETag"] != first["ETag"]
        assert later["Last-Modified"] == "Mon, 20 Jan 2025 14:00:00 GMT"

    def test_what_disappears_is_not_hidden_by_an_old_date(self, fetch, noa, now):
        stay = make.stay(client=noa)
        first = fetch()
        now.move_to(make.NOON + timedelta(hours=1))
        stay.delete()
        answer = fetch(if_modified_since=first["Last-Modified"])
        assert answer.status_code == 200
        assert b"In care" not in answer.content


class TestReminders:
    def test_switching_them_off_revises_every_event(self, fetch, keeper, now):
        before = read(fetch().content)
        now.move_to(make.NOON + timedelta(hours=1))
        switch_reminders(feed=FeedToken.objects.get(), on=False, by=keeper)
        after = read(fetch().content)
        assert any(event.parts for event in before.parts)
        assert not any(event.parts for event in after.parts)
        for event in after.parts:
            assert event["DTSTAMP"] == event["LAST-MODIFIED"] == "20250120T130000Z"


class TestWrongAddress:
    def addresses(self, keeper):
        feed, revoked = open_feed(user=keeper, by=keeper)
        revoke_feed(feed=feed, by=keeper)
        rotated, old = open_feed(user=keeper, by=keeper)
        rotate_feed(feed=rotated, by=keeper)
        return [revoked, old, MARKED, "x", "%C3%A9%F0%9F%8C%B2", "a" * 5000, "%00"]

    def test_unknown_revoked_replaced_and_misspelt_are_answered_alike(
        self, client, keeper
    ):
        answers = [
            client.get(f"/calendar/{secret}.ics") for secret in self.addresses(keeper)
        ]
        assert {answer.status_code for answer in answers} == {404}
        assert {answer.content for answer in answers} == {b"There is no such calendar."}
        [kinds] = {tuple(sorted(answer.headers.items())) for answer in answers}
        assert ("Referrer-Policy", "no-referrer") in kinds
        assert "Location" not in dict(kinds)

    def test_a_person_who_left_reads_nothing(self, fetch, keeper):
        keeper.is_active = False
        keeper.save()
        assert fetch().status_code == 404

    def test_an_owner_whose_trees_are_gone_reads_an_empty_calendar(self, client, noa):
        _, secret = open_feed(user=noa.user, by=noa.user)
        make.stay(client=noa)
        noa.user = None
        noa.save()
        answer = client.get(f"/calendar/{secret}.ics")
        [event] = read(answer.content).parts
        assert event.text("SUMMARY") == "Connected; nothing planned yet"

    def test_guessing_is_slowed_down_but_good_links_are_not(self, client, fetch):
        for _ in range(views.MISSES_A_MINUTE):
            assert client.get("/calendar/guess.ics").status_code == 404
        answer = client.get("/calendar/guess.ics")
        assert (answer.status_code, answer["Retry-After"]) == (429, "60")
        assert fetch().status_code == 200
        elsewhere = client.get("/calendar/guess.ics", REMOTE_ADDR="198.51.100.7")
        assert elsewhere.status_code == 404


class TestTrouble:
    @pytest.mark.parametrize("step", ["feed_of_secret", "publish_work", "note_served"])
    def test_it_is_told_and_never_answered_with_an_empty_calendar(
        self, fetch, monkeypatch, step
    ):
        def fail(*args, **kwargs):
            raise DatabaseError("the disk is full")

        monkeypatch.setattr(views, step, fail)
        answer = fetch()
        assert (answer.status_code, answer["Retry-After"]) == (503, "300")
        assert b"VCALENDAR" not in answer.content
        assert answer["Referrer-Policy"] == "no-referrer"


class TestPlaceholder:
    def test_a_new_calendar_shows_that_it_works_until_there_is_something(
        self, client, keeper, stand, now
    ):
        _, secret = open_feed(user=keeper, by=keeper)
        address = f"/calendar/{secret}.ics"
        first = client.get(address).content
        [event] = read(first).parts
        assert event.text("SUMMARY") == "Connected; nothing planned yet"
        assert (event["DTSTART"], event["DTEND"]) == ("20250120", "20250121")
        now.move_to(make.NOON + 3 * DAY)
        assert client.get(address).content == first
        stand("N1-01f")
        assert b"Connected" not in client.get(address).content


class TestLogs:
    @pytest.mark.parametrize("is_known", [True, False])
    @pytest.mark.parametrize("trouble", [None, DatabaseError, RuntimeError])
    def test_the_marked_secret_is_in_no_log(
        self, client, keeper, caplog, monkeypatch, is_known, trouble
    ):
        caplog.set_level(logging.DEBUG)
        if is_known:
            feed, _ = open_feed(user=keeper, by=keeper)
            feed.token_hash = views.hashlib.sha256(MARKED.encode()).hexdigest()
            feed.save()
        if trouble:

            def fail(*args, **kwargs):
                raise trouble("trouble")

            monkeypatch.setattr(views, "feed_of_secret", fail)
        client.raise_request_exception = False
        client.get(f"/calendar/{MARKED}.ics")
        client.post(f"/calendar/{MARKED}.ics")
        client.get(f"/calendar/{MARKED}.ics/")
        client.get(f"/calendar/{MARKED}")
        assert any("/calendar/…" in message for message in caplog.messages)
        assert MARKED not in caplog.text
        for record in caplog.records:
            assert MARKED not in repr(vars(record))


def test_one_fetch_takes_few_statements_whatever_there_is(
    fetch, long_frame, noa, django_assert_max_num_queries
):
    bench = make.bench(frame=long_frame, name="S1", columns=6, rows=3)
    first, *others = bench.modules.all()

    def taken_care_of(module):
        tree = make.tree(owner=noa)
        make.placement(tree=tree, modules=[module])
        make.stay(tree=tree)
        make.flag(tree=tree, frame=long_frame)

    taken_care_of(first)
    fetch()
    with django_assert_max_num_queries(40) as taken:
        fetch()
        few = len(taken)
    for module in others:
        taken_care_of(module)
    fetch()
    with django_assert_max_num_queries(few):
        fetch()
