"""What people found out about sensors, said of their readings, or read off by hand."""

from django.conf import settings
from django.db import models
from django.db.models import F, Q

from wintering.climate.models.sensors import Sensor


class SensorCheck(models.Model):
    """A check in melting ice, 0.0 °C: what the sensor showed there.

    The offset is taken off every reading from then on, until the next check; the stored
    readings stay as they came.
    """

    sensor = models.ForeignKey(Sensor, on_delete=models.CASCADE, related_name="checks")
    checked_at = models.DateTimeField()
    shown_c = models.JSONField(help_text="What it showed in ice, in °C, one by one.")
    offset_k = models.FloatField(help_text="Mean of what it showed, minus 0.0 °C.")
    note = models.CharField(max_length=200, blank=True)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT)
    withdrawn_at = models.DateTimeField(null=True, blank=True)
    withdrawn_because = models.CharField(max_length=200, blank=True)

    class Meta:
        ordering = ["sensor", "checked_at"]
        constraints = [
            models.UniqueConstraint(
                fields=["sensor", "checked_at"],
                condition=Q(withdrawn_at__isnull=True),
                name="sensor_check_once_at_an_instant",
                violation_error_message="That check is already recorded.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.sensor_id} {self.checked_at:%Y-%m-%d}"


class Verdict(models.Model):
    """A keeper's word on a span of readings: they count, or they do not, and why.

    It stands above what the checks say. The span includes its start and excludes its
    end; of two that overlap the later word counts.
    """

    sensor = models.ForeignKey(
        Sensor, on_delete=models.CASCADE, related_name="verdicts"
    )
    start_at = models.DateTimeField()
    end_at = models.DateTimeField()
    counts = models.BooleanField()
    reason = models.CharField(max_length=200)
    at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT)
    withdrawn_at = models.DateTimeField(null=True, blank=True)
    withdrawn_by = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        on_delete=models.PROTECT,
        null=True,
        blank=True,
        related_name="+",
    )

    class Meta:
        ordering = ["sensor", "at", "pk"]
        constraints = [
            models.CheckConstraint(
                condition=Q(end_at__gt=F("start_at")),
                name="verdict_ends_after_its_start",
                violation_error_message="The span must end after it begins.",
            ),
            models.CheckConstraint(
                condition=~Q(reason=""),
                name="verdict_says_why",
                violation_error_message="Say why, so that it can be understood later.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.sensor_id} {self.start_at:%Y-%m-%d %H:%M}"


class MinMaxEntry(models.Model):
    """What a min/max thermometer showed when a person read it.

    Values are thousandths of the unit they were read in. Its lowest and highest were
    reached at some time since the reset before; without a reset they may be older than
    the reading before.
    """

    sensor = models.ForeignKey(
        Sensor, on_delete=models.CASCADE, related_name="min_max_entries"
    )
    read_at = models.DateTimeField()
    low = models.IntegerField()
    high = models.IntegerField()
    now = models.IntegerField(null=True, blank=True)
    unit = models.CharField(max_length=3, choices=Sensor.Unit)
    was_reset = models.BooleanField(null=True)
    note = models.CharField(max_length=200, blank=True)
    recorded_at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT)
    # A phone may send the same entry twice when the answer was lost.
    entry_id = models.UUIDField(unique=True)
    withdrawn_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["sensor", "read_at"]
        constraints = [
            models.CheckConstraint(
                condition=Q(low__lte=F("high")),
                name="min_max_entry_low_is_not_above_high",
                violation_error_message="The lowest must not lie above the highest.",
            ),
            models.CheckConstraint(
                condition=Q(now__isnull=True)
                | (Q(now__gte=F("low")) & Q(now__lte=F("high"))),
                name="min_max_entry_now_lies_between",
                violation_error_message=(
                    "What it shows now must lie between its lowest and its highest."
                ),
            ),
            models.UniqueConstraint(
                fields=["sensor", "read_at"],
                condition=Q(withdrawn_at__isnull=True),
                name="min_max_entry_once_at_an_instant",
                violation_error_message="That reading is already recorded.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.sensor_id} {self.read_at:%Y-%m-%d %H:%M}"
