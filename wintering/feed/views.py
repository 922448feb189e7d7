"""The calendar's open address, and the page that hands it out."""

import hashlib

from django.contrib.auth.decorators import login_not_required
from django.core.cache import cache
from django.db import DatabaseError
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.cache import get_conditional_response, patch_vary_headers
from django.utils.http import http_date
from django.utils.translation import override
from django.views.decorators.csrf import csrf_exempt
from django.views.decorators.http import require_POST, require_safe

from wintering.care.models import FeedToken
from wintering.care.services.feeds import (
    ensure_feed,
    feed_of_secret,
    note_served,
    open_feed,
    revoke_feed,
    rotate_feed,
    switch_reminders,
)
from wintering.feed.events import calendar_of, publish_work

RETRY_AFTER_S = 300
MISSES_A_MINUTE = 30


# Open by its nature: calendar programs cannot sign in. The secret in the address is
# the permission, and it is checked again at every fetch.
@login_not_required
@csrf_exempt
@require_safe
def ics(request: HttpRequest, token: str) -> HttpResponse:
    try:
        feed = feed_of_secret(token)
        response = _calendar(request, feed) if feed else _not_found(request)
    except DatabaseError:
        # Never an empty calendar: programs would delete everything.
        response = _plain("Come back later.", 503)
        response["Retry-After"] = str(RETRY_AFTER_S)
    return _private(response)


def _calendar(request: HttpRequest, feed: FeedToken) -> HttpResponse:
    at = timezone.now()
    with override(feed.user.language):
        body, _ = calendar_of(feed, publish_work(at), at)
    digest = hashlib.sha256(body).hexdigest()
    on = timezone.localdate(at)
    changed_at = note_served(feed=feed, digest=digest, at=at, on=on)
    etag, seconds = f'"{digest[:32]}"', int(changed_at.timestamp())
    response = HttpResponse(body, content_type="text/calendar; charset=utf-8")
    response["Content-Disposition"] = 'inline; filename="wintering.ics"'
    response["ETag"], response["Last-Modified"] = etag, http_date(seconds)
    response["Cache-Control"] = "private, max-age=0, must-revalidate"
    patch_vary_headers(response, ["Accept-Encoding"])
    return get_conditional_response(
        request, etag=etag, last_modified=seconds, response=response
    )


def _not_found(request: HttpRequest) -> HttpResponse:
    """The same for unknown, revoked and misspelt secrets, without a hint."""
    key = f"calendar-misses:{request.META.get('REMOTE_ADDR', '')}"
    cache.add(key, 0, timeout=60)
    if cache.incr(key) > MISSES_A_MINUTE:
        response = _plain("Too many wrong addresses. Come back later.", 429)
        response["Retry-After"] = "60"
        return response
    return _plain("There is no such calendar.", 404)


def _plain(words: str, status: int) -> HttpResponse:
    kind = "text/plain; charset=utf-8"
    return HttpResponse(words, status=status, content_type=kind)


def _private(response: HttpResponse) -> HttpResponse:
    """After the conditional answer: its 304 is a new one and has lost its headers."""
    response["Referrer-Policy"] = "no-referrer"
    response["X-Robots-Tag"] = "noindex, nofollow"
    response["X-Content-Type-Options"] = "nosniff"
    return response


@require_safe
def calendar(request: HttpRequest) -> HttpResponse:
    feed = request.user.feed_tokens.filter(revoked_at=None).first()
    return render(request, "web/calendar.html", {"feed": feed})


@require_POST
def new_link(request: HttpRequest) -> HttpResponse:
    """Show a new link, this once.

    It is the answer itself, not a page to be redirected to: the secret is kept nowhere.
    """
    feed, secret = open_feed(user=request.user, by=request.user)
    if secret is None:
        secret = rotate_feed(feed=feed, by=request.user)
    address = request.build_absolute_uri(reverse("feed:ics", args=[secret]))
    content = {
        "feed": feed,
        "address": address,
        "program_address": f"webcal://{address.partition('://')[2]}",
        "is_safe": request.is_secure(),
    }
    response = render(request, "web/calendar_link.html", content)
    response["Cache-Control"] = "no-store"
    return _private(response)


@require_POST
def revoke(request: HttpRequest) -> HttpResponse:
    feed = request.user.feed_tokens.filter(revoked_at=None).first()
    if feed:
        revoke_feed(feed=feed, by=request.user)
    return redirect("feed:calendar")


@require_POST
def reminders(request: HttpRequest) -> HttpResponse:
    feed = ensure_feed(user=request.user, by=request.user)
    switch_reminders(feed=feed, on="on" in request.POST, by=request.user)
    return redirect("feed:calendar")
