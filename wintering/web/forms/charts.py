"""What a chart is asked for: which sensors, from when to when, how wide."""

from collections.abc import Sequence
from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from wintering.climate.models import Sensor
from wintering.climate.queries import sensors_for
from wintering.people.models import User

MOST_SENSORS = 20
"""More lines than this nobody tells apart: own choice."""

NARROWEST_PX, WIDEST_PX = 40, 8000
COLUMN_PX = 2
LAST_S = 4_102_444_800  # 1 January 2100, UTC


class StretchForm(forms.Form):
    """Seconds since 1970 in UTC, and the width of the chart in pixels."""

    start = forms.IntegerField(
        min_value=0,
        max_value=LAST_S,
        error_messages={
            "required": "Say from when: start, in seconds since 1970.",
            "invalid": "start is a whole number of seconds since 1970.",
            "min_value": "No reading is older than 1970: give a later start.",
            "max_value": "start lies beyond the year 2100: give seconds, not more.",
        },
    )
    end = forms.IntegerField(
        min_value=0,
        max_value=LAST_S,
        error_messages={
            "required": "Say until when: end, in seconds since 1970.",
            "invalid": "end is a whole number of seconds since 1970.",
            "min_value": "No reading is older than 1970: give a later end.",
            "max_value": "end lies beyond the year 2100: give seconds, not more.",
        },
    )
    width = forms.IntegerField(
        min_value=NARROWEST_PX,
        max_value=WIDEST_PX,
        error_messages={
            "required": "Say how wide the chart is: width, in pixels.",
            "invalid": "width is a whole number of pixels.",
            "min_value": f"A chart is at least {NARROWEST_PX} pixels wide.",
            "max_value": f"A chart is at most {WIDEST_PX} pixels wide.",
        },
    )

    def clean(self) -> dict[str, Any]:
        start, end = (self.cleaned_data.get(name) for name in ("start", "end"))
        if start is not None and end is not None and end <= start:
            raise ValidationError("The end must come after the start.")
        return self.cleaned_data

    @property
    def points(self) -> int:
        return int(self.cleaned_data["width"]) // COLUMN_PX

    @property
    def refusal(self) -> str:
        """The first sentence of what is wrong."""
        return next(iter(self.errors.values()))[0]


class ChartForm(StretchForm):
    sensors = forms.CharField(
        error_messages={"required": "Name the sensors: their numbers, with commas."}
    )

    def __init__(self, *args: Any, user: User, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.user = user

    def clean_sensors(self) -> Sequence[Sensor]:
        told = self.cleaned_data["sensors"].split(",")
        if not all(one.isascii() and one.isdigit() and len(one) < 19 for one in told):
            raise ValidationError("sensors are numbers with commas between: 3,5,8.")
        pks = list(dict.fromkeys(int(one) for one in told))
        if len(pks) > MOST_SENSORS:
            raise ValidationError(
                f"A chart shows up to {MOST_SENSORS} sensors: choose fewer."
            )
        found = sensors_for(self.user).in_bulk(pks)
        missing = [pk for pk in pks if pk not in found]
        if missing:
            raise ValidationError(f"There is no sensor {missing[0]}.")
        sensors = [found[pk] for pk in pks]
        _check_together(sensors)
        return sensors


def _check_together(sensors: Sequence[Sensor]) -> None:
    if len({sensor.frame_id for sensor in sensors}) > 1:
        raise ValidationError("One chart shows the sensors of one frame.")
    if len({sensor.quantity for sensor in sensors}) > 1:
        raise ValidationError(
            "Temperatures and humidities are charted apart: choose one of them."
        )
