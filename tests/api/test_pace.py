"""How quickly loggers may post, what a post costs, and two of them at once."""

import json
import threading
from datetime import timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from tests import make
from tests.api.conftest import ADDRESS, NOW, new_sender, reading, turn_begins
from wintering.api import readings as endpoint
from wintering.api.pace import Pace
from wintering.climate.models import Sensor
from wintering.climate.services.arrivals import fold_arrivals


def plan_of(sql: str) -> str:
    """How the database goes about a question."""
    explain = "EXPLAIN QUERY PLAN"
    with connection.cursor() as cursor:
        if connection.vendor == "postgresql":
            # A table of one row it would read whole, whatever index there is.
            cursor.execute("SET LOCAL enable_seqscan = off")
            explain = "EXPLAIN"
        cursor.execute(f"{explain} {sql}")
        return str(cursor.fetchall())


class TestPace:
    def test_too_many_at_once_are_told_how_long_to_wait(self, sender, monkeypatch):
        clock = iter([0.0, 0.0, 0.0, 1.0])
        pace = Pace(1, 2, clock=lambda: next(clock))
        monkeypatch.setattr(endpoint, "pace", pace)
        assert sender.send(reading()).status_code == 200
        assert sender.send(reading()).status_code == 200
        answer = sender.send(reading())
        assert answer.status_code == 429
        assert answer["Retry-After"] == "1"
        assert answer.json()["detail"].endswith("send several readings in one post.")
        assert sender.send(reading()).status_code == 200

    def test_ten_a_second_are_borne_and_a_burst_of_fifty(self):
        assert (endpoint.POSTS_A_SECOND, endpoint.BURST) == (10, 50)

    def test_one_logger_does_not_slow_another(self):
        pace = Pace(1, 1, clock=lambda: 0.0)
        assert pace.wait_s(1) == 0
        assert pace.wait_s(1) == 1
        assert pace.wait_s(2) == 0

    def test_a_bucket_does_not_fill_beyond_its_brim(self):
        now = [0.0]
        pace = Pace(10, 3, clock=lambda: now[0])
        now[0] = 1_000.0
        assert [pace.wait_s(1) for _ in range(4)] == [0, 0, 0, pytest.approx(0.1)]


class TestCost:
    def test_a_post_that_waits_takes_two_questions_and_one_row(
        self, sender, time_machine, django_assert_num_queries
    ):
        begins = turn_begins(sender.logger)
        time_machine.move_to(begins, tick=False)
        sender.send(*[reading(sensor=f"S{n}") for n in range(20)])
        time_machine.move_to(begins + timedelta(seconds=1), tick=False)
        # Who it is, its channels, the row; the rest begins and ends the transaction.
        with django_assert_num_queries(5):
            sender.send(*[reading(2, minute=1, sensor=f"S{n}") for n in range(20)])

    def test_a_token_is_found_by_an_index(self, sender):
        with CaptureQueriesContext(connection) as asked:
            assert sender.send(reading()).status_code == 200
        [sql] = [q["sql"] for q in asked if "WHERE token_hash = " in q["sql"]]
        assert "logger_token_is_its_own" in plan_of(sql)

    def test_no_session_and_no_cookie(self, sender):
        answer = sender.send(reading())
        assert not answer.cookies
        assert "Cookie" not in answer.get("Vary", "")

    def test_a_page_is_still_guarded_against_forged_forms(self, db):
        # The exemption is the endpoint's alone.
        browser = type(new_sender().browser)(enforce_csrf_checks=True)
        browser.force_login(make.keeper())
        assert browser.post("/climate/loggers/add/", {}).status_code == 403
        assert browser.post(ADDRESS, {}).status_code == 401


@pytest.mark.django_db(transaction=True)
def test_two_posts_at_once_are_both_kept_and_numbered_apart():
    sender = new_sender()
    start, answers = threading.Barrier(2), []

    def send(number):
        start.wait()
        try:
            for minute in range(5):
                one = reading(number, minute=10 * minute + number)
                answers.append(sender.send(one).status_code)
        finally:
            connection.close()

    threads = [threading.Thread(target=send, args=[n]) for n in (1, 2)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert answers == [200] * 10
    fold_arrivals(at=NOW + timedelta(days=1))
    assert Sensor.objects.get().days.get().count == 10
    assert sender.logger.log_imports.get().rows == 10


class TestDocument:
    def test_is_open_and_names_every_answer(self, client, db):
        answer = client.get("/api/openapi.json")
        assert answer.status_code == 200
        operation = answer.json()["paths"]["/api/readings"]["post"]
        told = set(operation["responses"])
        assert told >= {"200", "400", "401", "413", "415", "422", "429", "503"}
        assert set(operation["requestBody"]["content"]) == set(endpoint.PARSERS)

    def test_its_examples_are_taken(self, client, sender):
        document = client.get("/api/openapi.json").json()
        bodies = document["paths"]["/api/readings"]["post"]["requestBody"]["content"]
        told = bodies["application/json"]["schema"]["properties"]["readings"]["items"]
        one = {
            name: how.get("examples", how.get("enum"))[0]
            for name, how in told["properties"].items()
        }
        assert sender.send(one).status_code == 200
        for kind in ("text/csv", "application/senml+json"):
            [example] = bodies[kind]["schema"]["examples"]
            body = example if isinstance(example, str) else json.dumps(example)
            assert sender.post(body, kind).status_code == 200
