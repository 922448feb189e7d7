"""What is typed about a stay: its dates, what was declared, how it ends."""

from datetime import date
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils import timezone

from wintering.people.models import User
from wintering.stays.models import Stay
from wintering.web.forms.answers import BesideMixin

DAY = forms.DateInput({"type": "date"}, format="%Y-%m-%d")
MONEY = {"inputmode": "decimal"}


class StayForm(BesideMixin, forms.ModelForm):
    """The agreed stay. What a tree is worth is between client and keeper."""

    beside = {
        "stay_planned_end_after_start": "planned_until",
        "stay_declared_values_not_negative": "declared_tree_value",
    }
    keeper_fields = ("declared_tree_value", "declared_pot_value", "currency")

    class Meta:
        model = Stay
        fields = [
            "since",
            "planned_until",
            "declared_tree_value",
            "declared_pot_value",
            "currency",
            "depositor",
            "agreed",
        ]
        labels = {
            "since": "Arrived on",
            "planned_until": "Collection planned on",
            "declared_tree_value": "Declared value, tree",
            "declared_pot_value": "Declared value, pot",
            "depositor": "Handed over by",
            "agreed": "What was agreed",
        }
        help_texts = {
            "currency": "Three letters, such as EUR.",
            "depositor": "If not the owner.",
            "agreed": "For this tree, beyond the winter's agreement.",
        }
        widgets = {
            "since": DAY,
            "planned_until": DAY,
            "declared_tree_value": forms.NumberInput(MONEY),
            "declared_pot_value": forms.NumberInput(MONEY),
            "agreed": forms.Textarea({"rows": 3}),
        }

    def __init__(self, *args: Any, by: User, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        if not by.is_keeper:
            for name in self.keeper_fields:
                del self.fields[name]

    def clean_since(self) -> date:
        return not_ahead(self.cleaned_data["since"])

    def clean_currency(self) -> str:
        return self.cleaned_data["currency"].upper()

    def clean(self) -> None:
        super().clean()
        values = (
            self.cleaned_data.get("declared_tree_value"),
            self.cleaned_data.get("declared_pot_value"),
        )
        if any(values) and not self.cleaned_data.get("currency", "-"):
            self.add_error("currency", "Say in which currency the value is declared.")


class CheckOutForm(forms.Form):
    on = forms.DateField(label="Handed back on", widget=DAY)

    def clean_on(self) -> date:
        return not_ahead(self.cleaned_data["on"])


def not_ahead(day: date) -> date:
    if day > timezone.localdate():
        raise ValidationError("That day lies ahead: write down what has happened.")
    return day
