"""Which local days a page shows."""

from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from django.db.models import Max, Min, QuerySet

from wintering.climate.models import ReadingDay, Sensor
from wintering.science.winter import Winter
from wintering.web.forms.climate import MONTH, OWN, WINTER, RangeForm


@dataclass(frozen=True, slots=True)
class Window:
    """Local days, the last one excluded."""

    since: date
    until: date
    zone: ZoneInfo

    @property
    def start(self) -> datetime:
        return datetime.combine(self.since, time(), self.zone)

    @property
    def end(self) -> datetime:
        return datetime.combine(self.until, time(), self.zone)

    @property
    def last_day(self) -> date:
        return self.until - timedelta(days=1)

    @property
    def start_s(self) -> int:
        return int(self.start.timestamp())

    @property
    def end_s(self) -> int:
        return int(self.end.timestamp())


def window_of(form: RangeForm, sensor: Sensor, now: datetime) -> Window:
    """The days asked for, up to the sensor's last reading where that is older."""
    return window_over(form, sensor.days.all(), ZoneInfo(sensor.frame.time_zone), now)


def window_over(
    form: RangeForm, days: QuerySet[ReadingDay], zone: ZoneInfo, now: datetime
) -> Window:
    """The days asked for, up to the last of some readings where that is older."""
    ends = days.aggregate(last=Max("last_at"))["last"]
    last = min(ends or now, now).astimezone(zone).date()
    until = last + timedelta(days=1)
    asked = form.cleaned_data if form.is_valid() else {}
    if asked.get("range") == OWN:
        return Window(asked["since"], asked["until"] + timedelta(days=1), zone)
    if asked.get("range") == WINTER:
        return Window(_first_day(days, Winter.of(last), zone), until, zone)
    length = 30 if asked.get("range") == MONTH else 7
    return Window(until - timedelta(days=length), until, zone)


def _first_day(days: QuerySet[ReadingDay], winter: Winter, zone: ZoneInfo) -> date:
    """The winter's first day with a reading."""
    in_winter = days.filter(day__gte=winter.first_day)
    first = in_winter.aggregate(first=Min("first_at"))["first"]
    # The first UTC day can begin on the local day before.
    first_on = first.astimezone(zone).date() if first else winter.first_day
    return max(first_on, winter.first_day)


def reach(days: QuerySet[ReadingDay], window: Window) -> tuple[int, int]:
    """From the first reading to the last, and at least the window [s]."""
    told = days.aggregate(first=Min("first_at"), last=Max("last_at"))
    if told["first"] is None:
        return window.start_s, window.end_s
    first, last = int(told["first"].timestamp()), int(told["last"].timestamp())
    return min(first, window.start_s), max(last + 60, window.end_s)
