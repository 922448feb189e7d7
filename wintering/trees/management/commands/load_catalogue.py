"""Bring the database's taxa and facts up to the state of the fixture files."""

import json
from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError

from wintering.trees.models import Taxon, TaxonFact
from wintering.trees.services import load_catalogue


class Command(BaseCommand):
    help = "Loads taxa and their sourced facts; a keeper's own values stay."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument(
            "--folder", type=Path, default=settings.BASE_DIR / "fixtures"
        )
        parser.add_argument("--format", choices=["text", "json"], default="text")

    def handle(self, *args: Any, **options: Any) -> None:
        try:
            put_in = load_catalogue(options["folder"])
        except (OSError, KeyError, ValueError) as error:
            raise CommandError(
                f"The catalogue in {options['folder']} cannot be read: {error}."
            ) from error
        counts = {
            "taxa": Taxon.objects.count(),
            "facts": TaxonFact.objects.count(),
            "put_in": put_in,
        }
        if options["format"] == "json":
            self.stdout.write(json.dumps(counts))
        else:
            self.stdout.write(
                f"{counts['taxa']} taxa with {counts['facts']} facts, {put_in} put in."
            )
