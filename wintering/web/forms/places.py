"""Where a tree is to stand: first looked at, then kept."""

import re
from datetime import date
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.db.models import Q, QuerySet

from wintering.frames.models import Frame, Module
from wintering.web.forms.stays import DAY, not_ahead


class LookForm(forms.Form):
    """A place to be looked at: modules of the plan or the list, or a typed label."""

    module = forms.ModelMultipleChoiceField(
        Module.objects.none(),
        required=False,
        error_messages={"invalid_choice": "That place is not in this frame."},
    )
    label = forms.CharField(
        label="Or type its label",
        required=False,
        max_length=200,
        widget=forms.TextInput({"autocomplete": "off", "autocapitalize": "characters"}),
        help_text="Such as N1-07b; for a wide tree two: N1-07b, N1-08b.",
    )

    def __init__(self, *args: Any, frame: Frame, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        places = Module.objects.filter(bench__frame=frame)
        self.fields["module"].queryset = places.select_related("bench")

    def chosen(self) -> list[Module]:
        """The modules meant; none where what was typed says nothing."""
        if not self.is_valid():
            return []
        typed = self.cleaned_data["label"]
        if not typed:
            return list(self.cleaned_data["module"])
        try:
            return labelled(self.fields["module"].queryset, typed)
        except ValidationError as refusal:
            self.add_error("label", refusal)
            return []


class PlaceForm(forms.Form):
    module = forms.ModelMultipleChoiceField(
        Module.objects.none(),
        error_messages={
            "required": "Choose a place on the plan first.",
            "invalid_choice": "That place is not in this frame.",
        },
    )
    on = forms.DateField(label="Since", widget=DAY)
    reason = forms.CharField(
        label="Why there",
        required=False,
        max_length=300,
        help_text="So that next winter can judge it.",
    )

    def __init__(self, *args: Any, frame: Frame, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        places = Module.objects.filter(bench__frame=frame)
        self.fields["module"].queryset = places.select_related("bench")

    def clean_on(self) -> date:
        return not_ahead(self.cleaned_data["on"])


def labelled(modules: QuerySet[Module], typed: str) -> list[Module]:
    """The modules of typed labels; capitals do not matter."""
    labels = [label for label in re.split(r"[,;\s]+", typed.strip()) if label]
    wanted = Q(pk=None)
    for label in labels:
        wanted |= Q(label__iexact=label)
    found = {module.label.lower(): module for module in modules.filter(wanted)}
    missing = [label for label in labels if label.lower() not in found]
    if missing:
        raise ValidationError(f"No place here is labelled {', '.join(missing)}.")
    return list(found.values())
