"""Sheets of daily minimum and maximum, and what the command makes of them."""

import io
import json
from datetime import date, timedelta

from django.core.management import call_command

SHEET = ("--min", "low_c", "--max", "high_c")
PLACE = ("--latitude", "45", "--longitude", "-68.7")
FIRST = date(2024, 11, 1)


def chill(path, *words):
    """What the command writes on standard output, and what on standard error."""
    out, err = io.StringIO(), io.StringIO()
    call_command("chill", str(path), *words, stdout=out, stderr=err)
    return out.getvalue(), err.getvalue()


def figures(path, *words):
    return json.loads(chill(path, *words, "--format", "json")[0])


def days(*extremes, first=FIRST):
    return [
        f"{first + timedelta(days=n)},{low},{high}"
        for n, (low, high) in enumerate(extremes)
    ]
