"""A thermometer that is read by hand: entered once, then read with gloves on."""

from datetime import datetime, time
from decimal import Decimal
from typing import Any
from uuid import uuid4

from django import forms
from django.utils import timezone

from wintering.climate.models import Sensor
from wintering.frames.models import Frame
from wintering.science.by_hand import OTHER_UNIT
from wintering.science.units import TemperatureUnit
from wintering.web.forms.answers import AnswerField, BesideMixin
from wintering.web.forms.facts import FigureField
from wintering.web.forms.rounds import WhenField

NOW, MORNING, EARLIER = "now", "morning", "earlier"
# The hour at which it is most often read and only later written down.
EIGHT = time(8)
AS_WRITTEN, OTHER = "as-written", "other"


class ThermometerForm(BesideMixin, forms.ModelForm):
    """Said once of a thermometer: what it is called, where it hangs, what it shows."""

    beside = {"sensor_named_once": "name"}
    unit = forms.ChoiceField(
        label="It shows",
        choices=[(Sensor.Unit.CELSIUS, "°C"), (Sensor.Unit.FAHRENHEIT, "°F")],
        widget=forms.RadioSelect,
    )

    class Meta:
        model = Sensor
        fields = ["name", "place", "microclimate", "unit"]
        labels = {"place": "It measures"}
        help_texts = {"name": "As you would say it: 'Thermometer by the door'."}
        widgets = {"place": forms.RadioSelect}

    def __init__(self, *args: Any, frame: Frame, **kwargs: Any) -> None:
        instance = Sensor(frame=frame, is_min_max=True)
        super().__init__(*args, instance=instance, **kwargs)
        places = (Sensor.Place.AIR, Sensor.Place.ROOT, Sensor.Place.GROUND)
        known = [(place, place.label) for place in (*places, Sensor.Place.OUTSIDE)]
        unknown = (Sensor.Place.UNKNOWN, "don't know")
        self.fields["place"].choices = [*known, unknown]
        self.fields["microclimate"].queryset = frame.microclimates.all()
        self.fields["microclimate"].empty_label = "don't know"


class MinMaxForm(forms.Form):
    """What a min/max thermometer shows; by gloved thumb, from the last reading on."""

    low = FigureField(label="Lowest")
    high = FigureField(label="Highest")
    now = FigureField(label="Now", required=False)
    was_reset = AnswerField(label="Reset after reading", unknown="don't know")
    when = forms.ChoiceField(label="Read", widget=forms.RadioSelect, required=False)
    at = WhenField(label="When, if earlier", required=False)
    note = forms.CharField(label="Note", required=False, max_length=200)
    entry_id = forms.UUIDField(widget=forms.HiddenInput)
    # What was looked at again, and in which unit it is to be kept.
    sure = forms.CharField(required=False)

    def __init__(self, *args: Any, thermometer: Sensor, **kwargs: Any) -> None:
        kwargs["initial"] = {"entry_id": uuid4(), "when": NOW, **kwargs["initial"]}
        super().__init__(*args, **kwargs)
        self.unit = TemperatureUnit(thermometer.unit)
        this_morning = _eight_today() <= timezone.localtime()
        self.fields["when"].choices = [
            (NOW, "now"),
            *([(MORNING, "today, 08:00")] if this_morning else []),
            (EARLIER, "earlier"),
        ]
        missing = "Read it off, or press plus or minus."
        for name in ("low", "high"):
            self.fields[name].error_messages["required"] = missing

    @property
    def numbers(self) -> list[forms.BoundField]:
        return [self["low"], self["high"], self["now"]]

    def clean(self) -> None:
        when, at = self.cleaned_data.get("when"), self.cleaned_data.get("at")
        if when == MORNING and at:
            self.add_error("at", "Two times are given: choose one.")
        elif when == EARLIER and not at and "at" not in self.errors:
            self.add_error("at", "Say when it was read.")
        elif not at:
            at = _eight_today() if when == MORNING else timezone.now()
        self.cleaned_data["read_at"] = at

    @property
    def asked_of(self) -> str:
        """What a question is about; it is put anew if that changes."""
        low, high, now = (self.cleaned_data[name] for name in ("low", "high", "now"))
        year = timezone.localtime(self.cleaned_data["read_at"]).year
        return f"{low}|{high}|{now}|{year}"

    @property
    def reading(self) -> dict[str, Any]:
        """What the service takes."""
        answers = self.cleaned_data
        numbers, _, unit = answers["sure"].rpartition("|")
        is_sure = numbers == self.asked_of
        shown = OTHER_UNIT[self.unit] if is_sure and unit == OTHER else self.unit
        told = ("was_reset", "read_at", "note", "entry_id")
        return {
            **{name: _exactly(answers[name]) for name in ("low", "high", "now")},
            **{name: answers[name] for name in told},
            "unit": shown.value,
            "is_sure": is_sure,
        }

    def as_another(self) -> None:
        """What is written becomes a reading of its own."""
        self.data = self.data.copy()
        self.data["entry_id"] = str(uuid4())


def _exactly(value: float | None) -> Decimal | None:
    return None if value is None else Decimal(str(round(value, 3)))


def _eight_today() -> datetime:
    today = timezone.localdate()
    return datetime.combine(today, EIGHT, timezone.get_current_timezone())
