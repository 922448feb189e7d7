"""The options of a sheet with one minimum and one maximum a day."""

import re
from argparse import ArgumentTypeError
from collections.abc import Callable
from datetime import datetime, time
from typing import Any

from django.core.management.base import CommandError, CommandParser

_NEEDED = ("min", "max", "latitude", "longitude")


def add_sheet_options(parser: CommandParser) -> None:
    # Degrees west or south are values too, not options.
    parser._negative_number_matcher = re.compile(r"^-(\d+(:?\d\d)?|\d*\.\d+)$")
    sheet = parser.add_argument_group(
        "one line a day", "for a thermometer that keeps its lowest and highest"
    )
    sheet.add_argument("--min", metavar="COLUMN", help="column of daily minima")
    sheet.add_argument("--max", metavar="COLUMN", help="column of daily maxima")
    sheet.add_argument(
        "--latitude", metavar="DEG", type=_degrees(90), help="north is positive"
    )
    sheet.add_argument(
        "--longitude", metavar="DEG", type=_degrees(180), help="east is positive"
    )
    sheet.add_argument(
        "--reset-at",
        metavar="HH:MM",
        type=_time_of_day,
        help="when it is read and reset: before noon, the maximum is that of the "
        "day before; left out, both are of the day beside them",
    )


def is_of_sheet(options: dict[str, Any]) -> bool:
    """Whether a sheet is asked for; refuses half of what it needs."""
    missing = [f"--{name}" for name in _NEEDED if options[name] is None]
    if not missing and options["column"] is not None:
        raise CommandError(
            "--column is for a log of readings: leave it out beside --min and --max.",
            returncode=2,
        )
    is_asked = len(missing) < len(_NEEDED) or options["reset_at"] is not None
    if missing and is_asked:
        raise CommandError(
            "Daily minimum and maximum need --min, --max, --latitude and --longitude "
            f"together: {', '.join(missing)} not given.",
            returncode=2,
        )
    return not missing


def _degrees(limit: int) -> Callable[[str], float]:
    def degrees(text: str) -> float:
        try:
            number = float(text)
        except ValueError:
            number = float("nan")
        if not -limit <= number <= limit:
            raise ArgumentTypeError(
                f"'{text}' is not in degrees from -{limit} to {limit}"
            )
        return number

    return degrees


def _time_of_day(text: str) -> time:
    try:
        return datetime.strptime(text, "%H:%M").time()  # noqa: DTZ007 - no date, no zone
    except ValueError as error:
        raise ArgumentTypeError(
            f"'{text}' is no time of day; write it like 08:00"
        ) from error
