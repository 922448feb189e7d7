"""What a keeper says of a sensor: what it showed in ice, which readings count."""

from typing import Any

from django import forms
from django.forms import BoundField

from wintering.climate.models import Sensor
from wintering.science.ice_bath import TAKEN
from wintering.science.units import TemperatureUnit
from wintering.web.forms.facts import FigureField
from wintering.web.forms.rounds import WhenField

COUNTS, ASIDE = "yes", "no"
TO_THE_SECOND = "%Y-%m-%dT%H:%M:%S"
SHOWN = [f"shown_{n}" for n in range(1, TAKEN + 1)]


class IceForm(forms.Form):
    """Ten readings in ice, in the unit that the sensor shows."""

    at = WhenField(label="Applies from")
    note = forms.CharField(label="Note", required=False, max_length=200)

    def __init__(self, *args: Any, sensor: Sensor, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.unit = TemperatureUnit(sensor.unit)
        for n, name in enumerate(SHOWN, 1):
            self.fields[name] = FigureField(label=f"{n}")
            self.fields[name].error_messages["required"] = f"Reading {n} is missing."

    @property
    def ten(self) -> list[BoundField]:
        return [self[name] for name in SHOWN]

    @property
    def shown(self) -> list[float]:
        return [self.cleaned_data[name] for name in SHOWN]

    @property
    def shown_c(self) -> list[float]:
        return [float(self.unit.to_c(value)) for value in self.shown]


class InstantField(WhenField):
    """An instant to the second: readings lie that close."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self.widget.format = TO_THE_SECOND
        self.widget.attrs["step"] = "1"


class VerdictForm(forms.Form):
    """A span of readings, and whether they count."""

    counts = forms.TypedChoiceField(
        label="These readings",
        choices=[(COUNTS, "count after all"), (ASIDE, "are set aside")],
        coerce=lambda answer: answer == COUNTS,
        widget=forms.RadioSelect,
    )
    start_at = InstantField(label="From")
    end_at = InstantField(label="Up to, without it")
    reason = forms.CharField(
        label="Why",
        max_length=200,
        widget=forms.TextInput({"list": "reasons", "autocomplete": "off"}),
        help_text="What you saw: 'door was open', 'sensor lay in the snow'.",
        error_messages={
            "required": "Say what you saw, for whoever wonders later.",
        },
    )

    def __init__(self, *args: Any, is_saving: bool, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self._is_saving = is_saving

    def clean(self) -> None:
        """What changes may be looked at before a reason is given."""
        if not self._is_saving and self.has_error("reason", "required"):
            del self.errors["reason"]

    @property
    def span(self) -> dict[str, Any]:
        return {name: self.cleaned_data[name] for name in ("start_at", "end_at")}


class TakeBackForm(forms.Form):
    """Why something is taken back."""

    reason = forms.CharField(label="Why", max_length=200)
