"""`POST /api/readings`: loggers send what they measured."""

import logging
import math
from collections.abc import Callable
from http import HTTPStatus

from django.core.exceptions import ValidationError
from django.http import HttpRequest, HttpResponse, JsonResponse, UnreadablePostError
from django.utils import timezone
from ninja.security import HttpBearer

from wintering.api.bodies import parse_csv, parse_json, refuse_count
from wintering.api.measurements import Measurement, NotUnderstood, Problem
from wintering.api.pace import Pace
from wintering.api.problems import not_understood, problem
from wintering.api.senml import parse_senml
from wintering.climate.models import Logger
from wintering.climate.queries.loggers import logger_of_token
from wintering.climate.services.arrivals import Folded, receive

log = logging.getLogger(__name__)

# Own choices: a month of one sensor every five minutes; ten times what a logger needs.
BODY_LIMIT = 1_000_000  # bytes
POSTS_A_SECOND, BURST = 10, 50
RETRY_AFTER_S = 10

PARSERS: dict[str, Callable[..., list[Measurement]]] = {
    "application/json": parse_json,
    "text/csv": parse_csv,
    "application/senml+json": parse_senml,
}

pace = Pace(POSTS_A_SECOND, BURST)


class LoggerToken(HttpBearer):
    """The token that a logger was given; no session is looked at."""

    def authenticate(self, request: HttpRequest, token: str) -> Logger | None:
        return logger_of_token(token)


def post_readings(request: HttpRequest) -> HttpResponse:
    """Check from the outside inwards, so that little is spent on what is refused."""
    logger: Logger = request.auth
    return _too_quick(logger) or _unreadable(request) or _taken(logger, request)


def _too_quick(logger: Logger) -> HttpResponse | None:
    wait_s = math.ceil(pace.wait_s(logger.pk))
    if not wait_s:
        return None
    return problem(
        HTTPStatus.TOO_MANY_REQUESTS,
        f"This logger posts more than {POSTS_A_SECOND} times a second: wait "
        f"{wait_s} s, and send several readings in one post.",
        Retry_After=str(wait_s),
    )


def _unreadable(request: HttpRequest) -> HttpResponse | None:
    if request.content_type not in PARSERS:
        return problem(415, f"Send {', '.join(PARSERS)}, and say which.")
    charset = request.content_params.get("charset", "utf-8").lower()
    if charset not in {"utf-8", "utf8", "us-ascii"}:
        return problem(415, "Send the text in UTF-8.")
    if request.headers.get("Content-Encoding", "identity").lower() != "identity":
        return problem(415, "Send the body as it is, not compressed.")
    length = request.META.get("CONTENT_LENGTH") or "0"
    if length.isdecimal() and int(length) > BODY_LIMIT:
        return problem(
            413, f"Send at most {BODY_LIMIT:,} bytes in one post, the rest in others."
        )
    return None


def _taken(logger: Logger, request: HttpRequest) -> HttpResponse:
    at = timezone.now()
    try:
        found = PARSERS[request.content_type](request.body, received_at=at)
        refuse_count(len(found))
        folded = receive(logger=logger, measurements=found, at=at)
    except UnreadablePostError:
        return problem(400, "The body broke off: send it again.")
    except NotUnderstood as refusal:
        return not_understood(refusal.problems)
    except ValidationError as refusal:
        return not_understood([Problem(None, text) for text in refusal.messages])
    return JsonResponse(_told(len(found), folded))


def no_database(request: HttpRequest, error: Exception) -> HttpResponse:
    """Busy for too long, or away: asking for the token's logger may show it first."""
    log.error("a post could not be kept", exc_info=error)
    return problem(
        503,
        "Nothing was kept, the database is busy or away: send it again.",
        Retry_After=str(RETRY_AFTER_S),
    )


def _told(accepted: int, folded: Folded | None) -> dict[str, object]:
    # Merged together with others, the counts are not this post's alone.
    alone = folded if folded and folded.arrivals == 1 else None
    return {
        "accepted": accepted,
        "waiting": folded is None,
        "added": alone.added if alone else None,
        "unchanged": alone.unchanged if alone else None,
        "conflicts": alone.conflicts if alone else None,
    }
