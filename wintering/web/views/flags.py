"""Standing flags, the most urgent first."""

from dataclasses import dataclass

from django.db.models import Max
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from wintering.forecast.models import Flag
from wintering.forecast.queries import standing_flags


@dataclass(frozen=True, slots=True)
class LevelFlags:
    name: str
    flags: list[Flag]


@require_safe
def forecast(request: HttpRequest) -> HttpResponse:
    flags = list(standing_flags(request.user))
    content = {
        "count": len(flags),
        "levels": [
            LevelFlags(level.label, [flag for flag in flags if flag.level == level])
            for level in Flag.Level
        ],
        # Cleared flags were judged too: what matters is when judging last came round.
        "judged_at": Flag.objects.aggregate(last=Max("judged_at"))["last"],
    }
    return render(request, "web/forecast.html", content)
