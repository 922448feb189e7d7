"""Adding trees, changing them, potting them up, seeing their buds."""

from datetime import date
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction
from django.db.models import Max
from django.utils import timezone

from wintering.people.models import User
from wintering.people.services import record
from wintering.trees.models import AccessionCounter, BudStage, Pot, Tree
from wintering.trees.names import plain


@transaction.atomic
def add_tree(*, by: User, pot: dict[str, Any] | None = None, **fields: Any) -> Tree:
    """Enter a tree under the next accession number, with the pot it stands in."""
    _staff_only(by)
    serial = _next_serial()
    tree = Tree(serial=serial, number=f"T-{serial:03d}", **fields)
    tree.search_text = _search_text(tree)
    tree.full_clean()
    tree.save()
    if pot:
        pot_since = pot.get("since") or timezone.localdate()
        _save_pot(Pot(tree=tree, **{**pot, "since": pot_since}))
    record(by, "entered", tree, number=tree.number, name=tree.name)
    return tree


def _next_serial() -> int:
    """The counter is one row, held until the tree is in: no number is drawn twice."""
    AccessionCounter.objects.get_or_create(pk=1)
    counter = AccessionCounter.objects.select_for_update().get(pk=1)
    highest = Tree.objects.aggregate(highest=Max("serial"))["highest"] or 0
    counter.last = max(counter.last, highest) + 1
    counter.save(update_fields=["last"])
    return counter.last


def _staff_only(by: User) -> None:
    if not by.is_staffing:
        raise ValidationError("Only those who work here record trees.")


@transaction.atomic
def change_tree(*, tree: Tree, by: User, **fields: Any) -> Tree:
    """Change what is recorded of a tree; the event keeps what stood before."""
    _staff_only(by)
    before = {name: getattr(tree, name) for name in fields}
    for name, value in fields.items():
        setattr(tree, name, value)
    changed = [name for name in fields if getattr(tree, name) != before[name]]
    if not changed:
        return tree
    tree.search_text = _search_text(tree)
    tree.full_clean()
    tree.save(update_fields=[*changed, "search_text"])
    record(
        by,
        "changed",
        tree,
        was={name: _text(before[name]) for name in changed},
        now={name: _text(getattr(tree, name)) for name in changed},
    )
    return tree


@transaction.atomic
def pot_up(*, tree: Tree, on: date, by: User, **size: Any) -> Pot:
    """Stand the tree in another pot from a day on."""
    _staff_only(by)
    for old in tree.pots.filter(until=None):
        old.until = on
        old.full_clean()
        old.save(update_fields=["until"])
    pot = _save_pot(Pot(tree=tree, since=on, **size))
    record(by, "potted", tree, on=on, pot=str(pot))
    return pot


@transaction.atomic
def change_pot(*, pot: Pot, by: User, **fields: Any) -> Pot:
    """Correct what is recorded of a pot, or add to it; the tree stays in it."""
    _staff_only(by)
    was = {name: getattr(pot, name) for name in fields}
    changed = [name for name in fields if fields[name] != was[name]]
    for name in changed:
        setattr(pot, name, fields[name])
    if changed:
        _save_pot(pot)
        before = {name: _text(was[name]) for name in changed}
        now = {name: _text(getattr(pot, name)) for name in changed}
        record(by, "corrected the pot of", pot.tree, was=before, now=now)
    return pot


@transaction.atomic
def see_buds(*, tree: Tree, code: int, on: date, by: User) -> BudStage:
    """Write down the stage the leaf buds were seen in; it outweighs any model."""
    _staff_only(by)
    stage = BudStage(tree=tree, code=code, on=on, by=by)
    stage.full_clean()
    stage.save()
    record(by, "saw the buds of", tree, on=on, bbch=f"{code:02d}")
    return stage


def _save_pot(pot: Pot) -> Pot:
    pot.full_clean()
    pot.save()
    return pot


def _search_text(tree: Tree) -> str:
    parts = (tree.number, tree.cultivar, tree.given_name, tree.original_script)
    return plain(" ".join(parts))


def _text(value: object) -> str | None:
    return None if value is None else str(value)
