"""The document against the endpoint: what it allows is kept, anything else refused.

Bodies and headers are made by a general tool from the OpenAPI document alone. It also
checks that every answer is of a status, kind and shape that the document names.
"""

from collections import Counter
from datetime import UTC, datetime

import pytest
import schemathesis
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from schemathesis import GenerationMode
from schemathesis.checks import CHECKS
from schemathesis.core.parameters import ParameterLocation

from tests.api.conftest import NOW, new_sender
from wintering.wsgi import application

# As in service: each request with a transaction of its own.
pytestmark = pytest.mark.django_db(transaction=True)

BODY = ParameterLocation.BODY
# What a schema cannot say of several readings, or of what is known already.
BEYOND_SCHEMA = ("another quantity under another name", "are kept apart")

_past = st.datetimes(datetime(2000, 1, 1), NOW.replace(tzinfo=None))  # noqa: DTZ001
_times = _past.map(lambda at: at.replace(tzinfo=UTC).isoformat())
_lines = st.lists(
    st.builds(
        "{},S{},{},{}".format,
        _times,
        st.integers(1, 9),
        st.decimals(-100, 100, places=3),
        st.sampled_from(["Cel", "K", "degF", "%RH", "V"]),
    )
)
schemathesis.openapi.format("date-time", _times)
schemathesis.openapi.media_type(
    "text/csv",
    _lines.map(lambda lines: "\r\n".join(["at,sensor,value,unit", *lines]).encode()),
)


def answers(mode: GenerationMode, examples: int) -> Counter[tuple[str, int, str]]:
    """How often each kind of body was answered with which status and sentence.

    Where something else than the body was spoilt, only the answer's shape counts.
    """
    schema = schemathesis.openapi.from_wsgi("/api/openapi.json", application)
    operation = schema["/api/readings"]["POST"]
    seen: Counter[tuple[str, int, str]] = Counter()
    # Whether a body is kept is judged in the tests, body by body.
    judged_here = ["positive_data_acceptance", "negative_data_rejection"]
    sender = new_sender()

    @given(case=operation.as_strategy(generation_mode=mode))
    @settings(
        max_examples=examples,
        deadline=None,
        database=None,
        suppress_health_check=list(HealthCheck),
    )
    def every(case):
        answer = case.call_and_validate(
            headers={"Authorization": f"Bearer {sender.token}", "Host": "testserver"},
            excluded_checks=CHECKS.get_by_names(judged_here),
        )
        told = answer.json()
        assert answer.status_code < 400 or told["detail"].endswith(".")
        of_body = case.meta.phase.data.parameter_location in {None, BODY}
        if of_body:
            seen[case.media_type, answer.status_code, told.get("detail", "")] += 1

    every()
    return seen


def test_whatever_the_document_allows_is_kept():
    seen = answers(GenerationMode.POSITIVE, 60)
    of_json = {one: n for one, n in seen.items() if one[0] == "application/json"}
    kept = sum(n for (_, status, _), n in of_json.items() if status == 200)
    refused = [one for one in of_json if one[1] != 200]
    assert kept > 10
    assert [
        one for one in refused if not any(words in one[2] for words in BEYOND_SCHEMA)
    ] == []
    assert {status for _, status, _ in seen} <= {200, 422}
    assert ("text/csv", 200, "") in seen


def test_whatever_it_does_not_allow_is_refused():
    seen = answers(GenerationMode.NEGATIVE, 60)
    of_json = {status for kind, status, _ in seen if kind == "application/json"}
    assert 422 in of_json
    assert of_json <= {413, 415, 422}
