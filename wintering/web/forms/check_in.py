"""The parts of a check-in that speak of client, taxon, tree, pot and photo."""

from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.core.files import File
from django.db.models import QuerySet

from wintering.clients.models import Client
from wintering.people.models import User
from wintering.trees.models import Pot, Taxon, Tree
from wintering.trees.names import plain
from wintering.trees.photos import check_photo
from wintering.web.forms.answers import AnswerField, BesideMixin, DayOrMonthField

# What no pot for a tree on a bench exceeds, own choice: a slip of the pen, or mm.
LARGEST_CM = {"width_cm": 200, "depth_cm": 200, "height_cm": 100}
LARGEST_WORDS = {"width_cm": "wide", "depth_cm": "deep", "height_cm": "high"}
# More than these are no choice: the typed part is then too short.
CHOICES_SHOWN = 6


class WhoForm(forms.Form):
    """A client picked by typing, or a new one."""

    client = forms.CharField(
        required=False,
        widget=forms.TextInput({"list": "clients", "autocomplete": "off"}),
        help_text="Type a part of the name and pick.",
    )
    new_name = forms.CharField(label="Name", max_length=120, required=False)
    new_phone = forms.CharField(
        label="Phone",
        max_length=40,
        required=False,
        widget=forms.TextInput({"type": "tel", "autocomplete": "off"}),
    )
    new_email = forms.EmailField(label="E-mail", required=False)

    def __init__(
        self, *args: Any, by: User, clients: QuerySet[Client], **kwargs: Any
    ) -> None:
        super().__init__(*args, **kwargs)
        self.clients = list(clients)
        if not by.is_keeper:
            # How to reach a client is between client and keeper.
            del self.fields["new_phone"], self.fields["new_email"]

    def clean(self) -> None:
        typed = self.cleaned_data.get("client", "")
        new_name = self.cleaned_data.get("new_name", "")
        if typed and new_name:
            self.add_error("new_name", "Leave this empty, or the client above.")
        elif typed:
            self.cleaned_data["known"] = self._known(typed)
        elif not new_name:
            self.add_error("client", "Say whose tree it is, or enter a new client.")

    def _known(self, typed: str) -> Client | None:
        wanted = plain(typed)
        exact = [client for client in self.clients if wanted in _names(client)]
        if len(exact) == 1:
            return exact[0]
        like = [
            client for client in self.clients if wanted in plain(client_words(client))
        ]
        if len(like) == 1:
            return like[0]
        if like:
            names = ", ".join(client_words(client) for client in like[:CHOICES_SHOWN])
            self.add_error("client", f"More than one is called so: {names}.")
        else:
            self.add_error(
                "client", f"No client is called '{typed}'. Enter a new one below."
            )
        return None


def client_words(client: Client) -> str:
    return f"{client.name} ({client.mark})"


def _names(client: Client) -> set[str]:
    return {plain(text) for text in (client.name, client.mark, client_words(client))}


class TaxonForm(forms.Form):
    """A taxon picked by typing; several that match become a choice."""

    taxon_name = forms.CharField(
        label="Taxon",
        required=False,
        widget=forms.TextInput({"autocomplete": "off", "autocapitalize": "none"}),
        help_text="Type a part of its scientific or common name.",
    )
    taxon = forms.ModelChoiceField(Taxon.objects.all(), required=False)

    def clean(self) -> None:
        typed = self.cleaned_data.get("taxon_name", "")
        chosen = self.cleaned_data.get("taxon")
        if chosen and Taxon.objects.named_like(typed).filter(pk=chosen.pk).exists():
            return
        # Another name was typed after the choice: what was typed last counts.
        if not typed:
            self.add_error("taxon_name", "Say which taxon it is.")
        else:
            self.cleaned_data["taxon"] = self._named(typed)

    def _named(self, typed: str) -> Taxon | None:
        found = list(Taxon.objects.named_like(typed)[: CHOICES_SHOWN + 1])
        exact = [t for t in found if plain(t.scientific_name) == plain(typed)]
        if exact or len(found) == 1:
            return (exact or found)[0]
        if not found:
            self.add_error(
                "taxon_name",
                f"No taxon has '{typed}' in one of its names. Type a shorter part.",
            )
        elif len(found) > CHOICES_SHOWN:
            self.add_error("taxon_name", "Many are called so. Type a longer part.")
        else:
            self.add_error("taxon_name", "Which of these?")
        return None

    def taxon_choices(self) -> list[Taxon]:
        """What matches the typed part, for those who choose without a script."""
        typed = str(self["taxon_name"].value() or "")
        return list(Taxon.objects.named_like(typed)[:CHOICES_SHOWN]) if typed else []


