"""What a keeper says of a logger that sends by itself."""

from typing import Any

from django import forms
from django.db.models import QuerySet

from wintering.climate.measurements import LONGEST_NAME
from wintering.climate.models import Logger, Sensor
from wintering.frames.models import Frame


class LoggerForm(forms.Form):
    frame = forms.ModelChoiceField(Frame.objects.none(), empty_label=None)
    name = forms.CharField(
        max_length=Logger._meta.get_field("name").max_length,
        help_text="What is written on it, or where it hangs.",
    )

    def __init__(self, *args: Any, frames: QuerySet[Frame], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["frame"].queryset = frames


class ChannelForm(forms.Form):
    """Which sensor a name that a logger sends is."""

    name = forms.CharField(
        label="It sends",
        max_length=LONGEST_NAME,
        help_text="The name exactly as the logger writes it.",
    )
    sensor = forms.ModelChoiceField(
        Sensor.objects.none(), label="That is the sensor", empty_label=None
    )

    def __init__(
        self,
        *args: Any,
        sensors: QuerySet[Sensor],
        is_known: bool,
        **kwargs: Any,
    ) -> None:
        super().__init__(*args, **kwargs)
        self.fields["sensor"].queryset = sensors
        if is_known:
            del self.fields["name"]
