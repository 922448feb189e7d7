"""A keeper's word on readings: it stands above what the checks say."""

from datetime import datetime

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils import timezone

from wintering.climate.models import Sensor, Verdict
from wintering.climate.queries.verdicts import what_changes
from wintering.climate.services.judging import rejudge
from wintering.climate.storage import second_from
from wintering.people.models import User
from wintering.people.services import record


@transaction.atomic
def give_verdict(
    *,
    sensor: Sensor,
    start_at: datetime,
    end_at: datetime,
    counts: bool,
    reason: str,
    by: User,
) -> Verdict:
    """Say of a span that its readings count, or that they do not, and why.

    The span includes its start and excludes its end. Readings that come in later for
    it are under the same word. Refused where it would change nothing.
    """
    _keepers_only(by)
    if not reason.strip():
        raise ValidationError("Say why, so that it can be understood later.")
    verdict = Verdict(
        sensor=sensor,
        start_at=start_at,
        end_at=end_at,
        counts=counts,
        reason=reason.strip(),
        at=timezone.now(),
        by=by,
    )
    verdict.full_clean()
    Sensor.objects.select_for_update().get(pk=sensor.pk)
    refusal = what_changes(sensor, start_at, end_at, counts=counts).refusal
    if refusal:
        raise ValidationError(refusal)
    verdict.save()
    changed = _rejudged(verdict)
    verb = "let count readings of" if counts else "set aside readings of"
    record(by, verb, sensor, **_detail(verdict), readings=changed)
    return verdict


@transaction.atomic
def withdraw_verdict(*, verdict: Verdict, by: User) -> Verdict:
    """Take a word back: the checks, and earlier words, decide again."""
    _keepers_only(by)
    held = Verdict.objects.select_for_update().get(pk=verdict.pk)
    if held.withdrawn_at:
        raise ValidationError("That word was taken back before.")
    held.withdrawn_at, held.withdrawn_by = timezone.now(), by
    held.full_clean()
    held.save(update_fields=["withdrawn_at", "withdrawn_by"])
    changed = _rejudged(held)
    record(by, "took back a word on", held.sensor, **_detail(held), readings=changed)
    return held


def _keepers_only(by: User) -> None:
    if not by.is_keeper:
        raise ValidationError("Only a keeper says which readings count.")


def _rejudged(verdict: Verdict) -> int:
    return rejudge(
        sensor=verdict.sensor,
        start_s=second_from(verdict.start_at),
        end_s=second_from(verdict.end_at),
    )


def _detail(verdict: Verdict) -> dict[str, object]:
    return {
        "start_at": verdict.start_at,
        "end_at": verdict.end_at,
        "counts": verdict.counts,
        "reason": verdict.reason,
    }
