"""What the commands of this folder share: options, answers, refusals."""

import argparse
import json
import re
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import date
from pathlib import Path
from typing import Any, BinaryIO

from django.core.management.base import CommandError, CommandParser

from wintering.ingest.clock import zone_of
from wintering.ingest.refusals import LogQuestion, LogRefused

# How a question of the file is answered on the command line.
_OPTIONS = {
    "zone": "--tz",
    "date_order": "--date-order",
    "unit": "--unit",
    "repeated_hour": "--repeated-hour, or --tz with an offset",
}


def add_log_options(parser: CommandParser) -> None:
    """The log itself, and what it may leave open."""
    # An offset such as -05:00 is a value here, not an option.
    parser._negative_number_matcher = re.compile(r"^-\d+(:?\d\d)?$")
    parser.add_argument("log", metavar="LOG.csv", type=Path)
    parser.add_argument(
        "--tz",
        metavar="ZONE",
        type=_zone,
        help="zone of times without an offset: Europe/Oslo, or -05:00",
    )
    parser.add_argument(
        "--unit", choices=["c", "f", "k"], help="unit where the file does not say it"
    )
    parser.add_argument(
        "--date-order",
        choices=["dmy", "mdy", "ymd"],
        help="order of day, month and year where the file does not settle it",
    )
    parser.add_argument(
        "--repeated-hour",
        choices=["first", "second"],
        help="which pass of an hour that the clocks showed twice, where the rows "
        "around it do not tell",
    )


def add_format(parser: CommandParser) -> None:
    parser.add_argument("--format", choices=["text", "json"], default="text")


def day(text: str) -> date:
    try:
        return date.fromisoformat(text)
    except ValueError as error:
        raise argparse.ArgumentTypeError(
            f"'{text}' is no date; write it like 2024-11-30"
        ) from error


def _zone(text: str) -> str:
    try:
        zone_of(text)
    except ValueError as error:
        raise argparse.ArgumentTypeError(str(error)) from error
    return text


@contextmanager
def opened(path: Path) -> Iterator[BinaryIO]:
    """The file for reading; every way of failing becomes one line."""
    try:
        with path.open("rb") as file:
            yield file
    except OSError as error:
        reason = (error.strerror or "it cannot be read").lower()
        raise CommandError(f"{path} cannot be read: {reason}.") from error
    except LogQuestion as question:
        raise CommandError(f"{question} Use {_OPTIONS[question.about]}.") from question
    except LogRefused as refusal:
        raise CommandError(str(refusal)) from refusal


def as_json(answer: dict[str, Any]) -> str:
    return json.dumps(answer, ensure_ascii=False, allow_nan=False)
