"""Each day's hourly extremes, worked out of its readings as they are packed in version 1.

Days stored before have no origin: it is not known which file they came from.
"""

import zlib

import numpy as np
from django.db import migrations

NONE = -(2**31)
BATCH = 500


def fill(apps, schema_editor):
    reading_day = apps.get_model("climate", "ReadingDay")
    days = reading_day.objects.filter(hours=b"").only("pk", "packed")
    batch = []
    for day in days.iterator(chunk_size=BATCH):
        day.hours = _hours(bytes(day.packed))
        batch.append(day)
        if len(batch) == BATCH:
            reading_day.objects.bulk_update(batch, ["hours"])
            batch = []
    reading_day.objects.bulk_update(batch, ["hours"])


def _hours(packed):
    payload = zlib.decompress(packed[1:])
    count = len(payload) // 9
    steps = np.frombuffer(payload, "<u4", count * 2).reshape(2, count)
    second, value = np.cumsum(steps, axis=1, dtype=np.uint32).view(np.int32)
    good = np.frombuffer(payload, np.uint8, count, offset=count * 8) == 0
    low, high = np.full(24, 2**31 - 1, "<i4"), np.full(24, NONE, "<i4")
    np.minimum.at(low, second[good] // 3600, value[good])
    np.maximum.at(high, second[good] // 3600, value[good])
    return np.concatenate([low, high]).astype("<i4").tobytes()


class Migration(migrations.Migration):
    dependencies = [
        ("climate", "0002_where_readings_come_from_and_what_is_said"),
    ]

    operations = [migrations.RunPython(fill, migrations.RunPython.noop)]
