"""Entering a tree of the keeper's own, or changing what is recorded of one."""

from collections.abc import Mapping
from contextlib import closing, nullcontext
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.core.files import File
from django.db import transaction
from django.utils import timezone

from wintering.people.models import User
from wintering.trees.models import Pot, Tree
from wintering.trees.photos import add_photo
from wintering.trees.services import add_tree, change_pot, change_tree, pot_up
from wintering.web.drafts import Draft
from wintering.web.forms.check_in import KnownPotForm, PhotoForm, PotForm, TaxonForm
from wintering.web.forms.trees import OwnTreeForm

Typed = Mapping[str, Any] | None


class NewTree:
    """A tree, its pot and a photo, typed on one page and kept all or nothing."""

    tree: Tree | None = None

    def __init__(self, *, by: User, typed: Typed, files: Typed) -> None:
        self.by = by
        self.parts: dict[str, forms.BaseForm] = {
            "taxon": TaxonForm(typed),
            "form": OwnTreeForm(typed, prefix="tree"),
            "pot": PotForm(typed, prefix="pot"),
            "photo": PhotoForm(typed, files),
        }

    def is_valid(self) -> bool:
        """Judges every part, so that all refusals show at once."""
        refused = [bool(part.errors) for part in self.parts.values()]
        return not any(refused)

    @property
    def has_refusals(self) -> bool:
        return any(part.errors for part in self.parts.values())

    def save(self, photo: File | None) -> Tree | None:
        """Keep it; what a service refuses is shown above the form."""
        try:
            return self._save(photo)
        except ValidationError as refusal:
            self.parts["form"].add_error(None, refusal)
            return None

    @transaction.atomic
    def _save(self, photo: File | None) -> Tree:
        tree = add_tree(
            by=self.by,
            taxon=self.parts["taxon"].cleaned_data["taxon"],
            pot=self.parts["pot"].cleaned_data,
            **self.parts["form"].cleaned_data,
        )
        if photo:
            add_photo(tree=tree, file=photo, by=self.by)
        return tree


class ChangedTree:
    """Another look at what is recorded. Its number and its owner stay."""

    def __init__(self, *, tree: Tree, by: User, typed: Typed) -> None:
        self.tree, self.by = tree, by
        self.pot = tree.pots.filter(until=None).first()
        named = {"taxon_name": tree.taxon.scientific_name, "taxon": tree.taxon_id}
        unknown = {"root_work_unknown": tree.root_work_on is None}
        # The form writes on a copy: the event needs what stood before.
        copy = Tree.objects.select_related("taxon").get(pk=tree.pk)
        is_typed = self.pot or _tells_of_a_pot(typed or {})
        standing = Pot.objects.get(pk=self.pot.pk) if self.pot else None
        self.parts: dict[str, forms.BaseForm] = {
            "taxon": TaxonForm(typed, initial=named),
            "form": OwnTreeForm(typed, prefix="tree", instance=copy, initial=unknown),
            "pot": KnownPotForm(
                typed if is_typed else None, prefix="pot", instance=standing
            ),
        }

    def is_valid(self) -> bool:
        return not self.has_refusals

    @property
    def has_refusals(self) -> bool:
        return any(part.errors for part in self.parts.values())

    def save(self) -> Tree | None:
        try:
            return self._save()
        except ValidationError as refusal:
            self.parts["form"].add_error(None, refusal)
            return None

    @transaction.atomic
    def _save(self) -> Tree:
        taxon = self.parts["taxon"].cleaned_data["taxon"]
        change_tree(
            tree=self.tree, by=self.by, taxon=taxon, **self.parts["form"].cleaned_data
        )
        if self.parts["pot"].is_bound:
            self._save_pot(dict(self.parts["pot"].cleaned_data))
        return self.tree

    def _save_pot(self, told: dict[str, Any]) -> None:
        """Another pot from today on, or the same one told better."""
        if told.pop("is_other_pot") or self.pot is None:
            pot_up(tree=self.tree, on=timezone.localdate(), by=self.by, **told)
        else:
            change_pot(pot=self.pot, by=self.by, **told)


def _tells_of_a_pot(typed: Mapping[str, Any]) -> bool:
    """Whether a pot is spoken of where none is recorded; its shape is always chosen."""
    told = ("is_other_pot", "width_cm", "depth_cm", "height_cm", "material")
    return any(typed.get(f"pot-{name}") for name in (*told, "substrate"))


def enter(entry: NewTree, draft: Draft) -> Tree | None:
    """Keep the tree; an accepted photo is held while the rest is mended."""
    is_valid = entry.is_valid()
    photo = getattr(entry.parts["photo"], "cleaned_data", {}).get("photo")
    if photo:
        draft.keep_photo(photo)
    if not is_valid:
        return None
    kept = draft.open_photo()
    with closing(kept) if kept else nullcontext():
        tree = entry.save(kept)
    if tree:
        draft.finish(tree.pk)
    return tree
