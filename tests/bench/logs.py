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

from tests.bench.measures import Measure, best_s

SENSORS, MINUTES = 20, 250_000  # 5 million readings: a winter, and a little more
LARGE_BYTES, LARGE_MINUTES = 2_000_000_000, 15_600_000
LEAST_SHARE, MOST_MB, MOST_GROWTH, WINTER_S = 0.5, 500, 1.2, 0.050
ROOT = Path(__file__).resolve().parents[2]
BEGIN = np.datetime64("2024-10-01T00:00")
FRAME = "bench-frame"


def log_measures() -> Iterator[Measure]:
    """Imports of both forms against the shell's, and a winter into arrays."""
    shell = "COPY" if _postgres() else ".import"
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        long, wide = folder / "long.csv", folder / "wide.csv"
        readings = write_long(long, MINUTES)
        write_wide(wide, MINUTES)
        shell_s = _shell_s(folder, long)
        for form, log in (("long", long), ("wide", wide)):
            own_s, own_mb = _import_s(folder / form, log)
            what = f"import of {readings:,} readings, {form} form"
            yield Measure(
                f"{what}, against {shell_s * 1000:,.0f} ms of the shell's {shell} "
                "of the long form",
                own_s,
                ratio=shell_s / own_s,
                least_ratio=LEAST_SHARE,
            )
            yield Measure(f"memory of the {what}", mb=own_mb, limit_mb=MOST_MB)
        yield _winter_into_arrays(folder / "winter")


def large_measures() -> Iterator[Measure]:
    """A file of 2 GB beside one of a twentieth: memory must not grow with it."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        log = folder / "log.csv"
        write_wide(log, LARGE_MINUTES // 20)
        _, small_mb = _import_s(folder / "small", log)
        readings = write_wide(log, LARGE_MINUTES)
        size = log.stat().st_size
        assert size > LARGE_BYTES, "as large as promised"
        large_s, large_mb = _import_s(folder / "large", log)
        yield Measure(f"import of {readings:,} readings, {size:,} bytes", large_s)
        yield Measure(
            f"memory of the same, beside {small_mb:.0f} MB for a twentieth of the file",
            mb=large_mb,
            limit_mb=small_mb * MOST_GROWTH,
        )


def _winter_into_arrays(data: Path) -> Measure:
    """Twenty sensors, a reading every ten minutes from October to March."""
    script = "from tests.bench.logs import winter_s\nprint(winter_s())\n"
    told = _in_django(data, script)
    return Measure(
        f"a winter of {SENSORS} sensors at 10 minutes into NumPy",
        float(told.splitlines()[-1]),
        limit_s=WINTER_S,
    )


def winter_s() -> float:
    """The shortest of several readings; Django is set up and the database empty."""
    from tests import make
    from wintering.climate.queries import several_readings

    # Its own in a database that another measure has used too.
    frame = make.frame(name=f"winter {os.getpid()}", slug=f"winter-{os.getpid()}")
    count = 182 * 144
    seconds = int(BEGIN.astype("datetime64[s]").astype(int)) + 600 * np.arange(count)
    rng = np.random.default_rng(4)
    sensors = [make.sensor(frame=frame) for _ in range(SENSORS)]
    for sensor in sensors:
        c = 3 + 4 * np.sin(np.arange(count) / 144 * 2 * np.pi)
        noisy = np.round(c + rng.normal(0, 0.05, count), 2)
        make.store(sensor, seconds, np.round(noisy * 1000))
    return best_s(lambda: several_readings(sensors), 7)


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
    _in_django(
        data,
        "from tests import make\n"
        "from wintering.frames.models import Frame\n"
        "from wintering.climate.models import ReadingDay\n"
        f"Frame.objects.filter(slug='{FRAME}').exists() or make.frame(slug='{FRAME}')\n"
        "ReadingDay.objects.all().delete()\n",
    )
    command = [sys.executable, "manage.py", "import_log", str(log), "--frame", FRAME]
    begin = perf_counter()
    process = subprocess.Popen(
        command, env=_env(data), cwd=ROOT, stdout=subprocess.DEVNULL
    )
    _, status, used = os.wait4(process.pid, 0)
    seconds = perf_counter() - begin
    assert status == 0, "the import goes through"
    return seconds, _megabytes(used)


def _in_django(data: Path, script: str) -> str:
    """What a script prints that runs in a process and a data folder of its own."""
    setup = (
        "import django; django.setup()\n"
        "from django.core.management import call_command\n"
        "call_command('migrate', verbosity=0)\n"
    )
    told = subprocess.run(
        [sys.executable, "-c", setup + script],
        check=True,
        env=_env(data),
        cwd=ROOT,
        stdout=subprocess.PIPE,
        text=True,
    )
    return told.stdout


def _env(data: Path) -> dict[str, str]:
    return os.environ | {
        "WINTERING_DATA": str(data),
        "WINTERING_NO_VENV": "yes",
        "PYTHONPATH": str(ROOT),
        "DJANGO_SETTINGS_MODULE": "wintering.settings",
    }


def _megabytes(used: resource.struct_rusage) -> float:
    kilobytes = used.ru_maxrss / 1024 if sys.platform == "darwin" else used.ru_maxrss
    return kilobytes / 1024
