"""Who may see which sensors and logs."""

from django.db.models import OuterRef, QuerySet, Subquery, Sum
from django.db.models.functions import Coalesce

from wintering.climate.models import ConflictDay, LogImport, Sensor
from wintering.people.models import User


def sensors_for(user: User) -> QuerySet[Sensor]:
    """Those who work here see every sensor; clients see none."""
    if not user.is_staffing:
        return Sensor.objects.none()
    return Sensor.objects.select_related("frame", "microclimate")


def log_imports_for(user: User) -> QuerySet[LogImport]:
    """Those who work here see which logs came in; clients see none.

    `open_conflicts` of each: values that differ from what is stored, and wait.
    """
    if not user.is_staffing:
        return LogImport.objects.none()
    waiting = ConflictDay.objects.filter(log_import=OuterRef("pk"), settled_at=None)
    waiting = waiting.order_by().values("log_import").annotate(sum=Sum("count"))
    return LogImport.objects.select_related("frame", "by").annotate(
        open_conflicts=Coalesce(Subquery(waiting.values("sum")), 0)
    )
