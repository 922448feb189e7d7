"""A real mosquitto on a free port, and the bridge as a process of its own."""

import logging
import os
import queue
import shutil
import signal
import socket
import subprocess
import sys
import threading
from collections.abc import Callable, Iterator
from datetime import UTC, datetime
from pathlib import Path

import pytest
from django.conf import settings
from django.db import connection
from paho.mqtt.client import CallbackAPIVersion, Client

from tests import make
from wintering.api.mqtt import Reader
from wintering.api.mqtt_address import Broker, Topics
from wintering.api.mqtt_batches import Batches, Counts
from wintering.api.mqtt_bridge import Bridge
from wintering.climate.services.heard import bridge_of, last_heard
from wintering.frames.models import Frame
from wintering.startup.broker import find_broker

SLUG = "cold-frame"
LONG_S = 20  # given up only when something is broken
ROOT = Path(__file__).parents[2]
# As root it would turn into a user who may not write to the folder; others stay.
CONFIG = """\
user root
listener {port} 127.0.0.1
{who}
persistence true
persistence_location {folder}/
autosave_interval 0
max_queued_messages 100000
max_inflight_messages 100
log_type error
log_type information
"""


class Words:
    """What is said, line by line, to be waited for; None ends it."""

    def __init__(self) -> None:
        self.seen: list[str] = []
        self.said: queue.Queue[str | None] = queue.Queue()

    def wait_for(self, words: str) -> str:
        """The next line with these words; the test fails where none comes."""
        while (line := self.said.get(timeout=LONG_S)) is not None:
            self.seen.append(line)
            if words in line:
                return line
        pytest.fail(f"ended without saying '{words}':\n{''.join(self.seen)}")

    def rest(self) -> str:
        """All that was said until the end."""
        while (line := self.said.get(timeout=LONG_S)) is not None:
            self.seen.append(line)
        return "".join(self.seen)


class Running(Words):
    """A process, and what it says on stderr."""

    def __init__(self, *command: str, **environ: str) -> None:
        super().__init__()
        self.process = subprocess.Popen(
            command,
            cwd=ROOT,
            env={**os.environ, **environ},
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
        )
        self._thread = threading.Thread(target=self._read, daemon=True)
        self._thread.start()

    def _read(self) -> None:
        assert self.process.stderr is not None
        for line in self.process.stderr:
            self.said.put(line)
        self.said.put(None)

    def end(self) -> tuple[int, str]:
        """Ask it to end; its exit code and what it wrote on stdout."""
        self.process.send_signal(signal.SIGTERM)
        assert self.process.stdout is not None
        return self.process.wait(LONG_S), self.process.stdout.read()

    def close(self) -> None:
        if self.process.poll() is None:
            self.process.kill()
        self.process.wait(LONG_S)
        self._thread.join(LONG_S)
        for pipe in (self.process.stdout, self.process.stderr):
            if pipe:
                pipe.close()


class Listening(Words):
    """A bridge in a thread of this process, and what it logs."""

    def __init__(self, port: int, topics: list[str], **broker: str) -> None:
        super().__init__()
        self.counts = Counts()
        self._frame = Frame.objects.get(slug=SLUG)
        self._topics = [Topics.parse(topic) for topic in topics]
        self._bridge = Bridge(
            broker=Broker("127.0.0.1", port, is_tls=False, **broker),
            topics=self._topics,
            client_id="wintering-tests",
            heard_at=last_heard(self._frame, "MQTT"),
        )
        self._handler = logging.Handler()
        self._handler.emit = lambda record: self.said.put(record.getMessage())
        self._log = logging.getLogger("wintering.api")
        self._log.addHandler(self._handler)
        self._log.setLevel(logging.DEBUG)
        self._thread = threading.Thread(target=self._run, daemon=True)
        self._thread.start()

    def _run(self) -> None:
        try:
            self._bridge.run(self._begin)
        finally:
            connection.close()
            self.said.put(None)

    def _begin(self) -> Batches:
        return Batches(
            logger=bridge_of(frame=self._frame, name="MQTT", at=datetime.now(UTC)),
            reader=Reader(self._topics),
            acknowledge=self._bridge.acknowledge,
            counts=self.counts,
        )

    def end(self) -> Counts:
        """Ask it to end; what became of the messages."""
        self._bridge.stop()
        self._thread.join(LONG_S)
        assert not self._thread.is_alive(), "the bridge does not end"
        self._log.removeHandler(self._handler)
        self._log.setLevel(logging.NOTSET)
        return self.counts


