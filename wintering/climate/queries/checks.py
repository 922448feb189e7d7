"""What checks in ice say of a sensor."""

from dataclasses import dataclass
from datetime import datetime, timedelta

from django.db.models import QuerySet

from wintering.climate.models import Sensor, SensorCheck
from wintering.climate.storage import Readings, unpack
from wintering.people.models import User
from wintering.science.ice_bath import TAKEN, drift_k

FRESH = timedelta(hours=1)
"""The last of a sensor's own readings in ice is no older: own choice."""

WITHIN = timedelta(hours=3)
"""Ten readings spread over longer were not all taken in one bath: own choice."""


@dataclass(frozen=True, slots=True)
class CheckLine:
    """A check, and how far the sensor had drifted since the one before [K]."""

    check: SensorCheck
    drift_k: float | None


@dataclass(frozen=True, slots=True)
class OwnTen:
    """A sensor's last ten readings as they came, in its own unit."""

    shown: tuple[float, ...]
    first_at: datetime
    last_at: datetime


def checks_for(user: User) -> QuerySet[SensorCheck]:
    """Those who work here see the checks of sensors; clients see none."""
    if not user.is_staffing:
        return SensorCheck.objects.none()
    return SensorCheck.objects.select_related("sensor__frame", "by")


def checks_of(sensor: Sensor) -> list[CheckLine]:
    """The checks of a sensor, newest first, those taken back among them."""
    found, before = [], None
    for check in sensor.checks.select_related("by").order_by("checked_at", "pk"):
        if check.withdrawn_at:
            found.append(CheckLine(check, None))
            continue
        moved = None if before is None else drift_k(check.offset_k, before.offset_k)
        found.append(CheckLine(check, moved))
        before = check
    return found[::-1]


def last_check(sensor: Sensor) -> SensorCheck | None:
    """The newest check that was not taken back."""
    return sensor.checks.filter(withdrawn_at=None).order_by("checked_at").last()


def own_ten(sensor: Sensor, at: datetime) -> OwnTen | None:
    """Its last ten readings, if they are fresh enough to be those in the bath."""
    if sensor.quantity != Sensor.Quantity.TEMPERATURE or sensor.is_min_max:
        return None
    days = sensor.days.filter(first_at__lte=at).order_by("-day")[:2]
    held = Readings.joined([unpack(row.day, row.packed) for row in reversed(days)])
    held = held.at(held.seconds <= at.timestamp()).at(slice(-TAKEN, None))
    if len(held) < TAKEN:
        return None
    first_at, last_at = (
        datetime.fromtimestamp(int(second), at.tzinfo)
        for second in (held.seconds[0], held.seconds[-1])
    )
    if at - last_at > FRESH or last_at - first_at > WITHIN:
        return None
    return OwnTen(tuple((held.thousandths / 1000).tolist()), first_at, last_at)
