"""Fields for answers as the trade gives them: yes, no, don't know; a day or a month."""

import re
from calendar import monthrange
from datetime import date
from typing import Any

from django import forms
from django.core.exceptions import NON_FIELD_ERRORS, ValidationError
from django.utils import timezone

DAY_OR_MONTH = re.compile(r"(\d{4})(?:-(\d{1,2})(?:-(\d{1,2}))?)?", flags=re.ASCII)


class AnswerField(forms.TypedChoiceField):
    """Yes, no, and an honest third answer; None where it is the third."""

    def __init__(self, *, unknown: str, **kwargs: Any) -> None:
        super().__init__(
            choices=[("yes", "yes"), ("no", "no"), ("", unknown)],
            coerce=lambda answer: answer == "yes",
            empty_value=None,
            required=False,
            widget=forms.RadioSelect,
            **kwargs,
        )

    def prepare_value(self, value: object) -> object:
        return {True: "yes", False: "no"}.get(value, value)


class DayOrMonthField(forms.CharField):
    """A day, a month or a year, kept as its last day.

    The last day is the cautious reading where a shorter time since then is the more
    careful one, as with root work.
    """

    default_error_messages = {
        "unread": "Write a day such as 2026-04-12, a month such as 2026-04, or a year.",
        "ahead": "That lies ahead of today.",
    }

    def clean(self, value: object) -> date | None:
        text = super().clean(value)
        return self._last_day(text) if text else None

    def _last_day(self, text: str) -> date:
        match = DAY_OR_MONTH.fullmatch(text)
        if not match:
            raise ValidationError(self.error_messages["unread"])
        year, month, day = (int(part) if part else None for part in match.groups())
        try:
            first = date(year, month or 1, day or 1)
        except ValueError as error:
            raise ValidationError(self.error_messages["unread"]) from error
        today = timezone.localdate()
        if first > today:
            raise ValidationError(self.error_messages["ahead"])
        last_month = month or 12
        last = date(year, last_month, day or monthrange(year, last_month)[1])
        return min(last, today)


class BesideMixin:
    """Shows a row's refusals beside the field they speak of.

    beside  name of a constraint, or of a row's field that is not typed: field
    """

    beside: dict[str, str] = {}

    def add_error(self, field: str | None, error: object) -> None:
        refusal = (
            error if isinstance(error, ValidationError) else ValidationError(error)
        )
        for name, sentences in self._by_field(field, refusal).items():
            super().add_error(name, sentences)

    def _by_field(
        self, field: str | None, refusal: ValidationError
    ) -> dict[str | None, list[str]]:
        if hasattr(refusal, "error_dict"):
            told = refusal.message_dict
        else:
            told = {field or NON_FIELD_ERRORS: refusal.messages}
        found: dict[str | None, list[str]] = {}
        for name, sentences in told.items():
            for sentence in sentences:
                place = self._place_of(name, sentence)
                found.setdefault(place, []).append(sentence)
        return found

    def _place_of(self, name: str, sentence: str) -> str | None:
        if name in self.fields:
            return name
        if name in self.beside:
            return self.beside[name]
        for constraint in self._meta.model._meta.constraints:
            if constraint.get_violation_error_message() == sentence:
                return self.beside.get(constraint.name)
        return None
