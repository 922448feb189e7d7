"""What a person says of a log: the file, what it leaves open, whose each column is."""

from collections.abc import Mapping, Sequence
from datetime import UTC, datetime
from typing import Any
from zoneinfo import ZoneInfo

from django import forms
from django.conf import settings
from django.core.exceptions import ValidationError
from django.core.files import File
from django.db.models import QuerySet

from wintering.climate.models import Sensor
from wintering.frames.models import Frame
from wintering.ingest.channels import Channel
from wintering.ingest.clock import zone_of
from wintering.ingest.dates import ORDER_NAMES
from wintering.ingest.preview import Preview, PreviewColumn

TAKEN_AT_FIRST = {"temperature", "humidity"}
FIRST_YEAR, LAST_YEAR = 1970, 2100  # in which a reading may be looked for
ASK_FILE = ("", "as the file says")
PASSES = {
    "first": "before they were put back",
    "second": "after they were put back",
}


class LogFileForm(forms.Form):
    # An empty file is refused by its reader, who says what was expected.
    log = forms.FileField(
        label="Log file",
        allow_empty_file=True,
        widget=forms.FileInput({"accept": ".csv,.txt,.tsv,.log,text/*"}),
        help_text="Text with one reading a row, as loggers export it.",
    )
    frame = forms.ModelChoiceField(
        Frame.objects.none(), empty_label=None, help_text="Where the logger stands."
    )

    def __init__(self, *args: Any, frames: QuerySet[Frame], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["frame"].queryset = frames

    def clean_log(self) -> File:
        log = self.cleaned_data["log"]
        limit_mb = settings.LOG_LIMIT_MB
        if log.size > limit_mb * 1_000_000:
            raise ValidationError(
                f"{log.name} is larger than {limit_mb} MB, the most that is read at "
                "once. Cut it into parts."
            )
        return log


class AnswersForm(forms.Form):
    """What the file alone may not settle."""

    zone = forms.CharField(
        label="Time zone of the logger's clock",
        required=False,
        max_length=64,
        widget=forms.TextInput({"list": "zones", "autocomplete": "off"}),
    )
    date_order = forms.ChoiceField(
        label="Dates are written",
        required=False,
        widget=forms.RadioSelect,
        choices=[ASK_FILE, *ORDER_NAMES.items()],
    )
    unit = forms.ChoiceField(
        label="Temperatures are in",
        required=False,
        widget=forms.RadioSelect,
        choices=[ASK_FILE, ("c", "°C"), ("f", "°F"), ("k", "K")],
    )

    repeated_hour = forms.ChoiceField(
        label="Rows of an hour that the clocks showed twice, where their order leaves "
        "it open",
        required=False,
        widget=forms.RadioSelect,
        choices=[ASK_FILE, *PASSES.items()],
    )

    def clean_zone(self) -> str:
        zone = self.cleaned_data["zone"]
        try:
            return zone if not zone or zone_of(zone) else ""
        except ValueError as error:
            raise ValidationError(str(error)) from error

    def choose_order(self, order: str) -> None:
        """Beforehand, where nothing was said: it is still to be sent."""
        self.initial["date_order"] = order
        if self.is_bound and not self.data.get("date_order"):
            self.data = {**self.data.dict(), "date_order": order}

    def answers(self) -> dict[str, Any]:
        given = self.cleaned_data if self.is_bound and self.is_valid() else {}
        return {name: given.get(name) or None for name in self.fields}


class ReasonForm(forms.Form):
    reason = forms.CharField(
        label="Why",
        max_length=200,
        help_text="So that it can be understood later.",
    )


class ChoiceForm(forms.Form):
    """Which of two values a sensor's readings are to have."""

    KEEP, TAKE = "keep", "take"

    choice = forms.ChoiceField(
        label="Which values count",
        widget=forms.RadioSelect,
        choices=[(KEEP, "Keep what is stored"), (TAKE, "Take this file's values")],
    )
    reason = forms.CharField(
        label="Why",
        max_length=200,
        help_text="So that it can be understood later.",
    )

    def __init__(self, *args: Any, sensor: Sensor, **kwargs: Any) -> None:
        super().__init__(*args, auto_id=f"id_{sensor.pk}_%s", **kwargs)
        self.sensor = sensor


class InstantForm(forms.Form):
    """A time on the frame's clocks, or with its offset from UTC."""

    at = forms.CharField(
        label="Time of the reading",
        widget=forms.DateTimeInput({"type": "datetime-local", "step": "1"}),
    )

    def __init__(self, *args: Any, frame: Frame, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.frame = frame
        self.fields["at"].help_text = f"As the clocks of {frame.time_zone} show it."

    def local(self, at: datetime) -> str:
        zone = ZoneInfo(self.frame.time_zone)
        return f"{at.astimezone(zone):%Y-%m-%dT%H:%M:%S}"

    def clean_at(self) -> list[datetime]:
        """The instant; both where the clocks show the time twice."""
        try:
            at = datetime.fromisoformat(self.cleaned_data["at"].strip())
            if not FIRST_YEAR <= at.year < LAST_YEAR:
                raise ValidationError(
                    f"Readings lie between {FIRST_YEAR} and {LAST_YEAR}: look at the "
                    "year again."
                )
            if at.tzinfo is not None:
                return [at.astimezone(UTC)]
            local = at.replace(tzinfo=ZoneInfo(self.frame.time_zone))
            return sorted({local.replace(fold=n).astimezone(UTC) for n in (0, 1)})
        except (ValueError, OverflowError) as error:
            raise ValidationError(
                "Write the time like 2025-01-19T06:10, or with its offset from UTC."
            ) from error


class ColumnForm(forms.Form):
    """One column: whether it is taken, and the sensor and place it was logged by."""

    is_taken = forms.BooleanField(label="Take this column", required=False)
    sensor = forms.CharField(max_length=80, required=False)
    place = forms.ChoiceField(
        required=False,
        widget=forms.RadioSelect,
        choices=[
            (value, "don't know" if value == Sensor.Place.UNKNOWN else label)
            for value, label in Sensor.Place.choices
        ],
    )
    microclimate = forms.ChoiceField(required=False)

    def __init__(
        self,
        *args: Any,
        column: PreviewColumn,
        frame: Frame,
        only: set[str] | None,
        **kwargs: Any,
    ) -> None:
        initial = _initial(column, frame)
        if only is not None:
            initial["is_taken"] = column.name in only
        super().__init__(*args, initial=initial, **kwargs)
        self.column = column
        self.frame = frame
        parts = frame.microclimates.values_list("slug", "name")
        self.fields["microclimate"].choices = [("", "don't know"), *parts]

    def clean(self) -> None:
        if self.cleaned_data.get("is_taken") and not self.cleaned_data.get("sensor"):
            self.add_error("sensor", "Name the sensor that wrote this column.")

    @property
    def known(self) -> Sensor | None:
        """The sensor that the readings would be added to, if it is there already."""
        name = self["sensor"].value() or ""
        return self.frame.sensors.filter(name=name).first()

    def channel(self) -> Channel:
        return Channel(
            column=self.column.name,
            sensor=self.cleaned_data["sensor"],
            place=self.cleaned_data["place"] or Sensor.Place.UNKNOWN,
            microclimate=self.cleaned_data["microclimate"],
        )


def _initial(column: PreviewColumn, frame: Frame) -> dict[str, Any]:
    """As this frame's last log had it; else as a sensor of that name is known."""
    told = column.suggested or Channel(column.name, column.name)
    sensor = frame.sensors.filter(name=told.sensor).first()
    place, part = told.place, told.microclimate
    if sensor:
        place = sensor.place
        part = sensor.microclimate.slug if sensor.microclimate else part
    return {
        "is_taken": bool(column.suggested) or column.quantity in TAKEN_AT_FIRST,
        "sensor": told.sensor,
        "place": place,
        "microclimate": part,
    }


def column_forms(
    data: Mapping[str, str] | None,
    preview: Preview,
    frame: Frame,
    *,
    only: set[str] | None = None,
) -> list[ColumnForm]:
    """A form for each column; `only` those are taken at first, if that is known."""
    return [
        ColumnForm(
            data, column=column, frame=frame, only=only, prefix=f"column-{number}"
        )
        for number, column in enumerate(preview.columns)
        if column.is_offered
    ]


def taken(forms_: Sequence[ColumnForm]) -> list[ColumnForm]:
    return [form for form in forms_ if form.cleaned_data.get("is_taken")]
