"""What a keeper states of a taxon or a tree, and a taxon that is missing."""

import re
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.db.models import Count

from wintering.people.models import User
from wintering.science.hardiness import ROOT_CLASSES, RootClass
from wintering.science.units import f_to_c
from wintering.trees.attributes import Answer, Attribute
from wintering.trees.models import Taxon
from wintering.trees.queries import name_as_written
from wintering.web.forms.answers import AnswerField
from wintering.web.templatetags.units import (
    MINUS,
    plain_number,
    reads_fahrenheit,
    temperature,
)

# Up to so many answers are buttons.
BUTTONS = 6
THOUSANDS = re.compile(r"-?\d{1,3}(?:,\d{3})+", flags=re.ASCII)
REASON_WORDS = forms.Textarea({"rows": 2})


class FigureField(forms.FloatField):
    """A number as people write it: with a decimal comma, with a true minus sign."""

    default_error_messages = {
        "invalid": "Write a number, such as 8 or −8.5.",
        "comma": "Write it without a comma between thousands, such as 1000.",
    }

    def __init__(self, **kwargs: Any) -> None:
        # Not every phone's keys for numbers have a minus.
        widget = forms.TextInput({"autocomplete": "off"})
        super().__init__(widget=widget, **kwargs)

    def to_python(self, value: object) -> float | None:
        if isinstance(value, str):
            value = value.strip().replace(MINUS, "-")
            if THOUSANDS.fullmatch(value):
                raise ValidationError(self.error_messages["comma"])
            value = value.replace(",", ".")
        return super().to_python(value)


class FactForm(forms.Form):
    """A value of one attribute with the reason for it, asked as its kind of answer."""

    reason = forms.CharField(
        label="Why",
        max_length=1000,
        widget=REASON_WORDS,
        help_text="What you saw, for how long, how you measured: 'Two winters on the "
        "open bench, probe in the pot'. Clients read the value, but not this.",
        error_messages={"required": "Say what the value rests on."},
    )

    def __init__(
        self, *args: Any, attribute: Attribute, user: User, **kwargs: Any
    ) -> None:
        super().__init__(*args, **kwargs)
        self.attribute, self.user = attribute, user
        asked = {
            Answer.CHOICE: self._choice,
            Answer.RANGE: self._range,
            Answer.TEXT: self._text,
        }[attribute.answer]
        self.fields = {**asked(), **self.fields}

    def _choice(self) -> dict[str, forms.Field]:
        choices = _choices(self.attribute, self.user)
        widget = forms.RadioSelect if len(choices) <= BUTTONS else forms.Select
        message = {"required": "Choose one of the answers."}
        return {
            "value": forms.ChoiceField(
                label=self.attribute.label,
                choices=choices,
                widget=widget,
                error_messages=message,
            )
        }

    def _text(self) -> dict[str, forms.Field]:
        return {
            "value": forms.CharField(
                label=self.attribute.label,
                max_length=400,
                widget=forms.Textarea({"rows": 2}),
                error_messages={"required": "Say what you state."},
            )
        }

    def _range(self) -> dict[str, forms.Field]:
        found: dict[str, forms.Field] = {
            "low": FigureField(
                label="Figure, or lower end",
                error_messages={"required": "Give a figure."},
            ),
            "high": FigureField(
                label="Upper end",
                required=False,
                help_text="Only for a range; empty for one figure.",
            ),
        }
        if len(self.attribute.units) > 1:
            found["unit"] = forms.ChoiceField(
                label="Counted in",
                choices=self.attribute.units,
                widget=forms.RadioSelect,
                help_text="A figure is never turned from one count into another: "
                "choose the one it was measured in.",
                error_messages={"required": "Say in what it is counted."},
            )
        return found

    @property
    def is_in_fahrenheit(self) -> bool:
        """Whether a temperature is typed in °F; it is kept in °C."""
        return self._is_temperature and reads_fahrenheit(self.user)

    @property
    def _is_temperature(self) -> bool:
        return [unit for unit, _ in self.attribute.units] == ["°C"]

    @property
    def unit_words(self) -> str:
        """What stands behind the number; empty where the unit is chosen."""
        if len(self.attribute.units) != 1:
            return ""
        return "°F" if self.is_in_fahrenheit else self.attribute.units[0][1]

    @property
    def limits(self) -> str:
        """'−76.0 °F to 32.0 °F': between which ends a number must lie."""
        ends = (self.attribute.lowest, self.attribute.highest)
        if self._is_temperature:
            return " and ".join(temperature(end, self.user) for end in ends)
        return " and ".join(plain_number(end) for end in ends)

    @property
    def typed(self) -> list[tuple[str, str]]:
        """Each answer as it was typed, to be sent again unseen."""
        return [(self.add_prefix(name), self[name].value()) for name in self.fields]

    def clean(self) -> None:
        for name in ("low", "high"):
            figure = self.cleaned_data.get(name)
            if figure is None:
                continue
            figure_c = f_to_c(figure) if self.is_in_fahrenheit else figure
            self.cleaned_data[name] = figure_c
            if not self.attribute.lowest <= figure_c <= self.attribute.highest:
                self.add_error(name, f"It lies between {self.limits}.")
        low, high = self.cleaned_data.get("low"), self.cleaned_data.get("high")
        if low is not None and high is not None and high < low:
            self.add_error("high", "It lies below the lower end.")

    def stated(self) -> dict[str, Any]:
        """What the services ask for; figures in the attribute's own unit."""
        answers = {"attribute": self.attribute.name, **self.cleaned_data}
        if self.attribute.answer is not Answer.RANGE:
            return answers
        low = answers["low"]
        high = low if answers["high"] is None else answers["high"]
        unit = answers.get("unit") or self.attribute.units[0][0]
        return {
            **answers,
            "value": _range_words(low, high),
            "high": high,
            "unit": unit,
        }


