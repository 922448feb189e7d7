"""What is said of a sensor, and which days of it are asked for."""

from typing import Any

from django import forms
from django.utils import timezone

from wintering.climate.models import Sensor
from wintering.web.forms.answers import BesideMixin
from wintering.web.forms.stays import DAY

# Instants of readings are counted from 1970 on.
FIRST_YEAR = 1970
WEEK, MONTH, WINTER, OWN = "week", "month", "winter", "own"


class SensorForm(BesideMixin, forms.ModelForm):
    beside = {"sensor_named_once": "name"}

    class Meta:
        model = Sensor
        fields = ["name", "place", "microclimate"]
        labels = {"place": "Measures"}
        help_texts = {
            "microclimate": "The part of the frame it speaks for; flags rest on it."
        }
        widgets = {"place": forms.RadioSelect}

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["place"].choices = [
            (value, "don't know" if value == Sensor.Place.UNKNOWN else label)
            for value, label in Sensor.Place.choices
        ]
        parts = self.instance.frame.microclimates.all()
        self.fields["microclimate"].queryset = parts
        self.fields["microclimate"].empty_label = "don't know"


class RangeForm(forms.Form):
    """Which days are shown; what is not said is the last week."""

    range = forms.ChoiceField(
        label="Show",
        required=False,
        widget=forms.RadioSelect,
        choices=[
            (WEEK, "last week"),
            (MONTH, "last month"),
            (WINTER, "its winter"),
            (OWN, "from … to"),
        ],
    )
    since = forms.DateField(label="From", required=False, widget=DAY)
    until = forms.DateField(label="To", required=False, widget=DAY)

    def clean(self) -> None:
        since, until = (self.cleaned_data.get(name) for name in ("since", "until"))
        if self.cleaned_data.get("range") != OWN:
            return
        if not (since and until):
            self.add_error("since", "Give both days.")
        elif until < since:
            self.add_error("until", "The last day lies before the first.")
        elif since.year < FIRST_YEAR:
            self.add_error("since", f"No reading is older than {FIRST_YEAR}.")
        elif until > timezone.localdate():
            self.add_error("until", "That day lies ahead: nothing is measured yet.")
