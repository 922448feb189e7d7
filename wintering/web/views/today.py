"""The first page: what matters now."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_safe

from wintering.trees.queries import trees_for
from wintering.web.by_hand import hand_lines
from wintering.web.tables.trees import tree_lines
from wintering.web.today import today_of

LINES_SHOWN = 30


@require_safe
def today(request: HttpRequest) -> HttpResponse:
    user, at, on = request.user, timezone.now(), timezone.localdate()
    trees = trees_for(user)
    content = {
        "on": on,
        "today": today_of(user, at, on),
        "by_hand": hand_lines(user, at),
        "tree_count": trees.count(),
        # A client's trees are few: they stand on the first page.
        "lines": [] if user.is_staffing else tree_lines(trees[:LINES_SHOWN], user, at),
    }
    return render(request, "web/today.html", content)
