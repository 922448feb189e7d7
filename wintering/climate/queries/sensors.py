"""Who may see which sensors and logs."""

from django.db.models import QuerySet

from wintering.climate.models import LogImport, Sensor
from wintering.people.models import User


def sensors_for(user: User) -> QuerySet[Sensor]:
    """Those who work here see every sensor; clients see none."""
    if not user.is_staffing:
        return Sensor.objects.none()
    return Sensor.objects.select_related("frame", "microclimate")


def log_imports_for(user: User) -> QuerySet[LogImport]:
    """Those who work here see which logs came in; clients see none."""
    if not user.is_staffing:
        return LogImport.objects.none()
    return LogImport.objects.select_related("frame", "by")
