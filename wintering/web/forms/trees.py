"""Narrowing the inventory down, and entering or changing the keeper's own trees."""

from collections.abc import Callable, Iterable
from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from wintering.clients.queries import clients_for
from wintering.forecast.models import Flag
from wintering.frames.queries import frames_for
from wintering.people.models import User
from wintering.science.hardiness import RootClass
from wintering.trees.models import Photo, Tree, TreeQuerySet
from wintering.trees.photos import add_photo
from wintering.web.forms.check_in import TreeForm
from wintering.web.tables.trees import TreeRow

ANY = ("", "any")
OWN = "own"
FIGURE = "figure"
# RE speaks of green tips, not of roots.
ROOT_CLASSES = [c.value for c in RootClass if c != RootClass.RE]
NOWHERE = "none"
RESTS = (
    "needs cold dormancy",
    "needs cool rest",
    "no dormancy",
    "must stay frost-free",
)


class TreeFilterForm(forms.Form):
    """What the list is narrowed down to. An answer that is not offered is ignored."""

    q = forms.CharField(
        label="Number or name",
        required=False,
        max_length=80,
        widget=forms.TextInput({"type": "search", "autocomplete": "off"}),
    )
    owner = forms.ChoiceField(required=False)
    place = forms.ChoiceField(required=False)
    rest = forms.ChoiceField(
        label="Winter rest",
        required=False,
        widget=forms.RadioSelect,
        choices=[ANY, *((rest, rest) for rest in RESTS), ("unknown", "not known")],
    )
    roots = forms.ChoiceField(
        label="Root class",
        required=False,
        widget=forms.RadioSelect,
        choices=[ANY, *((c, c) for c in ROOT_CLASSES), (FIGURE, "own figure")],
    )
    flag = forms.ChoiceField(
        label="Flag",
        required=False,
        widget=forms.RadioSelect,
        choices=[ANY, ("some", "some flag"), *Flag.Level.choices],
    )

    def __init__(self, *args: Any, user: User, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["owner"].choices = _owners(user)
        self.fields["place"].choices = _places(user)
        if not user.is_staffing:
            del self.fields["owner"], self.fields["place"]

    @property
    def chosen(self) -> dict[str, str]:
        self.is_valid()
        return {name: answer for name, answer in self.cleaned_data.items() if answer}

    def among_trees(self, trees: TreeQuerySet) -> TreeQuerySet:
        """What the database can tell apart."""
        owner = self.chosen.get("owner")
        if owner == OWN:
            trees = trees.filter(owner=None)
        elif owner:
            trees = trees.filter(owner=owner)
        return trees.named_like(self.chosen.get("q", ""))

    def among_rows(self, rows: Iterable[TreeRow]) -> list[TreeRow]:
        """What only facts, places and flags tell apart."""
        tests = [
            test(self.chosen[name])
            for name, test in ROW_TESTS.items()
            if name in self.chosen
        ]
        return [row for row in rows if all(test(row) for test in tests)]


def _owners(user: User) -> list[tuple[str, str]]:
    clients = ((str(c.pk), f"{c.name} ({c.mark})") for c in clients_for(user))
    return [("", "anyone"), (OWN, "the keeper's own"), *clients]


def _places(user: User) -> list[tuple[str, str]]:
    frames = ((frame.slug, frame.name) for frame in frames_for(user))
    return [("", "anywhere"), *frames, (NOWHERE, "no place yet")]


RowTest = Callable[[TreeRow], bool]


def _stands_in(answer: str) -> RowTest:
    if answer == NOWHERE:
        return lambda row: row.place is None
    return lambda row: row.place is not None and row.place.frame.slug == answer


def _rests(answer: str) -> RowTest:
    if answer == "unknown":
        return lambda row: row.rest_fact is None
    return lambda row: row.rest_fact is not None and row.rest_fact.value == answer


def _has_roots(answer: str) -> RowTest:
    wanted = None if answer == FIGURE else answer
    return lambda row: row.roots.root_class == wanted


def _is_flagged(answer: str) -> RowTest:
    if answer == "some":
        return lambda row: bool(row.line.flags)
    return lambda row: any(flag.level == answer for flag in row.line.flags)


ROW_TESTS: dict[str, Callable[[str], RowTest]] = {
    "place": _stands_in,
    "rest": _rests,
    "roots": _has_roots,
    "flag": _is_flagged,
}


class OwnTreeForm(TreeForm):
    """What is recorded of a tree, beside its taxon and its pot."""

    class Meta(TreeForm.Meta):
        model = Tree
        fields = [
            *TreeForm.Meta.fields[:1],
            "given_name",
            *TreeForm.Meta.fields[1:],
            "leaf_fall_on",
            "notes",
        ]
        widgets = {
            **TreeForm.Meta.widgets,
            "leaf_fall_on": forms.DateInput({"type": "date"}, format="%Y-%m-%d"),
        }
        help_texts = {
            **TreeForm.Meta.help_texts,
            "leaf_fall_on": "When its leaves fell this winter: chill counts from then.",
        }


class TreePhotoForm(forms.Form):
    """One more photo of a tree."""

    photo = forms.FileField(
        widget=forms.FileInput({"accept": "image/*"}),
        help_text="JPEG, PNG, WebP or HEIC. The place it was taken at is left out.",
    )
    view = forms.ChoiceField(
        label="What it shows", choices=Photo.View.choices, initial=Photo.View.FRONT
    )

    def save(self, *, tree: Tree, by: User) -> Photo | None:
        """Keep the photo; a refusal is shown beside the field."""
        try:
            return add_photo(
                tree=tree,
                by=by,
                file=self.cleaned_data["photo"],
                view=self.cleaned_data["view"],
            )
        except ValidationError as refusal:
            self.add_error("photo", refusal.messages)
            return None
