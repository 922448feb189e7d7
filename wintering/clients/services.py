"""Taking on a client and agreeing a winter with them."""

from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction

from wintering.clients.models import Agreement, Client
from wintering.people.models import User
from wintering.people.services import record


@transaction.atomic
def add_client(*, name: str, mark: str, by: User, **contact: Any) -> Client:
    client = Client(name=name.strip(), mark=mark.strip(), **contact)
    client.full_clean()
    client.save()
    record(by, "added", client, name=client.name)
    return client


@transaction.atomic
def agree(
    *, client: Client, winter: int, trees_agreed: int, by: User, **terms: Any
) -> Agreement:
    if not by.is_keeper:
        raise ValidationError("Only a keeper makes an agreement.")
    agreement = Agreement(
        client=client, winter=winter, trees_agreed=trees_agreed, **terms
    )
    agreement.full_clean()
    agreement.save()
    record(by, "agreed", agreement, trees=trees_agreed)
    return agreement


def unused_mark(name: str) -> str:
    """A free owner mark made of a name's initials: NS, then NS2, NS3 ..."""
    initials = "".join(word[0] for word in name.split() if word[0].isalnum())[
        :4
    ].upper()
    initials = initials or "X"
    taken = set(
        Client.objects.filter(mark__startswith=initials).values_list("mark", flat=True)
    )
    if initials not in taken:
        return initials
    return next(
        f"{initials}{n}" for n in range(2, 1000) if f"{initials}{n}" not in taken
    )
