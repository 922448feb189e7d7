"""What a home's broker hears from its sensors, into a frame's readings."""

import argparse
import json
import os
import signal
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path
from types import FrameType
from typing import Any, TypeVar

from django.core.exceptions import ValidationError
from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.db import DatabaseError
from django.utils.text import slugify

from wintering.api.mqtt import Reader
from wintering.api.mqtt_address import UNITS, Broker, Topics, password_in
from wintering.api.mqtt_batches import Batches, Counts
from wintering.climate.services.heard import bridge_of, last_heard
from wintering.frames.models import Frame

try:
    from wintering.api.mqtt_bridge import Bridge, BrokerRefuses
except ModuleNotFoundError as missing:
    if (missing.name or "").partition(".")[0] != "paho":
        raise
    IS_INSTALLED = False
else:
    IS_INSTALLED = True

NOT_INSTALLED = (
    "Listening to a broker needs the package paho-mqtt, the extra 'mqtt'. Install it "
    "with: .venv/bin/python -m pip install 'paho-mqtt~=2.2'"
)
Parsed = TypeVar("Parsed")


class Command(BaseCommand):
    help = (
        "Listen to a broker and store what it hears, until stopped. A message that is "
        "not understood, or whose topic is longer than a sensor's name may be (80 "
        "characters), is set aside: the day's import keeps its beginning and says why. "
        "The password comes "
        "from WINTERING_MQTT_PASSWORD, or from the file WINTERING_MQTT_PASSWORD_FILE "
        "names."
    )

    requires_system_checks = ()  # it needs none of the pages, and starts at once

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument(
            "--broker",
            metavar="mqtt://[USER@]HOST[:PORT]",
            type=_parser_of(Broker.parse),
            required=True,
            help="mqtts:// for an encrypted connection",
        )
        parser.add_argument("--frame", metavar="SLUG", required=True)
        parser.add_argument(
            "--topic",
            metavar="FILTER[=UNIT]",
            dest="topics",
            type=_parser_of(Topics.parse),
            action="append",
            required=True,
            help="what to listen to; UNIT is that of plain numbers: c, f, k or pct",
        )
        parser.add_argument(
            "--unit",
            choices=UNITS,
            help="unit of plain numbers where --topic does not say it",
        )
        parser.add_argument("--name", default="MQTT", help="the bridge's own name")
        parser.add_argument(
            "--client-id", help="by which the broker knows the bridge again"
        )
        parser.add_argument(
            "--ca", type=Path, metavar="FILE", help="who signs the broker's certificate"
        )
        parser.add_argument("--format", choices=["text", "json"], default="text")

    def handle(self, **options: Any) -> None:
        if not IS_INSTALLED:
            raise CommandError(NOT_INSTALLED)
        counts = self._listen(**options)
        if options["format"] == "json":
            self.stdout.write(json.dumps(counts.as_json()))
        else:
            self.stdout.write(_told(counts))

    def _listen(self, **options: Any) -> Counts:
        frame, name = _frame(options["frame"]), options["name"]
        unit = UNITS.get(options["unit"])
        topics = [replace(one, unit=one.unit or unit) for one in options["topics"]]
        counts = Counts()
        try:
            bridge = Bridge(
                broker=replace(options["broker"], password=password_in(os.environ)),
                topics=topics,
                client_id=options["client_id"] or _client_id(frame, name),
                heard_at=last_heard(frame, name),
                ca_file=options["ca"],
            )

            def begin() -> Batches:
                return Batches(
                    logger=bridge_of(frame=frame, name=name, at=datetime.now(UTC)),
                    reader=Reader(topics),
                    acknowledge=bridge.acknowledge,
                    counts=counts,
                )

            with _stopping(bridge.stop):
                bridge.run(begin)
        except ValidationError as refusal:
            raise CommandError(" ".join(refusal.messages)) from refusal
        except DatabaseError as error:
            raise CommandError(f"The database cannot be used: {error}.") from error
        except (BrokerRefuses, ValueError, OSError) as refusal:
            raise CommandError(str(refusal)) from refusal
        return counts


def _frame(slug: str) -> Frame:
    frame = Frame.objects.filter(slug=slug).first()
    if frame is None:
        known = ", ".join(Frame.objects.values_list("slug", flat=True)) or "none"
        raise CommandError(f"There is no frame '{slug}'; there is: {known}.")
    return frame


def _client_id(frame: Frame, name: str) -> str:
    """The same at every start: the broker keeps what it holds for this name."""
    return f"wintering-{frame.slug}-{slugify(name) or 'bridge'}"


@contextmanager
def _stopping(stop: Callable[[], None]) -> Iterator[None]:
    """Ctrl-C and the system's own word to end stop the bridge in good order."""

    def handle(number: int, frame: FrameType | None) -> None:
        stop()

    before = {
        number: signal.signal(number, handle)
        for number in (signal.SIGINT, signal.SIGTERM)
    }
    try:
        yield
    finally:
        for number, handler in before.items():
            signal.signal(number, handler)


def _told(counts: Counts) -> str:
    return (
        f"{counts.messages:,} messages heard: {counts.added:,} readings added "
        f"({counts.marked:,} of them set aside by a check), {counts.unchanged:,} there "
        f"already, {counts.conflicts:,} other than what is stored, {counts.untimed:,} "
        f"without a time, {counts.not_understood:,} messages not understood, "
        f"{counts.lost:,} lost."
    )


def _parser_of(parse: Callable[[str], Parsed]) -> Callable[[str], Parsed]:
    def parsed(text: str) -> Parsed:
        try:
            return parse(text)
        except ValueError as error:
            raise argparse.ArgumentTypeError(str(error)) from error

    return parsed
