"""The signed-in person's own time zone, for everything a page shows."""

from collections.abc import Callable
from zoneinfo import ZoneInfo

from django.http import HttpRequest, HttpResponse
from django.utils import timezone


def local_time(
    get_response: Callable[[HttpRequest], HttpResponse],
) -> Callable[[HttpRequest], HttpResponse]:
    def middleware(request: HttpRequest) -> HttpResponse:
        name = request.user.time_zone if request.user.is_authenticated else ""
        with timezone.override(ZoneInfo(name) if name else None):
            return get_response(request)

    return middleware
