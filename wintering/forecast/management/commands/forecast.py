"""Judge the readings: raise and clear flags, and list those that stand."""

import json
from argparse import ArgumentParser
from datetime import UTC, datetime
from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone
from django.utils.dateparse import parse_datetime

from wintering.climate.services.arrivals import fold_arrivals
from wintering.forecast.models import Flag
from wintering.forecast.services import judge_frame
from wintering.frames.models import Frame


class Command(BaseCommand):
    help = "Judges the readings, raises and clears flags, lists those that stand."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--frame", metavar="SLUG", help="only this frame")
        parser.add_argument("--at", metavar="TIME", help="readings before this instant")
        parser.add_argument("--format", choices=["text", "json"], default="text")

    def handle(self, *args: Any, **options: Any) -> None:
        at = _instant(options["at"])
        frames = _frames(options["frame"])
        fold_arrivals(at=timezone.now())
        for frame in frames:
            judge_frame(frame=frame, at=at)
        standing = Flag.objects.standing().filter(frame__in=frames)
        flags = list(standing.select_related("tree", "frame").order_by("since", "pk"))
        if options["format"] == "json":
            self.stdout.write(json.dumps({"flags": [_as_json(f) for f in flags]}))
        else:
            for flag in flags:
                self.stdout.write(_as_line(flag))
            self.stdout.write(
                f"{len(flags)} flags stand. Without weather nothing is predicted: "
                "readings alone were judged."
            )


def _instant(text: str | None) -> datetime:
    if text is None:
        return timezone.now()
    try:
        at = parse_datetime(text)
    except ValueError:
        at = None
    if at is None:
        raise CommandError(f"'{text}' is not a time: write 2025-01-20T18:00-05:00.")
    return at if timezone.is_aware(at) else timezone.make_aware(at)


def _frames(slug: str | None) -> list[Frame]:
    if slug is None:
        return list(Frame.objects.all())
    found = list(Frame.objects.filter(slug=slug))
    if not found:
        known = ", ".join(Frame.objects.values_list("slug", flat=True)) or "none"
        raise CommandError(f"No frame is called '{slug}'. Known: {known}.")
    return found


def _as_json(flag: Flag) -> dict[str, Any]:
    return {
        "tree": flag.tree.number if flag.tree else None,
        "frame": flag.frame.slug,
        "kind": flag.kind,
        "level": flag.level,
        "since": flag.since.astimezone(UTC).isoformat(),
        "evidence": flag.evidence,
        "advice": flag.advice,
    }


def _as_line(flag: Flag) -> str:
    about = flag.tree.number if flag.tree else flag.frame.name
    first = flag.evidence[0] if flag.evidence else {"text": "", "value": "", "unit": ""}
    measured = f"{first['text']}: {first['value']} {first['unit']}".strip()
    return (
        f"{flag.get_level_display().upper()}  {about}  {flag.get_kind_display()}  "
        f"since {flag.since:%Y-%m-%d %H:%M} UTC  {measured}"
    )
