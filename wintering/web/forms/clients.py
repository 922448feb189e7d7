"""What is typed about a client, and about what was agreed with them."""

from typing import Any

from django import forms
from django.db.models import Q

from wintering.clients.models import Agreement, Client
from wintering.clients.services import unused_mark
from wintering.people.models import User
from wintering.web.forms.answers import AnswerField, BesideMixin


class ClientForm(forms.ModelForm):
    mark = forms.CharField(
        label="Owner mark",
        max_length=6,
        required=False,
        help_text="Short, for tree lines and sheets. Left empty: the initials.",
    )

    class Meta:
        model = Client
        fields = [
            "name",
            "mark",
            "phone",
            "email",
            "deputy_name",
            "deputy_phone",
            "user",
            "notes",
        ]
        labels = {
            "email": "E-mail",
            "deputy_name": "Deputy",
            "deputy_phone": "Deputy's phone",
            "user": "Signs in as",
        }
        help_texts = {"deputy_name": "Who answers when the client can't be reached."}
        widgets = {
            "phone": forms.TextInput({"type": "tel", "autocomplete": "off"}),
            "deputy_phone": forms.TextInput({"type": "tel", "autocomplete": "off"}),
        }

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        free = Q(client=None) | Q(client=self.instance.pk)
        people = User.objects.filter(role=User.Role.CLIENT, is_active=True)
        self.fields["user"].queryset = people.filter(free)
        self.fields["user"].empty_label = "does not sign in"

    def clean_mark(self) -> str:
        return self.cleaned_data["mark"] or unused_mark(
            self.cleaned_data.get("name", "")
        )


class AgreementForm(BesideMixin, forms.ModelForm):
    beside = {"agreement_collection_ends_after_start": "collect_until"}

    wake_at_night = AnswerField(label="Wake at night?", unknown="not asked yet")

    class Meta:
        model = Agreement
        fields = [
            "trees_agreed",
            "currency",
            "fee_per_module",
            "deposit",
            "may_spend",
            "wake_at_night",
            "collect_from",
            "collect_until",
            "signed_on",
            "terms",
        ]
        labels = {
            "trees_agreed": "Trees, at most",
            "fee_per_module": "Fee for a module",
            "may_spend": "May spend without asking",
            "collect_from": "Collection from",
            "collect_until": "Collection until",
            "signed_on": "Signed on",
        }
        help_texts = {
            "trees_agreed": "More only by a signed addendum.",
            "currency": "Three letters, such as EUR.",
            "may_spend": "For one tree in an emergency.",
            "terms": "What may be done to a tree (cut biting wire, spray with what, "
            "move off site), and who else may be called.",
        }
        widgets = {
            name: forms.DateInput({"type": "date"}, format="%Y-%m-%d")
            for name in ("collect_from", "collect_until", "signed_on")
        }

    def clean_currency(self) -> str:
        return self.cleaned_data["currency"].upper()
