"""Two hundred loggers that each post once a second, against `serve` in a process.

It measures nothing but answers: how many were not 200, and how long they took, from
the first byte sent to the last byte read, over connections that are kept open.
"""

import asyncio
import json
import os
import signal
import socket
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path

from tests.bench.measures import Measure

ROOT = Path(__file__).parent.parent.parent
LOGGERS, SECONDS = 200, 300

_SET_UP = """
import sys
import django
django.setup()
from django.core.management import call_command
from django.utils import timezone
from tests import make
from wintering.climate.services.loggers import add_logger
call_command("migrate", verbosity=0)
keeper, frame = make.keeper(), make.frame()
for number in range(int(sys.argv[1])):
    name = f"L{number:03d}"
    print(add_logger(frame=frame, name=name, by=keeper, at=timezone.now())[1])
"""


P99_S = 0.250


def posting_measures() -> Iterator[Measure]:
    """Five minutes of loggers that post once a second."""
    told = loggers_posting()
    what = f"{LOGGERS} loggers that post once a second for {SECONDS} s"
    yield Measure(f"answers other than 200, {what}", count=int(told["errors"]))
    yield Measure(f"99th percentile of {what}", told["p99"] / 1000, limit_s=P99_S)
    yield Measure(f"median of {what}", told["p50"] / 1000)


def loggers_posting(
    seconds: int = SECONDS, loggers: int = LOGGERS
) -> dict[str, float | int]:
    """Answers that were not 200, and times of all the others in ms."""
    with _on_all_cores(), tempfile.TemporaryDirectory() as folder:
        env = os.environ | {"WINTERING_DATA": folder, "PYTHONPATH": str(ROOT)}
        env.pop("DATABASE_URL", None)
        tokens = subprocess.run(
            [sys.executable, "-c", _SET_UP, str(loggers)],
            env=env | {"DJANGO_SETTINGS_MODULE": "wintering.settings"},
            cwd=ROOT,
            check=True,
            capture_output=True,
            text=True,
        ).stdout.split()
        with _served(env) as port:
            posting = subprocess.run(
                [sys.executable, "-m", "tests.bench.posting", str(port), str(seconds)],
                cwd=ROOT,
                input="\n".join(tokens),
                check=True,
                capture_output=True,
                text=True,
            )
        return json.loads(posting.stdout)


@contextmanager
def _on_all_cores() -> Iterator[None]:
    """Processes inherit the cores that the rest of the bench keeps to."""
    if not hasattr(os, "sched_setaffinity"):
        yield
        return
    before = os.sched_getaffinity(0)
    os.sched_setaffinity(0, range(os.cpu_count() or 1))
    try:
        yield
    finally:
        os.sched_setaffinity(0, before)


@contextmanager
def _served(env: dict[str, str]) -> Iterator[int]:
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    serving = subprocess.Popen(
        [sys.executable, "manage.py", "serve", "--port", str(port)],
        env=env | {"WINTERING_NO_VENV": "yes"},
        cwd=ROOT,
        stdout=subprocess.DEVNULL,
    )
    try:
        _wait_for(port)
        yield port
    finally:
        serving.send_signal(signal.SIGINT)
        serving.wait(60)


def _wait_for(port: int) -> None:
    for _ in range(300):
        try:
            socket.create_connection(("127.0.0.1", port), 1).close()
        except OSError:
            time.sleep(0.1)
        else:
            return
    raise RuntimeError("The pages were not served within half a minute.")


async def _post_all(port: int, tokens: list[str], seconds: int) -> dict:
    times: list[float] = []
    errors: list[str] = []
    for token in tokens:
        # Its first post, which makes its sensor, is behind each logger.
        await _post(port, token, time.monotonic(), 1, [], errors)
    start = time.monotonic() + 1
    await asyncio.gather(
        *(
            _post(port, token, start + n / len(tokens), seconds, times, errors)
            for n, token in enumerate(tokens)
        )
    )
    times.sort()
    return {
        "posts": len(times) + len(errors),
        "errors": len(errors),
        "first_errors": sorted(set(errors))[:5],
        "p50": times[len(times) // 2] * 1000,
        "p99": times[int(len(times) * 0.99)] * 1000,
        "max": times[-1] * 1000,
        "seconds": time.monotonic() - start,
    }


async def _post(
    port: int,
    token: str,
    start: float,
    seconds: int,
    times: list[float],
    errors: list[str],
) -> None:
    """One logger; a late answer puts off its next post, and is counted in full."""
    reader, writer = await asyncio.open_connection("127.0.0.1", port)
    for second in range(seconds):
        await asyncio.sleep(max(0, start + second - time.monotonic()))
        writer.write(_request(port, token, second))
        began = time.perf_counter()
        status = await _answer(reader)
        if status == 200:
            times.append(time.perf_counter() - began)
        else:
            errors.append(str(status))
    writer.close()


def _request(port: int, token: str, second: int) -> bytes:
    reading = {
        "sensor": f"T-{token[:8]}",
        "at": datetime.now(UTC).isoformat(timespec="seconds"),
        "value": round(2 + second % 40 / 16, 4),
        "unit": "Cel",
    }
    body = json.dumps({"readings": [reading]}).encode()
    head = (
        f"POST /api/readings HTTP/1.1\r\nHost: 127.0.0.1:{port}\r\n"
        f"Authorization: Bearer {token}\r\nContent-Type: application/json\r\n"
        f"Content-Length: {len(body)}\r\n\r\n"
    )
    return head.encode() + body


async def _answer(reader: asyncio.StreamReader) -> int:
    head = await reader.readuntil(b"\r\n\r\n")
    lines = head.decode("latin-1").split("\r\n")
    named = dict(line.lower().split(": ", 1) for line in lines[1:] if line)
    await reader.readexactly(int(named["content-length"]))
    return int(lines[0].split()[1])


if __name__ == "__main__":
    told = asyncio.run(
        _post_all(int(sys.argv[1]), sys.stdin.read().split(), int(sys.argv[2]))
    )
    sys.stdout.write(json.dumps(told))
