"""Who must sign in, and by whose clock a page shows its times.

Open pages do not ask who is there, so that their answers do not vary with cookies.
"""

from collections.abc import Callable
from typing import Any
from zoneinfo import ZoneInfo

from django.contrib.auth.middleware import LoginRequiredMiddleware
from django.http import HttpRequest, HttpResponse
from django.utils import timezone

View = Callable[..., HttpResponse]


def is_open(view: View) -> bool:
    """Whether a view said `login_not_required`."""
    return not getattr(view, "login_required", True)


class SignInRequired(LoginRequiredMiddleware):
    """Sends strangers to sign in; for an open page nobody's session is looked at."""

    def process_view(
        self,
        request: HttpRequest,
        view_func: View,
        view_args: tuple[Any, ...],
        view_kwargs: dict[str, Any],
    ) -> HttpResponse | None:
        if is_open(view_func):
            return None
        return super().process_view(request, view_func, view_args, view_kwargs)


class LocalTime:
    """Shows times by the clock of whoever signed in."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        with timezone.override(None):
            return self.get_response(request)

    def process_view(
        self,
        request: HttpRequest,
        view: View,
        args: tuple[Any, ...],
        kwargs: dict[str, Any],
    ) -> None:
        if is_open(view) or not request.user.is_authenticated:
            return
        if request.user.time_zone:
            timezone.activate(ZoneInfo(request.user.time_zone))
