"""What the OpenAPI document says about bodies and answers."""

from typing import Any

from ninja import NinjaAPI, Schema
from ninja.openapi.schema import OpenAPISchema
from pydantic import Field

from wintering.api import problems
from wintering.api.measurements import MOST_READINGS, UNSEEN
from wintering.climate.services.channels import LONGEST_SENSOR_NAME

DESCRIPTION = f"""\
Loggers send what they measured, one reading or up to {MOST_READINGS:,} in a post. All
of a post is kept, or nothing of it.

Sending the same again changes nothing, so repeat a post whose answer was lost. Another
value at an instant that already has one is kept beside it as a conflict, and the first
one stands until a keeper chooses.

A post is kept before it is answered. A logger that posts more often than once a minute
has its readings merged into its days together, at most a minute later: until then
`waiting` is true, and pages do not show them yet. Counts are told only when a post is
merged alone; they are null while it waits, and where it was merged with others.

A name not met before makes a sensor of that name, or takes the frame's sensor of that
name. Where it measures is for the keeper to say; until then it is kept and charted, and
feeds no warning. Fractions of a second go to the nearest second; values are kept to
thousandths of their unit.
"""


ALONE = "null unless the post was merged alone"


class Kept(Schema):
    """What became of a post."""

    accepted: int = Field(description="readings in the post, all of them kept")
    waiting: bool = Field(
        description="they are kept, and merged into their days within a minute"
    )
    added: int | None = Field(description=f"readings that were new; {ALONE}")
    unchanged: int | None = Field(
        description=f"readings that were there already; {ALONE}"
    )
    conflicts: int | None = Field(
        description=f"readings that differ from what is stored then; {ALONE}"
    )


class Row(Schema):
    row: int | None = Field(
        description="counted from 1, in CSV with the header; null for all of the body"
    )
    reason: str


class Problem(Schema):
    """A refusal (RFC 9457): nothing was kept, and what to mend."""

    title: str
    status: int
    detail: str = Field(description="a sentence that says what to mend")
    problems: list[Row] = Field(description="the first rows not understood")


_TIME = {
    "type": "string",
    "format": "date-time",
    "description": "ISO 8601 with its offset from UTC, since 2000, not in the future",
    "examples": ["2026-11-25T06:10:00+01:00"],
}

_READING = {
    "type": "object",
    "required": ["sensor", "at", "value", "unit"],
    "additionalProperties": False,
    "properties": {
        "sensor": {
            "type": "string",
            # Said in the pattern alone, also how long it may be.
            "pattern": (
                rf"^[^\s{UNSEEN}]"
                rf"(?:[^{UNSEEN}]{{0,{LONGEST_SENSOR_NAME - 2}}}"
                rf"[^\s{UNSEEN}])?$"
            ),
            "examples": ["S0-01f"],
        },
        "at": _TIME,
        "value": {
            "type": "number",
            "minimum": -1_000_000,
            "maximum": 1_000_000,
            "examples": [-0.4],
        },
        "unit": {
            "enum": ["Cel", "K", "degF", "%RH"],
            "description": "as in the SenML registry; degF for °F",
        },
    },
}

_JSON = {
    "type": "object",
    "required": ["readings"],
    "additionalProperties": False,
    "properties": {
        "readings": {
            "type": "array",
            "minItems": 1,
            "maxItems": MOST_READINGS,
            "items": _READING,
        }
    },
}

_CSV = {
    "type": "string",
    "description": "a header at,sensor,value,unit and a line a reading, UTF-8",
    "examples": [
        "at,sensor,value,unit\r\n2026-11-25T06:10:00+01:00,S0-01f,-0.4,Cel\r\n"
    ],
}

_SENML = {
    "type": "array",
    "minItems": 1,
    "description": "a SenML pack (RFC 8428) of numeric values in Cel, K or %RH",
    "items": {
        "type": "object",
        "properties": {
            "bn": {"type": "string"},
            "bt": {"type": "number"},
            "bu": {"type": "string"},
            "n": {"type": "string"},
            "u": {"type": "string"},
            "v": {"type": "number"},
            "t": {"type": "number"},
        },
    },
    "examples": [
        [{"bn": "frame:", "bu": "Cel", "n": "S0-01f", "t": 1795583400, "v": -0.4}]
    ],
}

_RETRY = {
    "Retry-After": {
        "description": "seconds to wait before sending it again",
        "schema": {"type": "integer", "minimum": 1},
    }
}

BODY = {
    "required": True,
    "content": {
        "application/json": {"schema": _JSON},
        "text/csv": {"schema": _CSV},
        "application/senml+json": {"schema": _SENML},
    },
}

ANSWERS = {
    200: (Kept, "Kept."),
    400: (Problem, "The request could not be read."),
    401: (Problem, "The token is missing, wrong, or was ended."),
    405: (Problem, "Readings are sent with POST."),
    413: (Problem, "The body is too long."),
    415: (Problem, "The body is of a kind that is not understood."),
    422: (Problem, "What was sent is not understood; nothing of it was kept."),
    429: (Problem, "The logger posts too quickly."),
    503: (Problem, "The database is busy or away; nothing was kept."),
}


class Api(NinjaAPI):
    """Says of refusals that they come as problems, and when to try again."""

    def get_openapi_schema(self, **options: Any) -> OpenAPISchema:
        document = super().get_openapi_schema(**options)
        for path in document["paths"].values():
            for operation in path.values():
                for status, answer in operation["responses"].items():
                    _mend(int(status), answer)
        return document


def _mend(status: int, answer: dict[str, Any]) -> None:
    answer["description"] = ANSWERS[status][1]
    if status >= 400:
        answer["content"] = {
            problems.CONTENT_TYPE: answer["content"]["application/json"]
        }
    if status in {429, 503}:
        answer["headers"] = _RETRY
