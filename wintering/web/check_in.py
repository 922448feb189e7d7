"""A check-in as one page types it: all parts judged at once, kept all or nothing."""

from abc import ABC, abstractmethod
from collections.abc import Mapping
from datetime import date
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.core.files import File
from django.db import transaction
from django.utils import timezone

from wintering.clients.models import Client
from wintering.clients.queries import clients_for
from wintering.clients.services import add_client, unused_mark
from wintering.people.models import User
from wintering.science.winter import Winter
from wintering.stays.models import Stay
from wintering.stays.queries import beyond_agreement, cold_doubt, cold_refusal
from wintering.stays.services import check_in_tree, receive_tree
from wintering.trees.models import Pot, Taxon, Tree
from wintering.trees.photos import add_photo
from wintering.trees.services import change_tree, pot_up
from wintering.web.forms.check_in import (
    ExceptionsForm,
    KnownPotForm,
    KnownTreeForm,
    PhotoForm,
    PotForm,
    TaxonForm,
    TreeForm,
    WhoForm,
    client_words,
)
from wintering.web.forms.conditions import ConditionForm
from wintering.web.forms.stays import StayForm

Typed = Mapping[str, Any] | None


class CheckIn(ABC):
    """The parts that every check-in has."""

    tree: Tree | None = None

    def __init__(self, *, by: User, typed: Typed, files: Typed) -> None:
        self.by = by
        today = {"since": timezone.localdate()}
        self.parts: dict[str, forms.BaseForm] = {
            "exceptions": ExceptionsForm(typed, by=by),
            "condition": ConditionForm(typed, prefix="found"),
            "stay": StayForm(typed, by=by, prefix="stay", initial=today),
            "photo": PhotoForm(typed, files),
        }

    def is_valid(self) -> bool:
        """Judge every part, so that all refusals show at once."""
        for part in self.parts.values():
            part.is_valid()
        self._judge_taxon()
        self._judge_number()
        return not self.has_refusals

    @property
    def has_refusals(self) -> bool:
        return any(part.errors for part in self.parts.values())

    def save(self, photo: File | None) -> Stay | None:
        """Keep it; what a service refuses is shown above the form."""
        try:
            with transaction.atomic():
                return self._save(photo)
        except ValidationError as refusal:
            self.parts["exceptions"].add_error(None, refusal.messages)
            return None

    @property
    def typed(self) -> dict[str, dict[str, Any]]:
        """What was typed, part by part; a part that was not asked for is empty."""
        return {
            name: getattr(part, "cleaned_data", {}) for name, part in self.parts.items()
        }

    @abstractmethod
    def _client(self) -> Client | None:
        """Whose tree it is."""

    @abstractmethod
    def _taxon(self) -> Taxon | None:
        """What it is."""

    @abstractmethod
    def _save(self, photo: File | None) -> Stay:
        """Keep what was typed; the services raise what they refuse."""

    def _judge_taxon(self) -> None:
        taxon = self._taxon()
        if taxon is None or self._says("to_heated_place"):
            return
        refusal, doubt = self._cold_refusal(taxon), self._cold_doubt(taxon)
        if refusal:
            self._ask_keeper("to_heated_place", refusal)
        elif doubt and not self._says("is_known_to_bear_it"):
            self._ask_keeper("is_known_to_bear_it", doubt)

    def _ask_keeper(self, exception: str, sentence: str) -> None:
        if self.by.is_keeper:
            self._ask(exception, sentence)
        else:
            self._refuse(f"{sentence} Ask the keeper before taking it.")

    def _cold_refusal(self, taxon: Taxon) -> str:
        return cold_refusal(taxon, self.tree)

    def _cold_doubt(self, taxon: Taxon) -> str:
        return cold_doubt(taxon, self.tree)

    def _judge_number(self) -> None:
        client, since = self._client(), self.typed["stay"].get("since")
        sentence = self._beyond(client, since) if client and since else ""
        if sentence and not self._says("beyond_agreement"):
            self._ask("beyond_agreement", sentence)

    def _beyond(self, client: Client, since: date) -> str:
        return beyond_agreement(client, Winter.of(since), by=self.by)

    def _says(self, exception: str) -> bool:
        return bool(self.typed["exceptions"].get(exception))

    def _ask(self, exception: str, sentence: str) -> None:
        self.parts["exceptions"].add_error(exception, sentence)

    def _refuse(self, sentence: str) -> None:
        self.parts["exceptions"].add_error(None, sentence)

    def _stay(self) -> dict[str, Any]:
        """The stay's fields, with what was said aloud noted in what was agreed."""
        stay = dict(self.typed["stay"])
        client, taxon = self._client(), self._taxon()
        notes = [stay["agreed"]]
        if self._says("beyond_agreement") and client:
            notes.append("One more tree than agreed, taken by an addendum.")
        if self._says("to_heated_place") and taxon:
            why = self._cold_refusal(taxon) or self._cold_doubt(taxon)
            notes.append(f"Goes to a heated place. {why}".strip())
        elif self._says("is_known_to_bear_it") and taxon:
            known = "Taken into the frame by the keeper's knowledge of its kind."
            notes.append(f"{known} {self._cold_doubt(taxon)}".strip())
        stay["agreed"] = "\n".join(note for note in notes if note)
        return stay


