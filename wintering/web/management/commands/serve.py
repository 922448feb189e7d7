"""Serve the pages on this machine, and work in the background.

What quick loggers sent is folded into its days, and the frames are judged.
"""

import logging
import socket
import threading
from argparse import ArgumentParser
from collections.abc import Callable
from datetime import datetime
from typing import Any

import waitress
from django.core.management.base import BaseCommand, CommandError
from django.db import close_old_connections, connection
from django.db.migrations.executor import MigrationExecutor
from django.utils import timezone

from wintering.climate.services.arrivals import FOLD_EVERY, fold_arrivals
from wintering.forecast.services import judge_frames
from wintering.wsgi import application

logger = logging.getLogger(__name__)

# Loggers keep their connections open, and none is to wait for another to close its
# own; beyond about 500 the wait for any of them would need more than `select`.
CONNECTIONS = 500

JUDGE_EVERY_S = 15 * 60
# With what a post waits at most (FOLD_EVERY) no reading lags by more than a minute.
FOLD_EVERY_S = 10


class Command(BaseCommand):
    help = "Serve the pages on this machine and judge the frames every 15 minutes."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--port", type=int, default=8000)
        parser.add_argument(
            "--host",
            default="127.0.0.1",
            help="The address to listen at; 0.0.0.0 lets the whole network in.",
        )

    def handle(self, *, host: str, port: int, **options: Any) -> None:
        refuse_missing_migrations()
        server = waitress.create_server(
            application,
            sockets=[listening(host, port)],
            connection_limit=CONNECTIONS,
        )
        self.stdout.write(f"Serving at http://{host}:{port}/ - stop with Ctrl-C.")
        with_judging(server.run)
        server.close()


def listening(host: str, port: int) -> socket.socket:
    family = socket.AF_INET6 if ":" in host else socket.AF_INET
    try:
        return socket.create_server((host, port), family=family)
    except OSError as error:
        raise CommandError(
            f"{host}:{port} cannot be served ({error.strerror}): choose another "
            "with --port."
        ) from error


def refuse_missing_migrations() -> None:
    executor = MigrationExecutor(connection)
    if executor.migration_plan(executor.loader.graph.leaf_nodes()):
        raise CommandError(
            "The database does not have the newest tables: run "
            "'python3 manage.py migrate' first."
        )


def with_judging(serve: Callable[[], None]) -> None:
    """Serve, judging the frames and folding beside it for as long as it runs."""
    stop = threading.Event()
    beside = [
        threading.Thread(target=judge_until, args=[stop], name="judging"),
        threading.Thread(target=fold_until, args=[stop], name="folding"),
    ]
    for thread in beside:
        thread.start()
    try:
        serve()
    finally:
        stop.set()
        for thread in beside:
            thread.join()


def judge_until(stop: threading.Event, every_s: float = JUDGE_EVERY_S) -> None:
    _until(stop, judge_once, every_s)


def fold_until(stop: threading.Event, every_s: float = FOLD_EVERY_S) -> None:
    _until(stop, fold_once, every_s)


def _until(
    stop: threading.Event, work: Callable[[datetime], None], every_s: float
) -> None:
    while True:
        work(timezone.now())
        close_old_connections()
        if stop.wait(every_s):
            return


def judge_once(at: datetime) -> None:
    # Readings that cannot be folded are no reason to judge none of the others.
    _tried("folding", at, lambda: fold_arrivals(at=at))
    _tried("judging", at, lambda: judge_frames(at=at))


def fold_once(at: datetime) -> None:
    _tried("folding", at, lambda: fold_arrivals(at=at, waiting_for=FOLD_EVERY))


def _tried(what: str, at: datetime, work: Callable[[], object]) -> None:
    """The edge of a thread: the pages go on whatever its work meets.

    The whole trace is logged, nothing is lost, and the next time tries again.
    """
    try:
        work()
    except Exception:
        logger.exception("%s failed at %s; it is tried again", what, at)
