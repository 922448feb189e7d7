"""What people and checks say of a sensor, for its page."""

from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from urllib.parse import urlencode
from zoneinfo import ZoneInfo

from django.utils import timezone

from wintering.climate.models import MinMaxEntry, Sensor, Verdict
from wintering.climate.queries.checks import CheckLine, checks_of
from wintering.climate.queries.doubts import doubts_of
from wintering.climate.queries.min_max import HandReading, min_max_entries
from wintering.climate.queries.verdicts import MarkedSpan, marked_spans
from wintering.science.doubts import Doubt, Kind
from wintering.web.forms.clocks import on_the_clock
from wintering.web.forms.sensor_words import ASIDE, COUNTS

SPANS_SHOWN = 30
DOUBTS_SHOWN = 20
A_MINUTE = timedelta(minutes=1)
# So long before a check a sensor may have lain in ice already: own choice.
IN_THE_BATH = timedelta(hours=2)


@dataclass(frozen=True, slots=True)
class SpanLine:
    """A span that does not count, and where a keeper says that it does."""

    span: MarkedSpan
    counts_query: str


@dataclass(frozen=True, slots=True)
class DoubtLine:
    """Something odd, from when to when."""

    start_at: datetime
    end_at: datetime
    sentence: str


@dataclass(frozen=True, eq=False)
class SensorWords:
    """Of a window: what is set aside and by whom; of all time: checks and verdicts.

    spans       the newest of them; span_count tells how many there are
    doubts      what is odd and still counts, looked for since doubts_since; calm apart,
                because a frame under snow is often that calm
    bath_query  the two hours before the newest check, to be set aside, if it logged
    """

    checks: list[CheckLine]
    verdicts: list[Verdict]
    spans: list[SpanLine]
    span_count: int
    bath_query: str
    read_by_hand: list[HandReading]
    taken_back: list[MinMaxEntry]
    doubts: list[DoubtLine]
    doubt_count: int
    calm: list[DoubtLine]
    doubts_since: datetime


def sensor_words(
    sensor: Sensor, start: datetime, end: datetime, *, now: datetime
) -> SensorWords:
    """The number of statements does not grow with what was said."""
    if sensor.is_min_max:
        told = min_max_entries(sensor, start, end)[::-1]
        gone = sensor.min_max_entries.exclude(withdrawn_at=None)
        gone = gone.filter(read_at__gte=start, read_at__lt=end)
        back = list(gone.select_related("by").order_by("-read_at"))
        return SensorWords([], [], [], 0, "", told, back, [], 0, [], start)
    spans, checks = marked_spans(sensor, start, end), checks_of(sensor)
    doubts = doubts_of(sensor, start, end, now=now)
    sharp = [one for one in doubts.found if one.kind is not Kind.CALM]
    said = sensor.verdicts.select_related("by", "withdrawn_by").order_by("-at", "-pk")
    return SensorWords(
        checks=checks,
        verdicts=list(said),
        spans=[SpanLine(one, _counts(sensor, one)) for one in spans[:SPANS_SHOWN]],
        span_count=len(spans),
        bath_query=_bath(sensor, checks),
        read_by_hand=[],
        taken_back=[],
        doubts=[_doubt(one) for one in sharp[:DOUBTS_SHOWN]],
        doubt_count=len(sharp),
        calm=[_doubt(one) for one in doubts.found if one.kind is Kind.CALM],
        doubts_since=doubts.since,
    )


def _doubt(doubt: Doubt) -> DoubtLine:
    ends = (datetime.fromtimestamp(at, UTC) for at in (doubt.since_s, doubt.until_s))
    return DoubtLine(*ends, doubt.sentence)


def _counts(sensor: Sensor, span: MarkedSpan) -> str:
    """The whole minutes around a span."""
    start = span.start_at.replace(second=0)
    return _query(sensor, COUNTS, start, span.end_at.replace(second=0) + A_MINUTE)


def _bath(sensor: Sensor, checks: list[CheckLine]) -> str:
    standing = [one.check for one in checks if not one.check.withdrawn_at]
    if not standing:
        return ""
    at = standing[0].checked_at
    read = sensor.days.filter(first_at__lt=at, last_at__gte=at - IN_THE_BATH)
    if not read.exists():
        return ""
    return _query(sensor, ASIDE, at - IN_THE_BATH, at, reason="in the ice bath")


def _query(
    sensor: Sensor, counts: str, start: datetime, end: datetime, **more: str
) -> str:
    """By the frame's own clock, as the page of verdicts reads it."""
    zone = ZoneInfo(sensor.frame.time_zone)
    ends = {"start_at": start, "end_at": end}
    with timezone.override(zone):
        written = {name: on_the_clock(at) for name, at in ends.items()}
    return urlencode({"counts": counts, **written, **more})
