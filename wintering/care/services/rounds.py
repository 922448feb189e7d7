"""Writing down a round: exceptions by name, the rest by one word."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils import timezone

from wintering.care.models import Observation, Round, Watering
from wintering.frames.models import Frame
from wintering.people.models import User
from wintering.people.services import record
from wintering.stays.queries import trees_in_frame
from wintering.trees.models import Tree
from wintering.trees.services import see_buds


@dataclass(frozen=True, slots=True)
class Seen:
    """What was found on one tree, and whether it was watered."""

    tree: Tree
    moisture: str
    was_watered: bool = False
    bud_stage: int | None = None
    note: str = ""


@transaction.atomic
def record_round(
    *,
    frame: Frame,
    at: datetime,
    by: User,
    seen: Sequence[Seen],
    is_rest_checked: bool = False,
    note: str = "",
) -> Round:
    """Write down a round.

    is_rest_checked  every other tree in the frame was looked at and needs no note;
                     otherwise a tree that is not named counts as not checked
    """
    _staff_only(by)
    _not_ahead(at)
    walked = Round(
        frame=frame, at=at, recorded_at=timezone.now(), by=by, note=note.strip()
    )
    walked.full_clean()
    walked.save()
    noted = list(seen)
    if is_rest_checked:
        named = [one.tree.pk for one in seen]
        rest = trees_in_frame(frame, timezone.localdate(at)).exclude(pk__in=named)
        noted += [Seen(tree, Observation.Moisture.NO_FINDING) for tree in rest]
    for one in noted:
        _write(one, at=at, by=by, walked=walked)
    record(by, "walked a round in", frame, at=at, trees=len(noted))
    return walked


@transaction.atomic
def record_check(*, seen: Seen, at: datetime, by: User) -> Observation:
    """Write down what was found on one tree, outside any round."""
    _staff_only(by)
    _not_ahead(at)
    return _write(seen, at=at, by=by, walked=None)


def _write(seen: Seen, *, at: datetime, by: User, walked: Round | None) -> Observation:
    observation = Observation(
        tree=seen.tree,
        round=walked,
        at=at,
        by=by,
        moisture=seen.moisture,
        note=seen.note.strip(),
    )
    observation.full_clean()
    observation.save()
    if seen.bud_stage is not None:
        see_buds(tree=seen.tree, code=seen.bud_stage, on=timezone.localdate(at), by=by)
    if seen.was_watered:
        Watering.objects.create(tree=seen.tree, round=walked, at=at, by=by)
    record(
        by,
        "watered" if seen.was_watered else "checked",
        seen.tree,
        at=at,
        moisture=observation.get_moisture_display(),
        note=observation.note,
    )
    return observation


def _staff_only(by: User) -> None:
    if not by.is_staffing:
        raise ValidationError("Only those who work here record rounds.")


def _not_ahead(at: datetime) -> None:
    if at > timezone.now():
        raise ValidationError(
            "A round is written down after it was walked, not before."
        )
