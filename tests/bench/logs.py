"""Logs into a database and out again, against the database's own shell in one run."""

import os
import resource
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path
from time import perf_counter
from urllib.parse import urlsplit

import numpy as np

from tests.bench.measures import Measure

SENSORS, MINUTES = 20, 250_000  # 5 million readings: a winter, and a little more
LARGE_BYTES = 2_000_000_000
LEAST_SHARE, MOST_MB, MOST_GROWTH = 0.5, 500, 1.2
ROOT = Path(__file__).resolve().parents[2]
BEGIN = np.datetime64("2024-10-01T00:00")
FRAME = "bench-frame"


def log_measures(*, large: bool) -> Iterator[Measure]:
    """Imports against the shell's; with `large` a file of 2 GB too."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        for form, write in (("long", write_long), ("wide", write_wide)):
            log = folder / f"{form}.csv"
            readings = write(log, MINUTES)
            shell_s = _shell_s(folder, folder / "long.csv")
            own_s, own_mb = _import_s(folder / form, log)
            what = f"import of {readings:,} readings, {form} form, against the shell's"
            yield Measure(
                f"{what} .import" if not _postgres() else f"{what} COPY",
                own_s,
                ratio=shell_s / own_s,
                least_ratio=LEAST_SHARE,
            )
            yield Measure(
                f"memory of the same, {form} form", mb=own_mb, limit_mb=MOST_MB
            )
        if large:
            yield from _of_a_large_file(folder, own_mb)


def _of_a_large_file(folder: Path, small_mb: float) -> Iterator[Measure]:
    log = folder / "large.csv"
    readings = write_wide(log, 14_000_000)
    assert log.stat().st_size > LARGE_BYTES, "as large as promised"
    large_s, large_mb = _import_s(folder / "large", log)
    yield Measure(f"import of {readings:,} readings, a file of 2 GB", large_s)
    yield Measure(
        f"memory of the same, beside {small_mb:.0f} MB for the small file",
        mb=large_mb,
        limit_mb=small_mb * MOST_GROWTH,
    )


def write_long(log: Path, minutes: int) -> int:
    """A row a reading: time, sensor, value."""
    names = [f"P{n + 1:02d}" for n in range(SENSORS)]
    with log.open("w", encoding="ascii") as file:
        file.write("at,sensor,value_c\n")
        for at, values in _rows(minutes):
            file.writelines(
                f"{at},{name},{value}\n"
                for name, value in zip(names, values, strict=True)
            )
    return minutes * SENSORS


def write_wide(log: Path, minutes: int) -> int:
    """A row a minute, a column a sensor."""
    with log.open("w", encoding="ascii") as file:
        names = ",".join(f"P{n + 1:02d}_c" for n in range(SENSORS))
        file.write(f"at,{names}\n")
        for at, values in _rows(minutes):
            file.write(f"{at},{','.join(values)}\n")
    return minutes * SENSORS


def _rows(minutes: int) -> Iterator[tuple[str, list[str]]]:
    rng = np.random.default_rng(4)
    for first in range(0, minutes, 10_000):
        count = min(10_000, minutes - first)
        at = BEGIN + np.arange(first, first + count)
        day = 4 * np.sin(np.arange(first, first + count) / 1440 * 2 * np.pi)
        c = 3 + day[:, None] + rng.normal(0, 0.05, (count, SENSORS))
        texts = np.char.mod("%.2f", c).tolist()
        for instant, values in zip(np.datetime_as_string(at), texts, strict=True):
            yield f"{instant}:00+00:00", values


def _postgres() -> str:
    url = os.environ.get("DATABASE_URL", "")
    return url if urlsplit(url).scheme.startswith("postgres") else ""


def _shell_s(folder: Path, log: Path) -> float:
    """How long the database's own shell takes for the rows into a bare table."""
    if not log.exists():
        write_long(log, MINUTES)
    table = (
        "create table bare(at text, sensor text, value_c real, primary key(sensor, at))"
    )
    if url := _postgres():
        words = ["psql", url, "-q", "-c", "drop table if exists bare", "-c", table]
        subprocess.run(words, check=True)
        copy = f"\\copy bare from '{log}' with (format csv, header)"
        return _seconds(["psql", url, "-q", "-c", copy])
    database = folder / "bare.db"
    database.unlink(missing_ok=True)
    subprocess.run(["sqlite3", database, f"{table} without rowid"], check=True)
    words = ["sqlite3", database, ".mode csv", f".import --skip 1 {log} bare"]
    return _seconds(words)


def _seconds(words: list[str | Path]) -> float:
    begin = perf_counter()
    subprocess.run(words, check=True, stdout=subprocess.DEVNULL)
    return perf_counter() - begin


def _import_s(data: Path, log: Path) -> tuple[float, float]:
    """How long the command takes, start-up and all, and the most memory it held."""
    env = {**os.environ, "WINTERING_DATA": str(data), "WINTERING_NO_VENV": "yes"}
    env["PYTHONPATH"] = str(ROOT)
    setup = (
        "import django; django.setup()\n"
        "from django.core.management import call_command\n"
        "call_command('migrate', verbosity=0)\n"
        "from tests import make\n"
        "from wintering.frames.models import Frame\n"
        f"Frame.objects.filter(slug='{FRAME}').exists() or make.frame(slug='{FRAME}')\n"
        "from wintering.climate.models import ReadingDay\n"
        "ReadingDay.objects.all().delete()\n"
    )
    env["DJANGO_SETTINGS_MODULE"] = "wintering.settings"
    subprocess.run([sys.executable, "-c", setup], check=True, env=env, cwd=ROOT)
    command = [sys.executable, "manage.py", "import_log", str(log), "--frame", FRAME]
    before = perf_counter()
    process = subprocess.Popen(command, env=env, cwd=ROOT, stdout=subprocess.DEVNULL)
    _, status, used = os.wait4(process.pid, 0)
    seconds = perf_counter() - before
    assert status == 0, "the import goes through"
    return seconds, _megabytes(used)


def _megabytes(used: resource.struct_rusage) -> float:
    kilobytes = used.ru_maxrss / 1024 if sys.platform == "darwin" else used.ru_maxrss
    return kilobytes / 1024
