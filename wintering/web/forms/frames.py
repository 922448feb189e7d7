"""What is typed about a frame, its parts and what stands on its floor."""

from collections.abc import Callable
from datetime import date
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils import timezone
from django.utils.text import slugify

from wintering.frames.models import Bench, Fitting, Frame, Microclimate
from wintering.science.winter import Winter
from wintering.web.forms.answers import BesideMixin

# Addresses of pages beside the frames' own.
TAKEN_SLUGS = {"add"}


class NamedForm(BesideMixin, forms.ModelForm):
    """A row whose address is made of its name."""

    def clean_name(self) -> str:
        name = self.cleaned_data["name"]
        slug = slugify(name)
        if not slug or slug in TAKEN_SLUGS:
            raise ValidationError(
                "Its address is made of this name: use some plain letters or digits, "
                "and not the word 'add' alone."
            )
        return name


class FrameForm(NamedForm):
    beside = {
        "slug": "name",
        "frame_size_is_positive": "width_cm",
        "frame_lies_on_earth": "latitude_deg",
    }

    class Meta:
        model = Frame
        fields = [
            "name",
            "kind",
            "width_cm",
            "depth_cm",
            "north_deg",
            "time_zone",
            "latitude_deg",
            "longitude_deg",
            "notes",
        ]
        labels = {
            "width_cm": "Width inside",
            "depth_cm": "Depth inside",
            "north_deg": "North",
        }
        help_texts = {
            "width_cm": "Along the plan from left to right.",
            "depth_cm": "From the plan's lower edge to its upper.",
            "north_deg": "Where north lies, clockwise from the top of the plan.",
            "time_zone": "Such as Europe/Oslo: nights and days are judged in it.",
            "latitude_deg": "In degrees north. With it the length of the days speaks "
            "for a tree's stage; a tenth of a degree is enough.",
            "longitude_deg": "In degrees, west below zero.",
        }
        widgets = {
            "kind": forms.RadioSelect,
            "time_zone": forms.TextInput({"list": "zones", "autocomplete": "off"}),
        }


class FrameChangeForm(FrameForm):
    """Of a frame that stands: its size and its address stay."""

    class Meta(FrameForm.Meta):
        fields = [
            "name",
            "kind",
            "north_deg",
            "time_zone",
            "latitude_deg",
            "longitude_deg",
            "exit_on",
            "notes",
        ]
        help_texts = {
            **FrameForm.Meta.help_texts,
            "exit_on": "When trees are planned to leave it this winter: by then their "
            "chill should be complete. Empty: 1 March.",
        }
        widgets = {
            **FrameForm.Meta.widgets,
            "exit_on": forms.DateInput({"type": "date"}, format="%Y-%m-%d"),
        }

    def clean_exit_on(self) -> date | None:
        """A slip in the year would move every reckoning of chill with it."""
        exit_on = self.cleaned_data["exit_on"]
        this = Winter.of(timezone.localdate())
        first, last = this.first_day, Winter(this.start_year + 1).last_day
        if exit_on and not first <= exit_on <= last:
            raise ValidationError(
                "That day is neither in this winter nor in the next: give one from "
                f"{first:%-d %B %Y} to {last:%-d %B %Y}, or leave it empty."
            )
        return exit_on


class MicroclimateForm(NamedForm):
    beside = {
        "slug": "name",
        "microclimate_band_in_order": "safe_high_c",
        "microclimate_follows_another": "follows",
    }

    class Meta:
        model = Microclimate
        fields = [
            "name",
            "follows",
            "offset_k",
            "safe_low_c",
            "safe_high_c",
            "best_c",
        ]
        labels = {
            "follows": "Has no sensor: follows",
            "offset_k": "Warmer by",
            "safe_low_c": "Safe from",
            "safe_high_c": "Safe to",
            "best_c": "Best near",
        }
        help_texts = {
            "follows": "The part whose sensor speaks for it.",
            "offset_k": "Added to the followed temperature; below zero where colder.",
            "safe_low_c": "1.7 to 7.2 °C (35 to 45 °F) is common practice for dormant "
            "trees, best near 4.4 °C.",
        }

    def __init__(self, *args: Any, frame: Frame, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        others = frame.microclimates.exclude(pk=self.instance.pk)
        self.fields["follows"].queryset = others
        self.fields["follows"].empty_label = "none: it has its own"


class BenchForm(BesideMixin, forms.ModelForm):
    beside = {"bench_named_once": "name", "bench_size_is_positive": "width_cm"}

    module_cm = forms.FloatField(
        label="Module",
        initial=45,
        min_value=5,
        help_text="Side of one place. The bench is ruled in these; 5 cm is as good as "
        "free placing.",
    )
    microclimate = forms.ModelChoiceField(
        Microclimate.objects.none(),
        empty_label=None,
        help_text="Which part it lies in.",
    )
    other_microclimate = forms.ModelChoiceField(
        Microclimate.objects.none(),
        required=False,
        empty_label="none",
        help_text="Where some columns lie in another part, such as at the pipe outlet.",
    )
    other_from = forms.IntegerField(label="From column", required=False, min_value=1)
    other_until = forms.IntegerField(label="To column", required=False, min_value=1)

    class Meta:
        model = Bench
        fields = [
            "name",
            "level",
            "x_cm",
            "y_cm",
            "width_cm",
            "depth_cm",
            "height_cm",
            "headroom_cm",
            "weight_limit_kg",
            "front",
            "count_from",
        ]
        labels = {
            "x_cm": "From the left",
            "y_cm": "From below",
            "width_cm": "Width",
            "depth_cm": "Depth",
            "height_cm": "Height above the floor",
            "headroom_cm": "Headroom",
            "weight_limit_kg": "May carry",
            "front": "Front",
            "count_from": "Columns count from",
        }
        help_texts = {
            "name": "Short: it begins every label, such as N1 in N1-07b.",
            "x_cm": "On the plan, from the frame's left inner wall.",
            "y_cm": "On the plan, from the frame's lower inner wall.",
        }
        widgets = {"front": forms.RadioSelect, "count_from": forms.RadioSelect}

    def __init__(self, *args: Any, frame: Frame, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        parts = frame.microclimates.all()
        self.fields["microclimate"].queryset = parts
        self.fields["other_microclimate"].queryset = parts

    def clean(self) -> None:
        super().clean()
        other = self.cleaned_data.get("other_microclimate")
        if other and not self.cleaned_data.get("other_from"):
            self.add_error("other_from", "Say from which column on.")

    def ruling(self) -> dict[str, Any]:
        """The bench as the service wants it, each module in its microclimate."""
        fields = dict(self.cleaned_data)
        part, other = fields.pop("microclimate"), fields.pop("other_microclimate")
        first, last = fields.pop("other_from"), fields.pop("other_until")
        fields["microclimate_of"] = _microclimate_of(part, other, first, last)
        return fields


def _microclimate_of(
    part: Microclimate,
    other: Microclimate | None,
    first: int | None,
    last: int | None,
) -> Callable[[int, int], Microclimate]:
    def microclimate_of(column: int, row: int) -> Microclimate:
        is_other = first and first <= column and (last is None or column <= last)
        return other if other and is_other else part

    return microclimate_of


class FittingForm(forms.ModelForm):
    class Meta:
        model = Fitting
        fields = ["kind", "x_cm", "y_cm", "width_cm", "depth_cm"]
        labels = {
            "x_cm": "From the left",
            "y_cm": "From below",
            "width_cm": "Width",
            "depth_cm": "Depth",
        }
        help_texts = {"x_cm": "On the plan, from the frame's left inner wall."}
        widgets = {"kind": forms.RadioSelect}
