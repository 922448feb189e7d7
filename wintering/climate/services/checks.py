"""Checks of sensors in melting ice."""

from collections.abc import Sequence
from datetime import datetime

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils import timezone

from wintering.climate.models import Sensor, SensorCheck
from wintering.people.models import User
from wintering.people.services import record
from wintering.science.ice_bath import TAKEN, ice_bath
from wintering.science.units import TemperatureUnit


@transaction.atomic
def check_in_ice(
    *, sensor: Sensor, shown: Sequence[float], at: datetime, by: User, note: str = ""
) -> SensorCheck:
    """Keep what a sensor showed in ice; its offset applies from that instant on.

    shown  ten readings in the sensor's own unit
    """
    _keepers_only(by)
    _refuse(sensor, shown, at)
    shown_c = [float(TemperatureUnit(sensor.unit).to_c(one)) for one in shown]
    bath = ice_bath(shown_c)
    if bath.refusal:
        raise ValidationError(bath.refusal)
    check = SensorCheck(
        sensor=sensor,
        checked_at=at,
        shown_c=[round(one, 6) for one in shown_c],
        offset_k=bath.offset_k,
        note=note,
        by=by,
    )
    check.full_clean()
    check.save()
    record(by, "checked in ice", sensor, at=at, offset_k=check.offset_k)
    return check


@transaction.atomic
def withdraw_check(*, check: SensorCheck, reason: str, by: User) -> SensorCheck:
    """Take a check back: the one before applies again; this one stays on record."""
    _keepers_only(by)
    held = SensorCheck.objects.select_for_update().get(pk=check.pk)
    if held.withdrawn_at:
        raise ValidationError("That check was taken back before.")
    if not reason.strip():
        raise ValidationError("Say why, so that it can be understood later.")
    held.withdrawn_at, held.withdrawn_because = timezone.now(), reason.strip()
    held.full_clean()
    held.save(update_fields=["withdrawn_at", "withdrawn_because"])
    record(
        by,
        "took back a check in ice of",
        held.sensor,
        checked_at=held.checked_at,
        offset_k=held.offset_k,
        reason=held.withdrawn_because,
    )
    return held


def _keepers_only(by: User) -> None:
    if not by.is_keeper:
        raise ValidationError("Only a keeper says what a check in ice found.")


def _refuse(sensor: Sensor, shown: Sequence[float], at: datetime) -> None:
    if sensor.quantity != Sensor.Quantity.TEMPERATURE:
        raise ValidationError(
            "Ice checks a thermometer; this sensor measures humidity."
        )
    if sensor.is_min_max:
        raise ValidationError(
            "This thermometer is read by hand: hold it beside a sensor that was "
            "checked, and note the difference."
        )
    if len(shown) != TAKEN:
        raise ValidationError(f"Give {TAKEN} readings: there are {len(shown)}.")
    if at > timezone.now():
        raise ValidationError("That lies ahead: write down what has happened.")
