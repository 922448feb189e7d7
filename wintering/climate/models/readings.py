"""Readings, packed a sensor and day a row; `storage.py` alone knows how."""

from django.conf import settings
from django.db import models
from django.db.models import Q

from wintering.climate.models.logs import LogImport
from wintering.climate.models.sensors import Sensor


class ReadingDay(models.Model):
    """A sensor's readings of one UTC day.

    `low` and `high` are the extremes of the unmarked readings in thousandths of the
    sensor's unit, null where the whole day is set aside; `hours` holds the same for
    each of the day's hours. `origin` says which import brought each reading, and from
    which row.
    """

    sensor = models.ForeignKey(Sensor, on_delete=models.CASCADE, related_name="days")
    day = models.DateField()
    count = models.PositiveIntegerField()
    marked = models.PositiveIntegerField(default=0)
    low = models.IntegerField(null=True)
    high = models.IntegerField(null=True)
    first_at = models.DateTimeField()
    last_at = models.DateTimeField()
    packed = models.BinaryField()
    hours = models.BinaryField(default=bytes)
    origin = models.BinaryField(default=bytes)

    class Meta:
        ordering = ["sensor", "day"]
        constraints = [
            models.UniqueConstraint(
                fields=["sensor", "day"], name="reading_day_once_per_sensor"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.sensor_id} {self.day}"


class ConflictDay(models.Model):
    """Values of one import that differ from what is stored at the same instants.

    Both stay visible: these here, the others in the sensor's ReadingDay. Where a keeper
    takes the new ones, the two change places, so nothing is lost.
    """

    log_import = models.ForeignKey(
        LogImport, on_delete=models.CASCADE, related_name="conflict_days"
    )
    sensor = models.ForeignKey(
        Sensor, on_delete=models.CASCADE, related_name="conflict_days"
    )
    day = models.DateField()
    count = models.PositiveIntegerField()
    packed = models.BinaryField()
    origin = models.BinaryField(default=bytes)
    settled_at = models.DateTimeField(null=True, blank=True)
    settled_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True
    )
    took_new = models.BooleanField(null=True)
    reason = models.CharField(max_length=200, blank=True)

    class Meta:
        ordering = ["log_import", "sensor", "day"]
        constraints = [
            models.UniqueConstraint(
                fields=["log_import", "sensor", "day"],
                condition=Q(settled_at__isnull=True),
                name="conflict_day_is_asked_about_once",
            ),
            models.CheckConstraint(
                condition=Q(settled_at__isnull=True, took_new__isnull=True)
                | Q(settled_at__isnull=False, took_new__isnull=False),
                name="conflict_day_is_settled_one_way",
                violation_error_message="Say which of the two values is to count.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.sensor_id} {self.day}"
