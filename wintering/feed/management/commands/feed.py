"""Write a person's own calendar into a file."""

import json
from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.exceptions import ValidationError
from django.core.management.base import BaseCommand, CommandError
from django.db import transaction
from django.utils import timezone

from wintering.care.services.feeds import ensure_feed
from wintering.feed.events import calendar_of, publish_work
from wintering.people.models import User


class Command(BaseCommand):
    help = "Writes a person's own calendar into a file. Makes no link, tells no secret."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("user", metavar="USER", help="the name they sign in with")
        parser.add_argument("-o", "--output", metavar="FILE", required=True, type=Path)
        parser.add_argument("--format", choices=["text", "json"], default="text")

    def handle(self, *args: Any, **options: Any) -> None:
        path: Path = options["output"]
        user = User.objects.filter(username=options["user"]).first()
        if user is None:
            raise CommandError(f"Nobody signs in as '{options['user']}'.")
        # All or nothing: a file that cannot be written leaves no subscription behind.
        with transaction.atomic():
            events = _write(path, user)
        if options["format"] == "json":
            self.stdout.write(json.dumps({"file": str(path), "events": events}))
        else:
            self.stdout.write(f"{path}: {events} event{'' if events == 1 else 's'}")


def _write(path: Path, user: User) -> int:
    at = timezone.now()
    try:
        feed = ensure_feed(user=user, by=user)
    except ValidationError as refusal:
        raise CommandError(" ".join(refusal.messages)) from refusal
    body, events = calendar_of(feed, publish_work(at), at)
    try:
        path.write_bytes(body)
    except OSError as error:
        raise CommandError(f"{path} cannot be written: {error.strerror}.") from error
    return events
