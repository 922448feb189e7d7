"""Standing flags, the most urgent first."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_safe

from wintering.forecast.models import Flag
from wintering.forecast.queries import last_judged_at, standing_flags
from wintering.stays.queries import places_on
from wintering.web.today import FlagGroup, FlagLine


@dataclass(frozen=True, slots=True)
class LevelFlags:
    """All flags of one level, those that ask for the same put together."""

    name: str
    count: int
    groups: tuple[FlagGroup, ...]


@require_safe
def forecast(request: HttpRequest) -> HttpResponse:
    lines = _lines(list(standing_flags(request.user)), timezone.localdate())
    content = {
        "count": len(lines),
        "levels": [_level(level, lines) for level in Flag.Level],
        "judged_at": last_judged_at(),
    }
    return render(request, "web/forecast.html", content)


def _lines(flags: list[Flag], on: date) -> list[FlagLine]:
    places = places_on([flag.tree_id for flag in flags if flag.tree_id], on)
    return [
        FlagLine(flag, places[flag.tree_id].label if flag.tree_id in places else "")
        for flag in flags
    ]


def _level(level: Flag.Level, lines: Iterable[FlagLine]) -> LevelFlags:
    mine = [line for line in lines if line.flag.level == level]
    groups: dict[tuple[object, ...], list[FlagLine]] = defaultdict(list)
    for line in mine:
        flag = line.flag
        groups[flag.kind, flag.frame_id, flag.advice].append(line)
    return LevelFlags(
        name=level.label,
        count=len(mine),
        groups=tuple(FlagGroup(tuple(group)) for group in groups.values()),
    )
