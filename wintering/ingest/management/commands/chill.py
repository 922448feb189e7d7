"""Chill and forcing totals straight from a log; the database is not touched."""

from dataclasses import asdict
from datetime import date
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from wintering.ingest.console import add_format, add_log_options, as_json, day, opened
from wintering.ingest.reading import Answers
from wintering.ingest.totals import chill_of

_LABELS = (
    ("hours", "Clock hours used", "h"),
    ("bridged_hours", "of these bridged over gaps of 1 to 3 h", "h"),
    ("gap_hours", "Hours still missing", "h"),
    ("chill_hours_0_7", "Chill hours, 0.0 to 7.2 °C", "h"),
    ("chill_hours_0_7_high", "at most, given the gaps", "h"),
    ("chill_hours_below_7", "Chill hours, 7.2 °C and below", "h"),
    ("utah", "Utah chill units", "units"),
    ("utah_positive", "Utah chill units, losses left out", "units"),
    ("portions", "Chill portions (Dynamic model)", "portions"),
    ("portions_high", "at most, given the gaps", "portions"),
    ("gdh_linear", "Growing degree hours, linear", "°C h"),
    ("gdh_curvilinear", "Growing degree hours, curvilinear", "°C h"),
)


class Command(BaseCommand):
    help = "Chill and forcing totals of one temperature column of a log."
    requires_system_checks: list[str] = []

    def add_arguments(self, parser: CommandParser) -> None:
        add_log_options(parser)
        parser.add_argument("--column", metavar="NAME", help="temperature column")
        parser.add_argument("--start", type=day, metavar="DATE", help="first day")
        parser.add_argument(
            "--end", type=day, metavar="DATE", help="the day after the last"
        )
        add_format(parser)

    def handle(self, **options: Any) -> None:
        start, end = options["start"], options["end"]
        if start and end and start >= end:
            raise CommandError(
                f"--end {end} is not after --start {start}; --end is the day after "
                "the last.",
                returncode=2,
            )
        answers = Answers.of(
            zone=options["tz"], date_order=options["date_order"], unit=options["unit"]
        )
        with opened(options["log"]) as file:
            totals, warnings = chill_of(
                file,
                name=options["log"].name,
                column=options["column"],
                answers=answers,
                start=start,
                end=end,
            )
        for warning in warnings:
            self.stderr.write(warning)
        figures = {name: _plain(value) for name, value in asdict(totals).items()}
        if options["format"] == "json":
            self.stdout.write(as_json(figures))
        else:
            self._write_text(figures, start, end)

    def _write_text(
        self, figures: dict[str, int | float], start: date | None, end: date | None
    ) -> None:
        self.stdout.write(
            f"From {start or 'the first reading'} to {end or 'the last reading'}"
        )
        width = max(len(label) for _, label, _ in _LABELS) + 2
        for name, label, unit in _LABELS:
            text = f"{figures[name]:,.1f}".removesuffix(".0")
            self.stdout.write(f"{label:<{width}}{text:>12} {unit}")


def _plain(value: int | float) -> int | float:
    return value if isinstance(value, int) else round(value, 6)
