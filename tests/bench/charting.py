"""Charts of any range out of 50 million readings: 20 sensors, a reading a minute."""

import json
import os
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import numpy as np

from tests.bench.measures import Measure, best_s

ROOT = Path(__file__).resolve().parents[2]
SENSORS, DAYS, WIDTH_PX = 20, 1736, 1100
FIRST = date(2020, 8, 1)
RANGES = {
    "2 hours": 2 / 24,
    "a day": 1,
    "a week": 7,
    "18 days": 18,
    "a month": 30,
    "a winter": 180,
    "a year": 365,
    "all of it": DAYS,
}
CHART_S = 0.150


def chart_measures() -> Iterator[Measure]:
    """The whole answer to a browser, for each range, on a database of its own."""
    with tempfile.TemporaryDirectory() as folder:
        told = subprocess.run(
            [sys.executable, "-m", "tests.bench.charting"],
            env=os.environ
            | {
                "WINTERING_DATA": folder,
                "DJANGO_SETTINGS_MODULE": "wintering.settings",
                "PYTHONPATH": str(ROOT),
            },
            cwd=ROOT,
            check=True,
            capture_output=True,
            text=True,
        )
    readings = SENSORS * DAYS * 1440
    for name, seconds in json.loads(told.stdout).items():
        yield Measure(
            f"chart of {SENSORS} sensors over {name}, of {readings:,} readings",
            seconds,
            limit_s=CHART_S,
        )


def measured() -> dict[str, float]:
    """Best of several answers by range; Django is set up and the database empty."""
    from django.core.management import call_command
    from django.test import Client

    from tests import make

    call_command("migrate", verbosity=0)
    frame = make.frame(latitude_deg=45, longitude_deg=-93)
    part = make.microclimate(frame=frame)
    sensors = [make.sensor(microclimate=part) for _ in range(SENSORS)]
    for number, sensor in enumerate(sensors):
        fill(sensor, number)
    browser = Client(headers={"host": "localhost"})
    browser.force_login(make.keeper())
    end = int(datetime(FIRST.year, FIRST.month, FIRST.day, tzinfo=UTC).timestamp())
    end += DAYS * 86_400
    asked = {"sensors": ",".join(str(s.pk) for s in sensors), "width": WIDTH_PX}

    def answer(days: float) -> None:
        stretch = {"start": end - round(days * 86_400), "end": end}
        found = browser.get("/climate/chart.json", asked | stretch)
        assert found.status_code == 200, found.content

    return {name: best_s(lambda d=days: answer(d), 5) for name, days in RANGES.items()}


def fill(sensor: object, seed: int) -> None:
    """Days as an import leaves them, but for where each reading came from."""
    from wintering.climate.models import ReadingDay
    from wintering.climate.storage import Readings, pack, pack_hours, start_of

    rng = np.random.default_rng(seed)
    night = 3 * np.sin((np.arange(1440) - 540) / 229)
    rows = []
    for number in range(DAYS):
        day = FIRST + timedelta(days=number)
        c = night + rng.normal(3, 3) + rng.normal(0, 0.05, 1440)
        seconds = start_of(day) + 60 * np.arange(1440, dtype=np.int64)
        thousandths = np.round(c * 100).astype(np.int32) * 10
        readings = Readings(seconds, thousandths, np.zeros(1440, np.uint8))
        first, last = (
            datetime.fromtimestamp(int(s), UTC) for s in (seconds[0], seconds[-1])
        )
        rows.append(
            ReadingDay(
                sensor=sensor,
                day=day,
                count=1440,
                low=int(thousandths.min()),
                high=int(thousandths.max()),
                first_at=first,
                last_at=last,
                packed=pack(day, readings),
                hours=pack_hours(day, readings),
            )
        )
    ReadingDay.objects.bulk_create(rows, batch_size=200)


if __name__ == "__main__":
    import django

    django.setup()
    sys.stdout.write(json.dumps(measured()))
