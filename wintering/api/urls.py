"""Addresses for machines: readings in, and the document that describes them."""

from collections.abc import Callable
from typing import Any

from django.contrib.auth.decorators import login_not_required
from django.db import InterfaceError, OperationalError
from django.http import HttpRequest, HttpResponse
from django.urls import path
from django.views.decorators.csrf import csrf_exempt
from ninja.errors import AuthenticationError

from wintering.api import document, readings
from wintering.api.problems import problem

View = Callable[..., HttpResponse]

api = document.Api(
    title="Wintering",
    version="1",
    description=document.DESCRIPTION,
    docs_url=None,  # its page would need script that the policy forbids
    urls_namespace="api",
)

api.post(
    "/readings",
    auth=readings.LoggerToken(),
    response={status: answer for status, (answer, _) in document.ANSWERS.items()},
    summary="Send readings",
    description="All of a post is kept, or nothing; sending it again changes nothing.",
    operation_id="send_readings",
    url_name="readings",
    openapi_extra={"requestBody": document.BODY},
)(readings.post_readings)


@api.exception_handler(AuthenticationError)
def _no_token(request: HttpRequest, error: AuthenticationError) -> HttpResponse:
    return problem(
        401,
        "Send the token of a logger that is in use, as 'Authorization: Bearer …'; a "
        "keeper makes one on the page of loggers.",
        WWW_Authenticate="Bearer",
    )


for _error in (OperationalError, InterfaceError):
    api.add_exception_handler(_error, readings.no_database)


def _open(view: View) -> View:
    """Open to those who have not signed in, and exempt from the check of forms.

    Machines cannot sign in and keep no cookies: the token is the permission, and the
    document holds no secret.
    """

    @login_not_required
    @csrf_exempt
    def opened(request: HttpRequest, **options: Any) -> HttpResponse:
        return view(request, **options)

    return opened


def _readings(request: HttpRequest) -> HttpResponse:
    if request.method != "POST":
        return problem(405, "Send readings with POST.", Allow="POST")
    return _views["readings"](request)


_patterns, _, _ = api.urls
_views = {pattern.name: pattern.callback for pattern in _patterns}

app_name = "api"
urlpatterns = [
    path("readings", _open(_readings), name="readings"),
    path("openapi.json", _open(_views["openapi-json"]), name="openapi-json"),
    # The document is told its place by this name; the page itself is not there.
    path("", _views["api-root"], name="api-root"),
]