def _range_words(low: float, high: float) -> str:
    """'-8', '300-500', '-15 to -8': as the catalogue writes a range."""
    ends = [f"{round(end, 1):g}" for end in (low, high)]
    if low == high:
        return ends[0]
    return (" to " if low < 0 else "-").join(ends)


def _choices(attribute: Attribute, user: User) -> tuple[tuple[str, str], ...]:
    if attribute.name != "root_class":
        return attribute.choices
    # RE speaks of green tips in the air, so it is no class of roots.
    kept = [one for one in RootClass if one is not RootClass.RE]
    return tuple((one.value, _class_words(one, user)) for one in kept)


def _class_words(one: RootClass, user: User) -> str:
    limits = ROOT_CLASSES[one]
    return f"{one}, killed at {temperature(limits.kill_c, user)}: {limits.meaning}"


class WithdrawForm(forms.Form):
    """Why a value is taken back."""

    reason = forms.CharField(
        label="Why you take it back",
        max_length=1000,
        widget=REASON_WORDS,
        error_messages={"required": "Say why the value is taken back."},
    )

    @property
    def typed(self) -> list[tuple[str, str]]:
        return [(self.add_prefix(name), self[name].value()) for name in self.fields]


class TaxonFilterForm(forms.Form):
    """What the catalogue is narrowed down to."""

    q = forms.CharField(
        label="Any of its names",
        required=False,
        max_length=80,
        widget=forms.TextInput({"type": "search", "autocomplete": "off"}),
    )
    kept = forms.ChoiceField(
        label="Show",
        required=False,
        choices=[("", "all"), ("here", "with trees here")],
        widget=forms.RadioSelect,
    )


class NewTaxonForm(forms.ModelForm):
    """A taxon that the catalogue does not have."""

    is_evergreen = AnswerField(label="Evergreen?", unknown="don't know")
    known: Taxon | None = None  # the one that has the name already

    class Meta:
        model = Taxon
        fields = [
            "scientific_name",
            "common_names",
            "original_script",
            "habit",
            "is_evergreen",
        ]
        labels = {
            "common_names": "Common names",
            "original_script": "Name in its own script",
        }
        help_texts = {
            "scientific_name": "Genus, or genus and epithet, such as Acer japonicum; "
            "a cultivar belongs to the tree.",
            "common_names": "Several with a semicolon between them.",
        }
        error_messages = {
            "scientific_name": {
                "unique": "The catalogue has this name already.",
                "required": "Say what it is called.",
            }
        }

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        choices = [*((habit, habit) for habit in _habits()), ("", "don't know")]
        self.fields["habit"] = forms.ChoiceField(
            label="Habit",
            choices=choices,
            required=False,
            widget=forms.RadioSelect if len(choices) <= BUTTONS else forms.Select,
            help_text="Where neither it nor its genus says anything, what holds for "
            "its habit stands in.",
        )

    def clean_scientific_name(self) -> str:
        """A keyboard has no sign of a hybrid: an x between two words is one."""
        name = name_as_written(self.cleaned_data["scientific_name"])
        name = name.replace(" x ", " ×")
        known = Taxon.objects.filter(scientific_name=name).first()
        if known:
            self.known = known
            raise ValidationError("The catalogue has this name already.")
        return name

    def clean(self) -> dict[str, Any]:
        told = super().clean() or self.cleaned_data
        habit, leaves = told.get("habit", ""), told.get("is_evergreen")
        said = {"evergreen": True, "deciduous": False}.get(habit.partition(" ")[0])
        if None not in (said, leaves) and said is not leaves:
            self.add_error(
                "is_evergreen",
                f"This contradicts its habit, {habit}: change one of the two.",
            )
        return told


def _habits() -> list[str]:
    """The habits of the catalogue, the most frequent first."""
    known = Taxon.objects.exclude(habit="").values("habit")
    return list(
        known.annotate(n=Count("pk")).order_by("-n").values_list("habit", flat=True)
    )
