"""What people and checks say of a sensor, for its page."""

from dataclasses import dataclass
from datetime import datetime, timedelta
from urllib.parse import urlencode

from django.utils import timezone

from wintering.climate.models import MinMaxEntry, Sensor, Verdict
from wintering.climate.queries.checks import CheckLine, checks_of
from wintering.climate.queries.min_max import HandReading, min_max_entries
from wintering.climate.queries.verdicts import MarkedSpan, marked_spans
from wintering.web.forms.sensor_words import ASIDE, COUNTS, TO_THE_SECOND

SPANS_SHOWN = 30
A_MINUTE = timedelta(minutes=1)
IN_THE_BATH = timedelta(hours=2)


@dataclass(frozen=True, slots=True)
class SpanLine:
    """A span that does not count, and where a keeper says that it does."""

    span: MarkedSpan
    counts_query: str


@dataclass(frozen=True, eq=False)
class SensorWords:
    """Of a window: what is set aside and by whom; of all time: checks and verdicts.

    spans       the newest of them; span_count tells how many there are
    bath_query  the two hours before the newest check, to be set aside, if it logged
    """

    checks: list[CheckLine]
    verdicts: list[Verdict]
    spans: list[SpanLine]
    span_count: int
    bath_query: str
    read_by_hand: list[HandReading]
    taken_back: list[MinMaxEntry]


def sensor_words(sensor: Sensor, start: datetime, end: datetime) -> SensorWords:
    """The number of statements does not grow with what was said."""
    if sensor.is_min_max:
        told = min_max_entries(sensor, start, end)[::-1]
        gone = sensor.min_max_entries.exclude(withdrawn_at=None)
        gone = gone.filter(read_at__gte=start, read_at__lt=end)
        back = list(gone.select_related("by").order_by("-read_at"))
        return SensorWords([], [], [], 0, "", told, back)
    spans, checks = marked_spans(sensor, start, end), checks_of(sensor)
    said = sensor.verdicts.select_related("by", "withdrawn_by").order_by("-at", "-pk")
    return SensorWords(
        checks=checks,
        verdicts=list(said),
        spans=[SpanLine(one, _counts(one)) for one in spans[:SPANS_SHOWN]],
        span_count=len(spans),
        bath_query=_bath(sensor, checks),
        read_by_hand=[],
        taken_back=[],
    )


def _counts(span: MarkedSpan) -> str:
    """The whole minutes around a span."""
    start = span.start_at.replace(second=0)
    return _query(COUNTS, start, span.end_at.replace(second=0) + A_MINUTE)


def _bath(sensor: Sensor, checks: list[CheckLine]) -> str:
    standing = [one.check for one in checks if not one.check.withdrawn_at]
    if not standing:
        return ""
    at = standing[0].checked_at
    read = sensor.days.filter(first_at__lt=at, last_at__gte=at - IN_THE_BATH)
    if not read.exists():
        return ""
    return _query(ASIDE, at - IN_THE_BATH, at, reason="in the ice bath")


def _query(counts: str, start: datetime, end: datetime, **more: str) -> str:
    ends = {"start_at": start, "end_at": end}
    written = {
        name: timezone.localtime(at).strftime(TO_THE_SECOND)
        for name, at in ends.items()
    }
    return urlencode({"counts": counts, **written, **more})
