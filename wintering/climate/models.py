"""Sensors, their readings packed a day a row, and the log files they came from."""

from django.conf import settings
from django.db import models
from django.db.models import Q

from wintering.frames.models import Frame, Microclimate


class Sensor(models.Model):
    """One measured quantity at one place. Values are kept in the sensor's own unit."""

    class Place(models.TextChoices):
        AIR = "air", "air"
        ROOT = "root", "root zone"
        GROUND = "ground", "ground"
        OUTSIDE = "outside", "outside"
        UNKNOWN = "unknown", "place not known yet"

    class Quantity(models.TextChoices):
        TEMPERATURE = "temperature", "temperature"
        HUMIDITY = "humidity", "relative humidity"

    class Unit(models.TextChoices):
        CELSIUS = "c", "°C"
        FAHRENHEIT = "f", "°F"
        KELVIN = "k", "K"
        PERCENT = "pct", "%"

    frame = models.ForeignKey(Frame, on_delete=models.CASCADE, related_name="sensors")
    name = models.CharField(max_length=80)
    place = models.CharField(max_length=8, choices=Place, default=Place.UNKNOWN)
    quantity = models.CharField(
        max_length=12, choices=Quantity, default=Quantity.TEMPERATURE
    )
    unit = models.CharField(max_length=3, choices=Unit, default=Unit.CELSIUS)
    microclimate = models.ForeignKey(
        Microclimate,
        on_delete=models.PROTECT,
        null=True,
        blank=True,
        related_name="sensors",
    )

    class Meta:
        ordering = ["frame", "name"]
        constraints = [
            models.UniqueConstraint(
                fields=["frame", "name"],
                name="sensor_named_once",
                violation_error_message="The frame already has a sensor of that name.",
            ),
            models.CheckConstraint(
                condition=(Q(quantity="humidity") & Q(unit="pct"))
                | (Q(quantity="temperature") & ~Q(unit="pct")),
                name="sensor_unit_fits_quantity",
                violation_error_message="That unit does not measure that quantity.",
            ),
        ]

    def __str__(self) -> str:
        return self.name


class ReadingDay(models.Model):
    """A sensor's readings of one UTC day, packed; `storage.py` alone knows how.

    `low` and `high` are the extremes of the unmarked readings in thousandths of the
    sensor's unit, null where the whole day is set aside.
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

    class Meta:
        ordering = ["sensor", "day"]
        constraints = [
            models.UniqueConstraint(
                fields=["sensor", "day"], name="reading_day_once_per_sensor"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.sensor_id} {self.day}"


class LogImport(models.Model):
    """One log file as it came, and what was made of it."""

    frame = models.ForeignKey(
        Frame, on_delete=models.PROTECT, related_name="log_imports"
    )
    at = models.DateTimeField()
    by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True
    )
    file_name = models.CharField(max_length=200)
    sha256 = models.CharField(max_length=64)
    kept = models.CharField(
        max_length=200, help_text="The compressed copy, by its hash."
    )
    habits = models.JSONField(default=dict, help_text="How the file was read.")
    report = models.JSONField(default=dict)

    class Meta:
        ordering = ["-at", "-pk"]

    def __str__(self) -> str:
        return f"{self.file_name} {self.at:%Y-%m-%d %H:%M}"
