"""Pages: one module a noun. What only some may open is guarded here."""

from collections.abc import Callable
from functools import wraps
from typing import Any

from django.http import Http404, HttpRequest, HttpResponse

View = Callable[..., HttpResponse]


def keepers_only(view: View) -> View:
    """For others the page is not there: it says nothing about what it would hold."""
    return _only(view, lambda request: request.user.is_keeper)


def staff_only(view: View) -> View:
    """For those who work here, keepers and helpers."""
    return _only(view, lambda request: request.user.is_staffing)


def _only(view: View, may: Callable[[HttpRequest], bool]) -> View:
    @wraps(view)
    def guarded(request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
        if not may(request):
            raise Http404("There is no such page.")
        return view(request, *args, **kwargs)

    return guarded
