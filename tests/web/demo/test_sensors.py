"""What the demo says of its sensors, and the log files that fit it."""

import csv
import json
from datetime import UTC, datetime, timedelta, timezone
from pathlib import Path

import pytest

from wintering.climate.models import Sensor, SensorCheck
from wintering.climate.queries import extremes, readings
from wintering.climate.queries.min_max import last_by_hand, min_max_entries
from wintering.web.demo.loader import load_demo
from wintering.web.demo.log_files import log_files
from wintering.web.demo.story import Story

WINTER = Path(__file__).parents[3] / "fixtures" / "demo_winter.json"
NOW = datetime(2025, 1, 21, 23, 0, tzinfo=UTC)
TOLD = json.loads(WINTER.read_text(encoding="utf-8"))


def test_loggers_write_what_they_show_offset_and_all():
    files = log_files(
        TOLD["files"],
        shift=timedelta(0),
        now=NOW.astimezone(timezone(timedelta(hours=-5))),
        offsets_k=TOLD["ice_checks"]["offsets_k"],
    )
    text = next(one.text for one in files if "air-and-roots" in one.name)
    coldest = next(
        row
        for row in csv.reader(text.splitlines())
        if row[0].startswith("2025-01-21T08:00")
    )
    # A1 shows 0.1 K too little, R1 0.3 K too much.
    assert (coldest[1], coldest[3]) == ("-8.1", "-2.6")


@pytest.fixture
def demo(db, settings, tmp_path, time_machine):
    settings.DATA_DIR = settings.MEDIA_ROOT = tmp_path
    time_machine.move_to(NOW)
    load_demo(Story.at(NOW))


def test_the_demo_tells_of_ice_of_the_door_and_of_readings_not_trusted(demo):
    checks = {one.sensor.name: one.offset_k for one in SensorCheck.objects.all()}
    assert checks == pytest.approx(TOLD["ice_checks"]["offsets_k"], abs=1e-6)
    root = Sensor.objects.get(name="R1")
    assert extremes([root])[root.pk].lowest == pytest.approx(-2.9)
    door = Sensor.objects.get(name="Thermometer by the door")
    last = last_by_hand([door], NOW)[door.pk]
    assert last.low_c == pytest.approx(-9.39, abs=0.01)
    assert [told.not_reset_at is not None for told in min_max_entries(door)] == (
        [False] * 4 + [True] + [False] * 2
    )
    outside = Sensor.objects.get(name="O1")
    (word,) = outside.verdicts.all()
    spoken = readings(outside, word.start_at, word.end_at)
    assert len(spoken) == 18
    assert set(spoken.quality.tolist()) == {9}
