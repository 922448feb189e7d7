"""Devices that send their readings by themselves, and what has just arrived."""

from django.db import models
from django.db.models import Q

from wintering.climate.models.sensors import Sensor
from wintering.frames.models import Frame


class Logger(models.Model):
    """A sender of readings for one frame.

    Over HTTP it shows a token, of which only the hash is kept; a bridge to a broker
    has none.
    """

    class Way(models.TextChoices):
        HTTP = "http", "sends by HTTP"
        MQTT = "mqtt", "heard through a broker"

    frame = models.ForeignKey(Frame, on_delete=models.PROTECT, related_name="loggers")
    name = models.CharField(max_length=80)
    way = models.CharField(max_length=4, choices=Way, default=Way.HTTP)
    token_hash = models.CharField(max_length=64, blank=True)
    added_at = models.DateTimeField()
    ended_at = models.DateTimeField(
        null=True, blank=True, help_text="From then on its token opens nothing."
    )
    heard_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["frame", "name"]
        constraints = [
            models.UniqueConstraint(
                fields=["frame", "name"],
                name="logger_named_once",
                violation_error_message="The frame already has a logger of that name.",
            ),
            models.UniqueConstraint(
                fields=["token_hash"],
                condition=~Q(token_hash=""),
                name="logger_token_is_its_own",
            ),
            models.CheckConstraint(
                condition=Q(way="mqtt") | ~Q(token_hash=""),
                name="logger_over_http_has_a_token",
            ),
        ]

    def __str__(self) -> str:
        return self.name


class LoggerChannel(models.Model):
    """The name that a logger gives a quantity, and the sensor that it is."""

    logger = models.ForeignKey(
        Logger, on_delete=models.CASCADE, related_name="channels"
    )
    name = models.CharField(max_length=200)
    sensor = models.ForeignKey(
        Sensor, on_delete=models.PROTECT, related_name="channels"
    )

    class Meta:
        ordering = ["logger", "name"]
        constraints = [
            models.UniqueConstraint(
                fields=["logger", "name"], name="logger_channel_named_once"
            ),
        ]

    def __str__(self) -> str:
        return self.name


class Arrival(models.Model):
    """Readings that a quick logger sent, kept as they came until they are folded into
    their days: one short row is written a post, instead of a day's readings each time.

    `readings` holds [channel pk, second since 1970 in UTC, thousandths] each.
    """

    logger = models.ForeignKey(
        Logger, on_delete=models.PROTECT, related_name="arrivals"
    )
    at = models.DateTimeField()
    readings = models.JSONField()

    class Meta:
        ordering = ["pk"]

    def __str__(self) -> str:
        return f"{self.logger_id} {self.at:%Y-%m-%d %H:%M:%S}"
