"""Write a frame's bench sheet into a file."""

import hashlib
import json
from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.exceptions import ValidationError
from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone

from wintering.frames.models import Frame
from wintering.printing.papers import Paper
from wintering.printing.sheets import bench_sheet, limits_on
from wintering.printing.typesetting import Form
from wintering.stays.queries import frame_plan


class Command(BaseCommand):
    help = "Writes the printed bench sheet of a frame, PDF or SVG by the file's ending."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("frame", metavar="FRAME", help="the frame's short name")
        parser.add_argument("--paper", choices=list(Paper), default=Paper.A4)
        parser.add_argument("-o", "--output", metavar="FILE", required=True, type=Path)
        parser.add_argument("--format", choices=["text", "json"], default="text")

    def handle(self, *args: Any, **options: Any) -> None:
        path: Path = options["output"]
        form = _form(path)
        frame = _frame(options["frame"])
        made_at = timezone.now().replace(microsecond=0)
        plan = frame_plan(frame, timezone.localdate(made_at))
        try:
            sheet = bench_sheet(
                plan,
                limits=limits_on(plan),
                made_at=made_at,
                paper=Paper(options["paper"]),
                form=form,
            )
        except ValidationError as refusal:
            raise CommandError(" ".join(refusal.messages)) from refusal
        _write(path, sheet.content)
        digest = hashlib.sha256(sheet.content).hexdigest()
        if options["format"] == "json":
            done = {"file": str(path), "pages": sheet.pages, "sha256": digest}
            self.stdout.write(json.dumps(done))
        else:
            pages = "1 page" if sheet.pages == 1 else f"{sheet.pages} pages"
            self.stdout.write(f"{path}: {pages}, sha256 {digest}")


def _write(path: Path, content: bytes) -> None:
    try:
        path.write_bytes(content)
    except OSError as error:
        raise CommandError(f"{path} cannot be written: {error.strerror}.") from error


def _form(path: Path) -> Form:
    try:
        return Form(path.suffix.lower().lstrip("."))
    except ValueError as error:
        raise CommandError(
            f"'{path.name}' ends neither in .pdf nor in .svg: name the file so."
        ) from error


def _frame(slug: str) -> Frame:
    try:
        return Frame.objects.get(slug=slug)
    except Frame.DoesNotExist as error:
        known = ", ".join(Frame.objects.values_list("slug", flat=True)) or "none"
        raise CommandError(f"No frame is called '{slug}'. Known: {known}.") from error
