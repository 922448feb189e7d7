"""A process that is killed while it posts loses no answered post and doubles none."""

import os
import subprocess
import sys
from datetime import timedelta
from pathlib import Path

import pytest
from django.conf import settings
from django.db import connection

from tests import make
from tests.api.conftest import NOW
from wintering.climate.models import Sensor
from wintering.climate.queries import traced
from wintering.climate.services.arrivals import fold_arrivals

START = NOW - timedelta(days=1)
ROUNDS = [1, 7, 8, 30]

# Posts a reading a minute, seven seconds apart, so that every eighth or so is folded;
# tells each number once its post would be answered.
POSTING = """
import sys
from datetime import UTC, datetime, timedelta
from decimal import Decimal
import django
django.setup()
from wintering.climate.measurements import Measurement
from wintering.climate.models import Logger
from wintering.climate.services.arrivals import receive
start_s, number = int(sys.argv[1]), int(sys.argv[2])
at = datetime.fromtimestamp(start_s, UTC)
while True:
    sent = Measurement("R1", start_s + 60 * number, Decimal(number), "Cel")
    heard_at = at + timedelta(seconds=7 * number)
    receive(logger=Logger.objects.get(), measurements=[sent], at=heard_at)
    print(number, flush=True)
    number += 1
"""


def database_url() -> str:
    told = connection.settings_dict
    if connection.vendor == "sqlite":
        return f"sqlite:///{told['NAME']}"
    who = f"{told['USER']}:{told['PASSWORD']}@{told['HOST']}:{told['PORT']}"
    return f"postgres://{who}/{told['NAME']}"


def answered_until_killed(first: int, count: int) -> list[int]:
    """The posts that were answered by a process killed soon after so many of them."""
    root = str(Path(settings.BASE_DIR))
    posting = subprocess.Popen(
        [sys.executable, "-c", POSTING, str(int(START.timestamp())), str(first)],
        env=os.environ | {"DATABASE_URL": database_url(), "PYTHONPATH": root},
        stdout=subprocess.PIPE,
        text=True,
    )
    with posting:
        lines = [posting.stdout.readline() for _ in range(count)]
        posting.kill()
        lines += posting.stdout.readlines()
    return [int(line) for line in lines if line.endswith("\n")]


@pytest.mark.django_db(transaction=True)
def test_killed_while_it_posts_on_every_answered_post_is_kept_once():
    logger = make.logger()
    answered = []
    for count in ROUNDS:
        # What was on its way when the process died is sent again, as loggers do.
        answered += answered_until_killed(len(answered), count)
    assert answered == list(range(len(answered)))
    assert len(answered) >= sum(ROUNDS)
    fold_arrivals(at=NOW)
    kept = traced(Sensor.objects.get(), START, NOW)
    values = kept.value.tolist()
    # At most one more was kept, whose answer was lost with the process.
    assert values[: len(answered)] == answered
    assert len(values) <= len(answered) + 1
    rows = sorted(zip(kept.source.tolist(), kept.row.tolist(), strict=True))
    assert len(set(rows)) == len(rows)
    assert sum(day.rows for day in logger.log_imports.all()) >= len(values)
