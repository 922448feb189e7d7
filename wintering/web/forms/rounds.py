"""What is written down on a round, pot by pot, with gloves on."""

from datetime import datetime
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils import timezone

from wintering.care.models import Observation
from wintering.care.services import Seen
from wintering.trees.models import Tree
from wintering.web.forms.clocks import clock_refusal, on_the_clock, takes_offset

# BBCH codes: Meier (ed.) 2001, BBCH Monograph, 2nd ed.; the wording is from memory.
BUD_STAGES = [
    ("", "not looked"),
    (0, "00 dormant"),
    (1, "01 swelling begins"),
    (3, "03 swelling ends"),
    (7, "07 burst begins, green just seen"),
    (9, "09 green tips"),
    (10, "10 leaves part"),
    (11, "11 first leaf unfolded"),
]
Moisture = Observation.Moisture
# In the order of a gloved hand: what is found most comes first.
SEEN = [
    ("", "nothing noted"),
    (Moisture.DRY, "dry"),
    (Moisture.MOIST, "moist"),
    (Moisture.WET, "wet"),
    (Moisture.FROZEN, "frozen"),
    (Moisture.NOT_CHECKED, "could not check"),
]
NO_ANSWER = "Say how the root ball was, or 'could not check'."
LOCAL = "%Y-%m-%dT%H:%M"


class WhenInput(forms.DateTimeInput):
    """The browser's own field, or plain text where a time needs its offset from UTC."""

    def get_context(
        self, name: str, value: object, attrs: dict[str, Any] | None
    ) -> dict[str, Any]:
        context = super().get_context(name, value, attrs)
        if isinstance(value, str) and takes_offset(value):
            context["widget"] |= {"type": "text"}
            context["widget"]["attrs"].pop("type", None)
        return context


class WhenField(forms.DateTimeField):
    """An instant on the person's own clock, or with its offset from UTC."""

    def __init__(self, **kwargs: Any) -> None:
        widget = WhenInput({"type": "datetime-local"}, format=LOCAL)
        super().__init__(widget=widget, input_formats=[LOCAL, f"{LOCAL}:%S"], **kwargs)

    def prepare_value(self, value: object) -> object:
        """An instant that the clocks show twice keeps its offset."""
        if isinstance(value, datetime) and timezone.is_aware(value):
            written = on_the_clock(value)
            if takes_offset(written):
                return written
        return super().prepare_value(value)

    def to_python(self, value: object) -> datetime | None:
        refusal = clock_refusal(value) if isinstance(value, str) else ""
        if refusal:
            raise ValidationError(refusal)
        return super().to_python(value)

    def clean(self, value: object) -> datetime | None:
        at = super().clean(value)
        if at and at > timezone.now():
            raise ValidationError("That lies ahead: write down what has happened.")
        return at


class SeenForm(forms.Form):
    """One tree; what is left open says nothing of it."""

    moisture = forms.ChoiceField(
        choices=SEEN, required=False, widget=forms.RadioSelect, label="Root ball"
    )
    was_watered = forms.BooleanField(label="watered", required=False)
    bud_stage = forms.TypedChoiceField(
        label="Buds",
        choices=BUD_STAGES,
        required=False,
        coerce=int,
        empty_value=None,
    )
    note = forms.CharField(required=False, max_length=2000)

    def __init__(
        self,
        *args: Any,
        tree: Tree | None = None,
        is_rest_checked: bool = False,
        **kwargs: Any,
    ) -> None:
        super().__init__(*args, **kwargs)
        self.tree, self.is_rest_checked = tree, is_rest_checked

    def clean(self) -> None:
        is_answered = "moisture" in self.errors or self.cleaned_data.get("moisture")
        if self.says_something and not is_answered:
            self._answer_by_the_tick()
        if self.cleaned_data.get("moisture") == Moisture.NOT_CHECKED and (
            self.cleaned_data.get("was_watered")
        ):
            self.add_error(
                "moisture", "A pot that could not be checked was not watered either."
            )

    def _answer_by_the_tick(self) -> None:
        """Where only buds are noted, the tick at the end speaks for the root ball."""
        answers = self.cleaned_data
        if answers.get("was_watered") or answers.get("note"):
            self.add_error("moisture", NO_ANSWER)
        elif self.is_rest_checked:
            answers["moisture"] = Moisture.NO_FINDING
        else:
            self.add_error(
                "moisture",
                "Only its buds are noted: say how the root ball was, or tick at the "
                "end that the rest was checked.",
            )

    @property
    def says_something(self) -> bool:
        answers = self.cleaned_data
        return bool(
            answers.get("moisture")
            or answers.get("was_watered")
            or answers.get("note")
            or answers.get("bud_stage") is not None
        )

    @property
    def has_more(self) -> bool:
        """Whether buds or a note were written."""
        stage = self["bud_stage"].value()
        return bool(self["note"].value()) or stage not in {None, ""}

    @property
    def is_open(self) -> bool:
        """Whether anything was written, or is refused."""
        answers = (self["moisture"].value(), self["was_watered"].value())
        return any(answers) or self.has_more or bool(self.errors)

    def seen(self, tree: Tree) -> Seen:
        return Seen(tree=tree, **self.cleaned_data)


class RoundForm(forms.Form):
    at = WhenField(label="Walked")
    is_rest_checked = forms.BooleanField(
        label="Rest of the frame checked, nothing to note", required=False
    )
    note = forms.CharField(
        label="Note on the round",
        required=False,
        widget=forms.Textarea({"rows": 2}),
        help_text="Vents, snow, traps, smell, door.",
    )


class CheckForm(SeenForm):
    """One tree, outside any round."""

    at = WhenField(label="Looked at")

    field_order = ("moisture", "was_watered", "bud_stage", "note", "at")

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["moisture"].required = True
        self.fields["moisture"].error_messages["required"] = NO_ANSWER

    def seen(self, tree: Tree) -> Seen:
        answers = {k: v for k, v in self.cleaned_data.items() if k != "at"}
        return Seen(tree=tree, **answers)
