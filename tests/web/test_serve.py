"""Serving: refuses an old database, judges beside the pages, stops with them."""

import logging
import socket
import threading
from datetime import datetime

import pytest
from django.core.management import call_command
from django.core.management.base import CommandError
from django.db.migrations.executor import MigrationExecutor

from tests import make
from tests.make import NOON
from wintering.forecast.queries import last_judged_at
from wintering.web.management.commands import serve


@pytest.fixture
def judged(monkeypatch) -> list[datetime]:
    """The instants at which the frames were judged."""
    at_times: list[datetime] = []
    monkeypatch.setattr(serve, "judge_frames", lambda *, at: at_times.append(at))
    return at_times


def test_a_database_without_the_newest_tables_is_refused(db, monkeypatch):
    monkeypatch.setattr(
        MigrationExecutor, "migration_plan", lambda *_: [("0002_later", False)]
    )
    with pytest.raises(CommandError, match=r"run 'python3 manage.py migrate' first"):
        call_command("serve", port=0)


def test_a_database_that_is_up_to_date_is_served(db):
    serve.refuse_missing_migrations()


def test_a_port_in_use_is_refused_with_what_to_do(db):
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        port = taken.getsockname()[1]
        with pytest.raises(CommandError, match="choose another with --port"):
            call_command("serve", port=port)


def test_frames_are_judged_while_the_pages_are_served(judged):
    was_judged = threading.Event()

    def pages():
        for _ in range(200):
            if judged:
                was_judged.set()
                return
            was_judged.wait(0.02)

    serve.with_judging(pages)
    assert was_judged.is_set()
    assert "judging" not in [thread.name for thread in threading.enumerate()]


def test_judging_stops_when_serving_fails(judged):
    def pages():
        raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        serve.with_judging(pages)
    assert "judging" not in [thread.name for thread in threading.enumerate()]


def test_judging_goes_on_until_it_is_stopped(db, judged):
    class ThreeTimes(threading.Event):
        def wait(self, timeout=None):
            assert timeout == 900
            return len(judged) == 3

    serve.judge_until(ThreeTimes())
    assert len(judged) == 3


def test_a_judging_that_fails_is_logged_and_stops_nothing(monkeypatch, caplog):
    def fails(*, at):
        raise RuntimeError("a sensor of no frame")

    monkeypatch.setattr(serve, "judge_frames", fails)
    with caplog.at_level(logging.ERROR):
        serve.judge_once(NOON)
    assert "could not be judged at 2025-01-20" in caplog.text
    assert "a sensor of no frame" in caplog.text


def test_the_loop_judges_the_real_frames(db, caplog):
    make.frame()
    assert last_judged_at() is None
    serve.judge_once(NOON)
    assert last_judged_at() == NOON
    assert not caplog.records
