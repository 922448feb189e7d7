"""Many sensors of one frame at once: which, from when to when, and their charts."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

from django import forms
from django.contrib.auth.models import AnonymousUser
from django.db.models import QuerySet

from wintering.climate.models import ReadingDay, Sensor
from wintering.frames.models import Frame
from wintering.people.models import User
from wintering.web.charts import Chart
from wintering.web.charts.columns import Picture, picture_of
from wintering.web.charts.giving import as_chart
from wintering.web.forms.charts import MOST_SENSORS
from wintering.web.forms.climate import RangeForm
from wintering.web.windows import Window, reach, window_over

STILL_COLUMNS = 300
"""Fewer than for one sensor, so that many lines stay light: own choice."""


class FrameRangeForm(RangeForm):
    """The days, and the sensors to draw; none chosen: all of them, up to the most."""

    sensors = forms.ModelMultipleChoiceField(
        Sensor.objects.none(), required=False, widget=forms.CheckboxSelectMultiple
    )

    def __init__(self, *args: Any, sensors: Sequence[Sensor], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.all = sensors
        pks = [sensor.pk for sensor in sensors]
        self.fields["sensors"].queryset = Sensor.objects.filter(pk__in=pks)

    @property
    def chosen(self) -> list[Sensor]:
        asked = self.cleaned_data.get("sensors") if self.is_valid() else None
        if not asked:
            return list(self.all)
        pks = {sensor.pk for sensor in asked}
        return [sensor for sensor in self.all if sensor.pk in pks]


@dataclass(frozen=True, slots=True, eq=False)
class FrameChart:
    picture: Picture
    chart: Chart
    left_out: int

    @property
    def keys(self) -> str:
        return ",".join(str(one.key) for one in self.picture.drawn)


@dataclass(frozen=True, slots=True, eq=False)
class FrameClimate:
    window: Window
    reach: tuple[int, int]
    charts: tuple[FrameChart, ...]


def frame_window(frame: Frame, form: FrameRangeForm, now: datetime) -> Window:
    return window_over(form, _days(form), ZoneInfo(frame.time_zone), now)


def _days(form: FrameRangeForm) -> QuerySet[ReadingDay]:
    return ReadingDay.objects.filter(sensor__in=[sensor.pk for sensor in form.all])


def frame_climate(
    frame: Frame,
    form: FrameRangeForm,
    now: datetime,
    user: User | AnonymousUser | None,
) -> FrameClimate:
    window = frame_window(frame, form, now)
    charts = []
    for quantity in Sensor.Quantity:
        sensors = [s for s in form.chosen if s.quantity == quantity]
        if not sensors:
            continue
        picture = picture_of(
            sensors[:MOST_SENSORS],
            window.start_s,
            window.end_s,
            points=STILL_COLUMNS,
            user=user,
        )
        left_out = max(0, len(sensors) - MOST_SENSORS)
        charts.append(FrameChart(picture, as_chart(picture), left_out))
    return FrameClimate(window, reach(_days(form), window), tuple(charts))
