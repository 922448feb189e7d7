"""Who may open the pages of logs: others are told that there is no such page."""

from collections.abc import Callable
from functools import wraps
from typing import Any

from django.http import Http404, HttpRequest, HttpResponse

View = Callable[..., HttpResponse]


def staff_only(view: View) -> View:
    """Logs are the keeper's and helpers' matter."""
    return _only(view, lambda request: request.user.is_staffing)


def keepers_only(view: View) -> View:
    """What changes readings that are in is the keeper's alone."""
    return _only(view, lambda request: request.user.is_keeper)


def _only(view: View, may: Callable[[HttpRequest], bool]) -> View:
    @wraps(view)
    def guarded(request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
        if not may(request):
            raise Http404("There is no such page.")
        return view(request, *args, **kwargs)

    return guarded
