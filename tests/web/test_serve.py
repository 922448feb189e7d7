"""Serving: refuses an old database, judges beside the pages, stops with them."""

import logging
import socket
import threading
from datetime import datetime, timedelta

import pytest
from django.core.management import call_command
from django.core.management.base import CommandError
from django.db.migrations.executor import MigrationExecutor

from tests import make
from tests.make import NOON
from wintering.forecast.queries import last_judged_at
from wintering.web.management.commands import serve


@pytest.fixture
def folded(monkeypatch) -> list[dict]:
    """What was asked for at each folding of what loggers sent."""
    asked: list[dict] = []
    monkeypatch.setattr(serve, "fold_arrivals", lambda **how: asked.append(how))
    return asked


@pytest.fixture
def judged(monkeypatch, folded) -> list[datetime]:
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
    assert not {"judging", "folding"} & {one.name for one in threading.enumerate()}


def test_judging_stops_when_serving_fails(judged):
    def pages():
        raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        serve.with_judging(pages)
    assert not {"judging", "folding"} & {one.name for one in threading.enumerate()}


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

    monkeypatch.setattr(serve, "fold_arrivals", lambda *, at: None)
    monkeypatch.setattr(serve, "judge_frames", fails)
    with caplog.at_level(logging.ERROR):
        serve.judge_once(NOON)
    assert "judging failed at 2025-01-20" in caplog.text
    assert "a sensor of no frame" in caplog.text


def test_the_loop_judges_the_real_frames(db, caplog):
    make.frame()
    assert last_judged_at() is None
    serve.judge_once(NOON)
    assert last_judged_at() == NOON
    assert not caplog.records


def test_what_loggers_sent_is_folded_before_the_frames_are_judged(db, monkeypatch):
    done = []
    monkeypatch.setattr(serve, "fold_arrivals", lambda *, at: done.append("folded"))
    monkeypatch.setattr(serve, "judge_frames", lambda *, at: done.append("judged"))
    serve.judge_once(NOON)
    assert done == ["folded", "judged"]


def test_what_has_waited_long_is_folded_every_ten_seconds(db, folded):
    class Twice(threading.Event):
        def wait(self, timeout=None):
            assert timeout == 10
            return len(folded) == 2

    serve.fold_until(Twice())
    waits = {how["waiting_for"].total_seconds() for how in folded}
    assert waits == {50}, "with ten seconds between, no reading lags by over a minute"


def test_a_folding_that_fails_is_logged_and_stops_nothing(monkeypatch, caplog):
    def fails(**how):
        raise RuntimeError("a channel of no sensor")

    monkeypatch.setattr(serve, "fold_arrivals", fails)
    with caplog.at_level(logging.ERROR):
        serve.fold_once(NOON)
    assert "folding failed at 2025-01-20" in caplog.text


def test_readings_that_cannot_be_folded_keep_no_frame_from_being_judged(
    db, monkeypatch, caplog
):
    def fails(**how):
        raise RuntimeError("a channel of no sensor")

    monkeypatch.setattr(serve, "fold_arrivals", fails)
    make.frame()
    serve.judge_once(NOON)
    assert last_judged_at() == NOON
    assert "a channel of no sensor" in caplog.text


def test_a_logger_that_fell_silent_is_folded_beside_the_pages(db):
    sensor = make.sensor()
    logger = make.logger(frame=sensor.frame, heard_at=NOON)
    channel = logger.channels.create(name="S", sensor=sensor)
    reading = [channel.pk, int(NOON.timestamp()), 1_500]
    logger.arrivals.create(at=NOON, readings=[reading])
    serve.fold_once(NOON + timedelta(seconds=49))
    assert sensor.days.count() == 0
    serve.fold_once(NOON + timedelta(seconds=50))
    assert sensor.days.get().count == 1
    assert logger.arrivals.count() == 0