class NewTreeCheckIn(CheckIn):
    """A tree that has not been here before."""

    def __init__(
        self, *, by: User, typed: Typed, files: Typed, owner: Client | None = None
    ) -> None:
        super().__init__(by=by, typed=typed, files=files)
        named = {"client": client_words(owner)} if owner else None
        clients = clients_for(by)
        self.parts["who"] = WhoForm(typed, by=by, clients=clients, initial=named)
        self.parts["taxon"] = TaxonForm(typed)
        self.parts["tree"] = TreeForm(typed, prefix="tree")
        self.parts["pot"] = PotForm(typed, prefix="pot")

    def _client(self) -> Client | None:
        return self.typed["who"].get("known")

    def _taxon(self) -> Taxon | None:
        return self.typed["taxon"].get("taxon")

    def _save(self, photo: File | None) -> Stay:
        stay = self._stay()
        return receive_tree(
            client=self._client() or self._new_client(),
            on=stay.pop("since"),
            by=self.by,
            tree={**self.typed["tree"], "taxon": self._taxon()},
            pot=self.typed["pot"],
            stay=stay,
            condition=self.typed["condition"],
            photo=photo,
        )

    def _new_client(self) -> Client:
        who = self.typed["who"]
        return add_client(
            name=who["new_name"],
            mark=unused_mark(who["new_name"]),
            phone=who.get("new_phone", ""),
            email=who.get("new_email", ""),
            by=self.by,
        )


class KnownTreeCheckIn(CheckIn):
    """A tree that comes back: its measures are checked, its pot perhaps changed."""

    def __init__(self, *, by: User, typed: Typed, files: Typed, tree: Tree) -> None:
        super().__init__(by=by, typed=typed, files=files)
        self.tree = tree
        self.pot: Pot | None = tree.pots.filter(until=None).first()
        unknown = {"root_work_unknown": tree.root_work_on is None}
        self.parts["tree"] = KnownTreeForm(
            typed, prefix="tree", instance=tree, initial=unknown
        )
        if self.pot is None or (typed and typed.get("pot-is_other_pot")):
            self.parts["pot"] = KnownPotForm(typed, prefix="pot")
        else:
            self.parts["pot"] = KnownPotForm(prefix="pot")

    def _client(self) -> Client | None:
        return self.tree.owner

    def _taxon(self) -> Taxon | None:
        return self.tree.taxon

    def _save(self, photo: File | None) -> Stay:
        stay = self._stay()
        on = stay.pop("since")
        # The form has written on its own copy: the event needs what stood before.
        tree = Tree.objects.get(pk=self.tree.pk)
        change_tree(tree=tree, by=self.by, **self.typed["tree"])
        if self.parts["pot"].is_bound:
            size = dict(self.typed["pot"])
            size.pop("is_other_pot")
            pot_up(tree=tree, on=on, by=self.by, **size)
        if photo:
            add_photo(tree=tree, file=photo, by=self.by)
        return check_in_tree(
            tree=tree,
            client=tree.owner,
            on=on,
            by=self.by,
            condition=self.typed["condition"],
            **stay,
        )
