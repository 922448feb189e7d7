"""Load the invented winter once, say who can sign in, and serve it."""

import json
import time
from argparse import ArgumentParser
from typing import Any

from django.core.exceptions import ValidationError
from django.core.management import call_command
from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone

from wintering.frames.models import Frame
from wintering.web.demo.belongings import empty, is_loaded, users
from wintering.web.demo.loader import load_demo
from wintering.web.demo.story import Story


class Command(BaseCommand):
    help = "Loads an invented winter once, prints its people, and serves it."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--no-serve", action="store_true", help="load and print")
        parser.add_argument("--port", type=int, default=8000)
        parser.add_argument(
            "--reset", action="store_true", help="empty it and load it anew"
        )
        parser.add_argument("--format", choices=["text", "json"], default="text")

    def handle(
        self, *, port: int, reset: bool, no_serve: bool, format: str, **options: Any
    ) -> None:
        try:
            self._provide(reset=reset)
            people = users()
        except ValidationError as refusal:
            raise CommandError(" ".join(refusal.messages)) from refusal
        told = {
            "url": f"http://127.0.0.1:{port}/",
            "users": people,
            "frames": list(Frame.objects.values_list("slug", flat=True)),
        }
        if format == "json":
            self.stdout.write(json.dumps(told))
        else:
            self._say(told)
        self.stdout.flush()
        if not no_serve:
            out = self.stderr if format == "json" else self.stdout
            call_command("serve", port=port, stdout=out)

    def _provide(self, *, reset: bool) -> None:
        """Have the demo winter in the database; what is there already stays."""
        was_loaded = is_loaded()
        call_command("migrate", interactive=False, verbosity=0)
        if was_loaded and not reset:
            self.stderr.write(
                "The demo winter is there already; --reset loads it anew."
            )
            return
        if was_loaded:
            empty()
        self.stderr.write("Loading the demo winter: everything in it is invented.")
        started_s = time.monotonic()
        load_demo(Story.at(timezone.now()))
        self.stderr.write(f"Loaded in {time.monotonic() - started_s:.1f} s.")

    def _say(self, told: dict[str, Any]) -> None:
        self.stdout.write(f"Open {told['url']} and sign in as one of")
        for person in told["users"]:
            self.stdout.write(
                f"  {person['username']:<8}{person['role']:<8}{person['password']}"
            )
