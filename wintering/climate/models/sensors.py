"""Sensors of a frame: one measured quantity at one place each."""

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
    # A thermometer that keeps its lowest and highest until it is reset: it is read by
    # a person, sends nothing, and so is never quiet.
    is_min_max = models.BooleanField("read by hand", default=False)
    accuracy = models.FloatField(
        "accuracy, ±",
        null=True,
        blank=True,
        help_text="As its maker states it, in K or % relative humidity.",
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
            models.CheckConstraint(
                condition=Q(accuracy__isnull=True) | Q(accuracy__gt=0),
                name="sensor_accuracy_is_positive",
                violation_error_message="An accuracy is more than nothing.",
            ),
        ]

    def __str__(self) -> str:
        return self.name
