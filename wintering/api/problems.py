"""Refusals as JSON: what is wrong, in a sentence that says what to mend (RFC 9457)."""

from collections.abc import Sequence

from django.http import JsonResponse

from wintering.api.measurements import MOST_PROBLEMS, Problem

CONTENT_TYPE = "application/problem+json"

# The words of RFC 9110, section 15, which a problem of no type of its own repeats.
TITLES = {
    400: "Bad Request",
    401: "Unauthorized",
    405: "Method Not Allowed",
    413: "Content Too Large",
    415: "Unsupported Media Type",
    422: "Unprocessable Content",
    429: "Too Many Requests",
    503: "Service Unavailable",
}


def problem(
    status: int, detail: str, problems: Sequence[Problem] = (), **headers: str
) -> JsonResponse:
    """A refusal; underscores in the names of headers stand for hyphens."""
    response = JsonResponse(
        {
            "title": TITLES[status],
            "status": status,
            "detail": detail,
            "problems": [
                {"row": one.row, "reason": one.reason}
                for one in problems[:MOST_PROBLEMS]
            ],
        },
        status=status,
        content_type=CONTENT_TYPE,
    )
    for name, content in headers.items():
        response[name.replace("_", "-")] = content
    return response


def not_understood(problems: Sequence[Problem]) -> JsonResponse:
    """Nothing was kept: the first problem as the sentence, then each with its row."""
    first = problems[0]
    where = "" if first.row is None else f"Row {first.row}: "
    more = len(problems) - 1
    rest = f" {more} more." if more else ""
    return problem(422, f"Nothing was kept. {where}{first.reason}{rest}", problems)
