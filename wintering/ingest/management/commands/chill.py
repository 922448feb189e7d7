"""Chill and forcing totals straight from a file; the database is not touched."""

from dataclasses import asdict
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from wintering.ingest.console import add_format, add_log_options, as_json, day, opened
from wintering.ingest.daily import read_daily
from wintering.ingest.reading import Answers
from wintering.ingest.sheet_options import add_sheet_options, is_of_sheet
from wintering.ingest.totals import chill_of, rebuilt_chill_of
from wintering.science.chill import ChillTotals
from wintering.science.min_max import ReconstructedChill

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
    ("gdh_linear_rough", "Growing degree hours, linear, rough", "°C h"),
    ("gdh_curvilinear_rough", "Growing degree hours, curvilinear, rough", "°C h"),
)
_REBUILT = "Reconstructed from daily minimum and maximum"


class Command(BaseCommand):
    help = (
        "Chill and forcing totals of one temperature column of a log, or of a sheet "
        "with one minimum and one maximum a day."
    )
    requires_system_checks: list[str] = []

    def add_arguments(self, parser: CommandParser) -> None:
        add_log_options(parser)
        parser.add_argument("--column", metavar="NAME", help="temperature column")
        parser.add_argument("--start", type=day, metavar="DATE", help="first day")
        parser.add_argument(
            "--end", type=day, metavar="DATE", help="the day after the last"
        )
        add_sheet_options(parser)
        add_format(parser)

    def handle(self, **options: Any) -> None:
        _refuse_no_days(options)
        figures = (
            self._of_sheet(options) if is_of_sheet(options) else self._of_log(options)
        )
        if options["format"] == "json":
            self.stdout.write(as_json(figures))
        else:
            self._write_text(figures, options)

    def _of_log(self, options: dict[str, Any]) -> dict[str, Any]:
        with opened(options["log"]) as file:
            totals, warnings = chill_of(
                file,
                name=options["log"].name,
                column=options["column"],
                answers=_answers(options),
                start=options["start"],
                end=options["end"],
            )
        self._tell(warnings)
        return _plain(totals)

    def _of_sheet(self, options: dict[str, Any]) -> dict[str, Any]:
        answers = _answers(options)
        with opened(options["log"]) as file:
            sheet = read_daily(
                file,
                name=options["log"].name,
                min_column=options["min"],
                max_column=options["max"],
                answers=answers,
                reset_at=options["reset_at"],
            )
            totals = rebuilt_chill_of(
                sheet,
                latitude_deg=options["latitude"],
                longitude_deg=options["longitude"],
                zone=answers.zone,
                start=options["start"],
                end=options["end"],
            )
        self._tell(sheet.told())
        rejected = [asdict(row) for row in sheet.rejected]
        told = {"reconstructed": True, "use": totals.use}
        return {**told, **_plain(totals), "rejected": rejected}

    def _tell(self, lines: list[str]) -> None:
        for line in lines:
            self.stderr.write(line)

    def _write_text(self, figures: dict[str, Any], options: dict[str, Any]) -> None:
        what = "reading"
        if "reconstructed" in figures:
            self.stdout.write(f"{_REBUILT}\n{figures['use']}")
            what = "hour rebuilt"
        self.stdout.write(
            f"From {options['start'] or f'the first {what}'} to "
            f"{options['end'] or f'the last {what}'}"
        )
        shown = [label for label in _LABELS if label[0] in figures]
        width = max(len(label) for _, label, _ in shown) + 2
        for name, label, unit in shown:
            places = 0 if name.endswith("_rough") else 1
            text = f"{figures[name]:,.{places}f}".removesuffix(".0")
            self.stdout.write(f"{label:<{width}}{text:>12} {unit}")


def _refuse_no_days(options: dict[str, Any]) -> None:
    start, end = options["start"], options["end"]
    if start and end and start >= end:
        raise CommandError(
            f"--end {end} is not after --start {start}; --end is the day after the "
            "last.",
            returncode=2,
        )


def _answers(options: dict[str, Any]) -> Answers:
    return Answers.of(
        zone=options["tz"],
        date_order=options["date_order"],
        unit=options["unit"],
        repeated_hour=options["repeated_hour"],
    )


def _plain(totals: ChillTotals | ReconstructedChill) -> dict[str, int | float]:
    return {
        name: value if isinstance(value, int) else round(value, 6)
        for name, value in asdict(totals).items()
    }
