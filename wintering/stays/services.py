"""Custody and standing: checking trees in and out, and giving them a place."""

from collections.abc import Sequence
from datetime import date
from typing import Any, BinaryIO

from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction
from django.utils import timezone

from wintering.clients.models import Client
from wintering.frames.models import Bench, Module
from wintering.people.models import User
from wintering.people.services import record
from wintering.science.winter import Winter
from wintering.stays.models import ConditionReport, HeldModule, Placement, Stay
from wintering.stays.queries import fit_at, trees_in_care
from wintering.trees.models import Tree
from wintering.trees.photos import add_photo
from wintering.trees.services import add_tree


@transaction.atomic
def receive_tree(
    *,
    client: Client,
    on: date,
    by: User,
    tree: dict[str, Any],
    pot: dict[str, Any],
    stay: dict[str, Any],
    condition: dict[str, Any],
    photo: BinaryIO | None = None,
) -> Stay:
    """Enter a tree that has not been here before and check it in, all or nothing."""
    _staff_only(by)
    entered = add_tree(owner=client, by=by, pot={**pot, "since": on}, **tree)
    if photo:
        add_photo(tree=entered, file=photo, by=by)
    return check_in_tree(
        tree=entered, client=client, on=on, by=by, condition=condition, **stay
    )


@transaction.atomic
def check_in_tree(
    *,
    tree: Tree,
    client: Client,
    on: date,
    by: User,
    condition: dict[str, Any],
    **stay: Any,
) -> Stay:
    """Take a client's tree into care for the winter, with the condition it came in.

    A helper's check-in is a draft until a keeper confirms it.
    """
    _staff_only(by)
    if tree.owner_id != client.pk:
        raise ValidationError(f"{tree.number} does not belong to {client}.")
    _hold_tree(tree)
    if tree.stays.exclude(until__lte=on).exists():
        raise ValidationError(f"{tree.number} is already in care.")
    row = Stay(
        tree=tree, client=client, winter=Winter.of(on).start_year, since=on, **stay
    )
    if by.is_keeper:
        row.confirmed_at, row.confirmed_by = timezone.now(), by
    row.full_clean()
    row.save()
    report_condition(
        tree=tree,
        stay=row,
        occasion=ConditionReport.Occasion.CHECK_IN,
        on=on,
        by=by,
        **condition,
    )
    record(by, "checked in", tree, on=on, client=client.name, draft=not by.is_keeper)
    return row


@transaction.atomic
def confirm_stay(*, stay: Stay, by: User) -> Stay:
    """A keeper takes on what a helper has drafted."""
    if not by.is_keeper:
        raise ValidationError("Only a keeper confirms a check-in.")
    _hold_tree(stay.tree)
    stay.refresh_from_db()
    if stay.confirmed_at or stay.until:
        raise ValidationError(
            f"The check-in of {stay.tree.number} is confirmed or over already."
        )
    stay.confirmed_at, stay.confirmed_by = timezone.now(), by
    stay.full_clean()
    stay.save(update_fields=["confirmed_at", "confirmed_by"])
    record(by, "confirmed the check-in of", stay.tree)
    return stay


@transaction.atomic
def report_condition(
    *, tree: Tree, occasion: str, on: date, by: User, **found: Any
) -> ConditionReport:
    _staff_only(by)
    report = ConditionReport(tree=tree, occasion=occasion, on=on, by=by, **found)
    report.full_clean()
    report.save()
    record(by, "examined", tree, on=on, occasion=report.get_occasion_display())
    return report


@transaction.atomic
def check_out_tree(
    *, stay: Stay, on: date, by: User, condition: dict[str, Any]
) -> Stay:
    """Hand a tree back: its condition is reported, its place is free, custody ends."""
    if not by.is_keeper:
        raise ValidationError("Only a keeper hands a tree back.")
    _hold_tree(stay.tree)
    stay.refresh_from_db(fields=["until"])
    if stay.until is not None:
        raise ValidationError(f"{stay.tree.number} was handed back on {stay.until}.")
    stay.until = on
    stay.full_clean()
    stay.save(update_fields=["until"])
    lift_tree(tree=stay.tree, on=on, by=by)
    report_condition(
        tree=stay.tree,
        stay=stay,
        occasion=ConditionReport.Occasion.CHECK_OUT,
        on=on,
        by=by,
        **condition,
    )
    record(by, "checked out", stay.tree, on=on)
    return stay


@transaction.atomic
def place_tree(
    *, tree: Tree, modules: Sequence[Module], on: date, by: User, reason: str = ""
) -> Placement:
    """Stand a tree on modules of a bench, ending where it stood before.

    Refused with its reasons where the tree does not fit, is not in care, or where the
    place holds, or on that day still held, another tree.
    """
    _staff_only(by)
    if not modules:
        raise ValidationError("Choose a place on a bench.")
    _hold_tree(tree)
    # One at a time on a bench, so that two together cannot overload it.
    Bench.objects.select_for_update().get(pk=modules[0].bench_id)
    if not trees_in_care(on).filter(pk=tree.pk).exists():
        raise ValidationError(
            f"{tree.number} is not in care on {on}: check it in first."
        )
    _refuse_the_past(tree, on)
    refusals = fit_at(tree=tree, modules=modules, on=on).refusals
    if refusals:
        raise ValidationError(list(refusals))
    lift_tree(tree=tree, on=on, by=None)
    placement = Placement(tree=tree, since=on, reason=reason)
    placement.full_clean()
    placement.save()
    _hold(placement, modules)
    labels = [module.label for module in modules]
    record(by, "placed", tree, on=on, at=labels, reason=reason)
    return placement


@transaction.atomic
def lift_tree(*, tree: Tree, on: date, by: User | None) -> None:
    """End where a tree stands. `by` is None where it is part of another act."""
    for placement in tree.placements.filter(until=None):
        placement.until = on
        placement.full_clean()
        placement.save(update_fields=["until"])
        placement.held.update(until=on)
        if by:
            record(by, "lifted", tree, on=on)


def _hold_tree(tree: Tree) -> None:
    """Whoever acts on the same tree at the same time waits for this transaction."""
    Tree.objects.select_for_update().get(pk=tree.pk)


def _refuse_the_past(tree: Tree, on: date) -> None:
    """A place begins after every place the tree has left, and before no hand-over."""
    left = tree.placements.filter(until__gt=on).order_by("until").last()
    if left:
        raise ValidationError(f"{tree.number} stood elsewhere until {left.until}.")
    if tree.owner_id and not tree.stays.filter(since__lte=on, until=None).exists():
        raise ValidationError(f"{tree.number} has been handed back.")


def _hold(placement: Placement, modules: Sequence[Module]) -> None:
    """Take the modules; where someone else was faster, the database says so."""
    try:
        with transaction.atomic():
            HeldModule.objects.bulk_create(
                HeldModule(placement=placement, module=module) for module in modules
            )
    except IntegrityError as error:
        raise ValidationError(
            "Someone else has just stood a tree there. Choose another place."
        ) from error


def _staff_only(by: User) -> None:
    if not by.is_staffing:
        raise ValidationError("Only those who work here may do this.")
