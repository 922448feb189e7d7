"""An import that is killed at any moment leaves everything or nothing.

The command runs in processes of its own on a database file of its own, and is killed
without warning at fifty moments spread over the time that it takes.
"""

import gzip
import os
import random
import selectors
import shutil
import signal
import sqlite3
import subprocess
import sys
import time
from contextlib import closing
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
KILLS = 50
ROWS, SENSORS = 6000, 3
VALUES = ROWS * SENSORS
PATIENCE_S = 120  # for a process that hangs; none is waited for so long


class Imports:
    """The process that runs imports, and what lies in its data folder."""

    def __init__(self, folder: Path, log: Path) -> None:
        self.data, self.log = folder / "data", log
        self.process = subprocess.Popen(
            [sys.executable, "-m", "tests.ingest.imports_to_kill", str(log)],
            cwd=ROOT,
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            env={
                **{k: v for k, v in os.environ.items() if k != "DATABASE_URL"},
                "DJANGO_SETTINGS_MODULE": "wintering.settings",
                "WINTERING_DATA": str(self.data),
            },
        )
        self._ears = selectors.DefaultSelector()
        self._ears.register(self.process.stdout, selectors.EVENT_READ)
        assert self.line() == "ready"
        self.empty = folder / "empty.db"
        with closing(sqlite3.connect(self.database)) as full:
            full.execute("PRAGMA wal_checkpoint(TRUNCATE)")
        shutil.copy(self.database, self.empty)

    @property
    def database(self) -> Path:
        return self.data / "wintering.db"

    def close(self) -> None:
        self._ears.close()
        with self.process:  # closes its pipes, and waits until it has ended
            self.process.stdin.close()

    def line(self) -> str:
        assert self._ears.select(PATIENCE_S), "the process that runs imports is silent"
        return self.process.stdout.readline().decode().strip()

    def run(self, kill_after_s: float | None = None) -> tuple[int, float]:
        """One import, killed if it runs for so long; its exit status and its time."""
        begin = time.perf_counter()
        self.process.stdin.write(b"go\n")
        self.process.stdin.flush()
        child = int(self.line())
        if kill_after_s is not None and not self._ears.select(kill_after_s):
            os.kill(child, signal.SIGKILL)
        return int(self.line()), time.perf_counter() - begin

    def stored(self) -> tuple[int, int, int, int]:
        """Readings, sensors, imports, and events of what is in the database."""
        with closing(sqlite3.connect(self.database)) as database:
            return tuple(
                database.execute(f"select {what}").fetchone()[0]
                for what in (
                    "coalesce(sum(count), 0) from climate_readingday",
                    "count(*) from climate_sensor",
                    "count(*) from climate_logimport where report != '{}'",
                    "count(*) from people_event where verb = 'imported'",
                )
            )

    def files(self) -> list[Path]:
        folder = self.data / "files"
        return [path for path in folder.rglob("*") if path.is_file()]

    def begin_anew(self) -> None:
        for path in (*self.data.glob("wintering.db*"), *self.files()):
            path.unlink()
        shutil.copy(self.empty, self.database)

    def is_kept_whole(self) -> bool:
        (kept,) = self.files()
        return gzip.decompress(kept.read_bytes()) == self.log.read_bytes()


@pytest.fixture
def imports(tmp_path):
    log = tmp_path / "log.csv"
    rows = (
        f"2024-11-{i // 1440 + 1:02}T{i // 60 % 24:02}:{i % 60:02}Z,"
        + ",".join(f"{(i * 7 + s) % 90 / 10}" for s in range(SENSORS))
        for i in range(ROWS)
    )
    log.write_text("\n".join(["time,a_c,b_c,c_c", *rows, ""]))
    imports = Imports(tmp_path, log)
    yield imports
    imports.close()


NOTHING, EVERYTHING = (0, 0, 0, 0), (VALUES, SENSORS, 1, 1)


def test_killed_at_fifty_moments_it_leaves_all_or_nothing(imports):
    assert imports.run()[0] == 0
    imports.begin_anew()
    status, whole_s = imports.run()
    assert (status, imports.stored()) == (0, EVERYTHING)
    assert imports.is_kept_whole()
    moments = random.Random(20241130)
    killed = tried = 0
    while killed < KILLS:
        tried += 1
        assert tried <= 3 * KILLS, "most imports ended before they were killed"
        imports.begin_anew()
        # Spread evenly, each at random within its share of the time.
        moment_s = (killed + moments.random()) / KILLS * whole_s
        status, took_s = imports.run(moment_s)
        if status == -signal.SIGKILL:
            killed += 1
        else:  # quicker than the first, which a busy machine may have slowed
            whole_s = min(whole_s, took_s)
        found = imports.stored()
        assert found in {NOTHING, EVERYTHING}
        if found == EVERYTHING:
            assert imports.is_kept_whole()
        if killed % 5 == 0 or found == EVERYTHING:
            # Once more: what was missing is there, and what the other left is gone.
            assert imports.run()[0] == 0
            assert imports.stored() == EVERYTHING
            assert imports.is_kept_whole()