class TreeForm(BesideMixin, forms.ModelForm):
    beside = {
        "tree_height_is_possible": "height_cm",
        "tree_weight_is_positive": "weight_kg",
        "tree_canopy_is_positive": "canopy_width_cm",
    }

    root_work_on = DayOrMonthField(
        label="Last root work",
        required=False,
        max_length=10,
        help_text="A day such as 2026-04-12, a month such as 2026-04, or a year; kept "
        "as its last day, the careful reading.",
    )
    root_work_unknown = forms.BooleanField(
        label="Don't know: counts as this year", required=False
    )

    class Meta:
        model = Tree
        fields = [
            "cultivar",
            "original_script",
            "identity",
            "height_cm",
            "canopy_width_cm",
            "canopy_depth_cm",
            "weight_kg",
            "root_work_on",
        ]
        labels = {
            "original_script": "Name in its original script",
            "identity": "How sure of the name",
            "height_cm": "Height with pot",
            "canopy_width_cm": "Canopy width",
            "canopy_depth_cm": "Canopy depth",
            "weight_kg": "Weight",
        }
        help_texts = {
            "cultivar": "Without quotes.",
            "height_cm": "From the bench to the apex.",
        }
        widgets = {
            "identity": forms.RadioSelect,
            "original_script": forms.TextInput({"lang": "ja"}),
        }

    def clean_cultivar(self) -> str:
        return self.cleaned_data["cultivar"].strip("'‘’\"")

    def clean(self) -> None:
        super().clean()
        is_unknown = self.cleaned_data.pop("root_work_unknown", False)
        is_dated = "root_work_on" in self.errors or bool(
            self.cleaned_data.get("root_work_on")
        )
        if is_unknown == is_dated:
            self.add_error("root_work_on", "Give the date, or tick 'don't know'.")


class PotForm(BesideMixin, forms.ModelForm):
    beside = {"pot_size_is_positive": "width_cm"}

    lip_turns_in = AnswerField(
        label="Lip turns in?",
        unknown="don't know",
        help_text="A lip that turns in can break any fired pot when the ball freezes.",
    )

    class Meta:
        model = Pot
        fields = [
            "shape",
            "width_cm",
            "depth_cm",
            "height_cm",
            "material",
            "substrate",
            "lip_turns_in",
        ]
        labels = {
            "width_cm": "Width",
            "depth_cm": "Depth",
            "height_cm": "Height",
        }
        help_texts = {
            "material": "Such as unglazed stoneware, plastic or wood.",
            "substrate": "Such as akadama, pumice and lava 2:1:1. Empty: don't know.",
        }
        widgets = {"shape": forms.RadioSelect}

    def clean_height_cm(self) -> float | None:
        height_cm = self.cleaned_data["height_cm"]
        if height_cm is not None and height_cm <= 0:
            raise ValidationError("A pot's height is above 0 cm. Empty: don't know.")
        return height_cm

    def clean(self) -> None:
        super().clean()
        for name, most_cm in LARGEST_CM.items():
            size_cm = self.cleaned_data.get(name)
            if size_cm is not None and size_cm > most_cm:
                words = f"at most {most_cm} cm {LARGEST_WORDS[name]}"
                self.add_error(name, f"A pot is {words} here: check the figure.")


class PhotoForm(forms.Form):
    photo = forms.FileField(
        label="Photo of the front",
        required=False,
        widget=forms.FileInput({"accept": "image/*", "capture": "environment"}),
        help_text="With card and scale in the picture, before anything is touched.",
    )

    def clean_photo(self) -> File | None:
        photo = self.cleaned_data["photo"]
        if photo:
            check_photo(photo)
        return photo


class KnownTreeForm(TreeForm):
    """Measures of a tree that was here before; its names stay as they are."""

    class Meta(TreeForm.Meta):
        fields = TreeForm.Meta.fields[3:]

    clean_cultivar = None


class KnownPotForm(PotForm):
    is_other_pot = forms.BooleanField(
        label="It stands in another pot than last time", required=False
    )


class ExceptionsForm(forms.Form):
    """What has to be said aloud before it is done; asked only where it arises."""

    beyond_agreement = forms.BooleanField(
        label="Take it all the same, by an addendum", required=False
    )
    to_heated_place = forms.BooleanField(
        label="It goes to a heated place, not into the frame", required=False
    )
    is_known_to_bear_it = forms.BooleanField(
        label="I know this kind: it may stand in the frame",
        required=False,
        help_text="State its winter rest on its page of facts, and you are not asked "
        "again.",
    )

    def __init__(self, *args: Any, by: User, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        if not by.is_keeper:
            del self.fields["to_heated_place"], self.fields["is_known_to_bear_it"]
