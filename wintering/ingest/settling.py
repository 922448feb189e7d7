"""A keeper's choice between two values, told in the import's report too."""

from django.db import transaction

from wintering.climate.models import LogImport, Sensor
from wintering.climate.services import settle_conflicts
from wintering.people.models import User


@transaction.atomic
def settle(
    *, log_import: LogImport, sensor: Sensor, take_new: bool, reason: str, by: User
) -> int:
    """Choose for a sensor; `replaced` of the report counts what was chosen anew."""
    came = LogImport.objects.select_for_update(of=["self"]).get(pk=log_import.pk)
    count = settle_conflicts(
        log_import=came, sensor=sensor, take_new=take_new, reason=reason, by=by
    )
    if take_new:
        report = came.report
        report["replaced"] = report.get("replaced", 0) + count
        if told := report.get("sensors", {}).get(sensor.name):
            told["replaced"] = told.get("replaced", 0) + count
        came.save(update_fields=["report"])
    return count
