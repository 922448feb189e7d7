"""What was found on a tree."""

from django import forms

from wintering.stays.models import ConditionReport


class ConditionForm(forms.ModelForm):
    class Meta:
        model = ConditionReport
        fields = ["grade", "vigour", "pests", "findings"]
        labels = {"grade": "Condition"}
        help_texts = {
            "findings": "Part, clock position (front is 6), kind, extent, old or new."
        }
        widgets = {
            "grade": forms.RadioSelect,
            "vigour": forms.RadioSelect,
            "pests": forms.RadioSelect,
            "findings": forms.Textarea({"rows": 4}),
        }