class Mosquitto:
    """A broker that can be stopped and started again with what it keeps."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        with socket.socket() as free:
            free.bind(("127.0.0.1", 0))
            self.port = free.getsockname()[1]
        self._config = folder / "mosquitto.conf"
        self._write(who="allow_anonymous true")
        self._running: Running | None = None

    def _write(self, *, who: str) -> None:
        self._config.write_text(
            CONFIG.format(port=self.port, folder=self.folder, who=who)
        )

    def ask_for_password(self, user: str, password: str) -> None:
        """From now on let in only this user."""
        passwords = self.folder / "passwords"
        tool = shutil.which("mosquitto_passwd")
        assert tool, "it comes with mosquitto"
        subprocess.run([tool, "-b", "-c", passwords, user, password], check=True)
        self._write(who=f"allow_anonymous false\npassword_file {passwords}")
        self.stop()
        self.start()

    def start(self) -> None:
        found = find_broker()
        assert found, "python3 manage.py test provides mosquitto or leaves these out"
        self._running = Running(found, "-c", str(self._config))
        self._running.wait_for("running")

    def stop(self) -> None:
        assert self._running is not None
        self._running.end()
        self._running.close()

    def close(self) -> None:
        if self._running:
            self._running.close()

    def publish(self, messages: list[tuple[str, str]], *, retain: bool = False) -> None:
        """Hand over messages at QoS 1, until the broker has them all."""
        client = Client(CallbackAPIVersion.VERSION2)
        client.max_inflight_messages_set(1000)
        left = len(messages)
        done = threading.Event()

        def on_publish(*_: object) -> None:
            nonlocal left
            left -= 1
            if not left:
                done.set()

        client.on_publish = on_publish
        client.connect("127.0.0.1", self.port)
        client.loop_start()
        for topic, payload in messages:
            client.publish(topic, payload, qos=1, retain=retain)
        assert done.wait(LONG_S), f"{left} messages are not with the broker"
        client.disconnect()
        client.loop_stop()


@pytest.fixture
def mosquitto(tmp_path: Path) -> Iterator[Mosquitto]:
    broker = Mosquitto(tmp_path)
    broker.start()
    yield broker
    broker.close()


@pytest.fixture
def frame(transactional_db: None) -> Frame:
    return make.frame(slug=SLUG)


@pytest.fixture
def listen(mosquitto: Mosquitto, frame: Frame) -> Iterator[Callable[..., Listening]]:
    """Starts a bridge in this process."""
    started: list[Listening] = []

    def start(*topics: str, **broker: str) -> Listening:
        started.append(Listening(mosquitto.port, [*topics], **broker))
        return started[-1]

    yield start
    for one in started:
        one.end()


@pytest.fixture
def command(mosquitto: Mosquitto, frame: Frame) -> Iterator[Callable[..., Running]]:
    """Starts the command as its own process, on the tests' own database."""
    started: list[Running] = []
    known = {
        "DATABASE_URL": database_url(),
        "WINTERING_DATA": str(settings.DATA_DIR),
        "WINTERING_NO_VENV": "1",
        "WINTERING_LOG_LEVEL": "DEBUG",
    }

    def start(*words: str, user: str = "", **environ: str) -> Running:
        broker = f"mqtt://{user}127.0.0.1:{mosquitto.port}"
        words = ("--broker", broker, "--frame", SLUG, "--topic", "frame/#", *words)
        asked = (sys.executable, "manage.py", "mqtt", *words)
        started.append(Running(*asked, **known, **environ))
        return started[-1]

    yield start
    for one in started:
        one.close()


def database_url() -> str:
    told = connection.settings_dict
    if connection.vendor == "sqlite":
        return f"sqlite:///{told['NAME']}"
    user, word = told["USER"], told["PASSWORD"]
    host, port = told["HOST"], told["PORT"] or 5432
    return f"postgres://{user}:{word}@{host}:{port}/{told['NAME']}"
