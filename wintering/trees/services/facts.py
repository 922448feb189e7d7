"""What a keeper states of a taxon or of one tree, and takes back."""

from datetime import date
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction

from wintering.people.models import User
from wintering.people.services import record
from wintering.science.hardiness import zone_lower_limit_c
from wintering.trees.attributes import ATTRIBUTES, Answer, Attribute
from wintering.trees.models import Evidence, Taxon, TaxonFact, Tree
from wintering.trees.names import is_botanical, plain
from wintering.trees.queries import name_as_written

ZONES = {"usda_zone_min", "usda_zone_max"}


@transaction.atomic
def state_fact(
    *,
    attribute: str,
    value: str,
    reason: str,
    on: date,
    by: User,
    taxon: Taxon | None = None,
    tree: Tree | None = None,
    **fields: Any,
) -> TaxonFact:
    """Enter the keeper's own value for a taxon or one tree; its source is the reason.

    The keeper's own newest value stands before every other kind, and a tree's before
    its taxon's.
    """
    fact = own_fact(
        attribute=attribute,
        value=value,
        reason=reason,
        on=on,
        by=by,
        taxon=taxon,
        tree=tree,
        **fields,
    )
    fact.save()
    about = tree or taxon
    record(by, "stated", about, attribute=attribute, value=value, reason=reason)
    return fact


def own_fact(
    *, attribute: str, value: str, reason: str, on: date, by: User, **fields: Any
) -> TaxonFact:
    """The same value, checked and not kept: to see what would follow from it."""
    _keeper_only(by)
    known = ATTRIBUTES.get(attribute)
    if known:
        _check(known, value, fields.get("low"), fields.get("high"))
        fields.setdefault("usable_as_limit", True if known.is_limit else None)
    fact = TaxonFact(
        attribute=attribute,
        value=value,
        kind=Evidence.OWN,
        source=reason,
        by=by,
        stated_on=on,
        **fields,
    )
    fact.full_clean()
    _refuse_a_twin(fact)
    return fact


def _refuse_a_twin(fact: TaxonFact) -> None:
    """A page that was gone back to must not state the same twice."""
    same = TaxonFact.objects.standing().filter(
        kind=Evidence.OWN,
        taxon=fact.taxon,
        tree=fact.tree,
        attribute=fact.attribute,
        value=fact.value,
        unit=fact.unit,
        low=fact.low,
        high=fact.high,
        source=fact.source,
    )
    if same.exists():
        raise ValidationError("You have stated this already, for the same reason.")


@transaction.atomic
def withdraw_fact(*, fact: TaxonFact, reason: str, on: date, by: User) -> TaxonFact:
    """Take back a value of the keeper's own; the record keeps it and says why."""
    _keeper_only(by)
    if not reason.strip():
        raise ValidationError("Say why the value is taken back.")
    # As it stands now: somebody else may have been quicker.
    if TaxonFact.objects.select_for_update().get(pk=fact.pk).withdrawn_on:
        raise ValidationError("This value was taken back before.")
    fact.withdrawn_on = on
    fact.full_clean()
    fact.save(update_fields=["withdrawn_on"])
    record(
        by,
        "took back",
        fact.tree or fact.taxon,
        attribute=fact.attribute,
        value=fact.value,
        reason=reason,
    )
    return fact


@transaction.atomic
def add_taxon(*, scientific_name: str, by: User, **fields: Any) -> Taxon:
    """Enter a taxon that the catalogue does not have.

    What is not stated of it is taken from its genus or its habit, and says so.
    """
    _keeper_only(by)
    name = name_as_written(scientific_name)
    if not is_botanical(name):
        raise ValidationError(
            f"“{name}” is not written as a botanical name: the genus with a capital, "
            "the epithet without, such as Acer japonicum; a hybrid with ×."
        )
    rank = Taxon.Rank.SPECIES if " " in name else Taxon.Rank.GENUS
    taxon = Taxon(scientific_name=name, rank=rank, **fields)
    texts = (name, taxon.common_names, taxon.original_script)
    taxon.search_text = plain(" ".join(texts))
    taxon.full_clean()
    taxon.save()
    record(by, "entered", taxon, name=name)
    return taxon


def _check(
    attribute: Attribute, value: str, low: float | None, high: float | None
) -> None:
    """Whether a value belongs to the vocabulary or the range of its attribute."""
    if attribute.answer is Answer.CHOICE and value not in dict(attribute.choices):
        allowed = ", ".join(dict(attribute.choices))
        raise ValidationError(f"“{value}” is not one of: {allowed}.")
    if attribute.name in ZONES:
        try:
            zone_lower_limit_c(value)
        except ValueError as refusal:
            raise ValidationError(str(refusal)) from refusal
    if attribute.answer is not Answer.RANGE:
        return
    ends = [end for end in (low, high) if end is not None]
    if not ends:
        raise ValidationError(f"Give a number for '{attribute.label}'.")
    if min(ends) < attribute.lowest or max(ends) > attribute.highest:
        raise ValidationError(
            f"'{attribute.label}' lies between {attribute.lowest:g} and "
            f"{attribute.highest:g} {attribute.units[0][0]}."
        )


def _keeper_only(by: User) -> None:
    if not by.is_keeper:
        raise ValidationError("Only a keeper states facts.")
