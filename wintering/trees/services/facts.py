"""What a keeper states of a taxon."""

from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils import timezone

from wintering.people.models import User
from wintering.people.services import record
from wintering.trees.models import Evidence, Taxon, TaxonFact


@transaction.atomic
def state_fact(
    *, taxon: Taxon, attribute: str, value: str, reason: str, by: User, **fields: Any
) -> TaxonFact:
    """Enter the keeper's own value for a taxon, with the reason as its source.

    The keeper's own newest value stands before every other kind.
    """
    if not by.is_keeper:
        raise ValidationError("Only a keeper states facts about a taxon.")
    fact = TaxonFact(
        taxon=taxon,
        attribute=attribute,
        value=value,
        kind=Evidence.OWN,
        source=reason,
        by=by,
        stated_on=timezone.localdate(),
        **fields,
    )
    fact.full_clean()
    fact.save()
    record(by, "stated", taxon, attribute=attribute, value=value, reason=reason)
    return fact
