"""A log file into a frame's sensors, from the command line."""

import argparse
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from wintering.frames.models import Frame
from wintering.ingest.channels import Channel
from wintering.ingest.console import add_format, add_log_options, as_json, opened
from wintering.ingest.intake import import_log
from wintering.ingest.report import MOST_LISTED, ImportReport, SensorReport

_SHOWN = 10  # rows of each list in the text; --format json has more of them


class Command(BaseCommand):
    help = "Bring a log into the database: all of it or nothing, and safe to repeat."

    def add_arguments(self, parser: CommandParser) -> None:
        add_log_options(parser)
        parser.add_argument("--frame", metavar="SLUG", required=True)
        parser.add_argument(
            "--map",
            metavar="COLUMN=SENSOR:PLACE[:MICROCLIMATE]",
            type=_channel,
            action="append",
            help="a wanted column; without any, every temperature column is taken",
        )
        parser.add_argument(
            "--dry-run", action="store_true", help="say what would happen"
        )
        add_format(parser)

    def handle(self, **options: Any) -> None:
        slug = options["frame"]
        frame = Frame.objects.filter(slug=slug).first()
        if frame is None:
            known = ", ".join(Frame.objects.values_list("slug", flat=True)) or "none"
            raise CommandError(f"There is no frame '{slug}'; there is: {known}.")
        with opened(options["log"]) as file:
            report = import_log(
                file=file,
                file_name=options["log"].name,
                frame=frame,
                by=None,
                mapping=options["map"],
                zone=options["tz"],
                date_order=options["date_order"],
                unit=options["unit"],
                repeated_hour=options["repeated_hour"],
                dry_run=options["dry_run"],
            )
        if options["format"] == "json":
            self.stdout.write(as_json(report.as_json()))
        else:
            self._write_text(report, is_dry=options["dry_run"])

    def _write_text(self, report: ImportReport, *, is_dry: bool) -> None:
        say = self.stdout.write
        if is_dry:
            say("Nothing was stored; this is what would happen:")
        say(
            f"{report.read:,} values read: {report.added:,} added ({report.marked:,} "
            f"of them set aside by a check), {report.unchanged:,} there already, "
            f"{report.conflicts_count:,} other than what is stored."
        )
        for name, told in report.sensors.items():
            say(f"  {name} ({told.place}): {told.added:,} added{_span(told)}")
        for conflict in report.conflicts[:_SHOWN]:
            say(
                f"  Row {conflict.row}: {conflict.sensor} at {conflict.at} has "
                f"{conflict.stored:g} stored, the log says {conflict.new:g}."
            )
        for rejected in report.rejected[:_SHOWN]:
            say(f"  Row {rejected.row} left out: {rejected.reason}.")
        if max(report.conflicts_count, report.rejected_count) > _SHOWN:
            say(
                f"  Only {_SHOWN} of each are shown, of {report.conflicts_count:,} "
                f"that differ and {report.rejected_count:,} left out; --format json "
                f"lists the first {MOST_LISTED:,}."
            )
        for warning in report.warnings:
            say(warning)


def _span(told: SensorReport) -> str:
    if told.first is None:
        return ""
    is_humidity = told.min_c is None
    span = "" if is_humidity else f", {told.min_c:.2f} to {told.max_c:.2f} °C"
    return f"{span}, {told.first} to {told.last}"


def _channel(text: str) -> Channel:
    try:
        return Channel.parse(text)
    except ValueError as error:
        raise argparse.ArgumentTypeError(str(error)) from error
