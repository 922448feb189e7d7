"""Flags: stated risks to a tree, a frame or a sensor, kept with their evidence."""

from django.db import models
from django.db.models import Q

from wintering.climate.models import Sensor
from wintering.frames.models import Frame
from wintering.trees.models import Tree


class FlagQuerySet(models.QuerySet["Flag"]):
    def standing(self) -> "FlagQuerySet":
        return self.filter(cleared_at=None)


class Flag(models.Model):
    """One risk: since when, how urgent, on what evidence, and what to do."""

    class Kind(models.TextChoices):
        CHILL_AT_RISK = "chill_at_risk", "chill at risk"
        ROOTS_TOO_COLD = "roots_too_cold", "roots too cold"
        GREEN_TOO_COLD = "green_too_cold", "green growth too cold"
        WAKING_EARLY = "waking_early", "waking early"
        GREY_MOULD = "grey_mould", "conditions favour grey mould"
        DRYING_OUT = "drying_out", "drying out"
        SENSOR_QUIET = "sensor_quiet", "sensor gone quiet"

    class Level(models.TextChoices):
        TONIGHT = "tonight", "tonight"
        WEEK = "week", "this week"
        WATCH = "watch", "keep an eye on"

    kind = models.CharField(max_length=20, choices=Kind)
    level = models.CharField(max_length=8, choices=Level)
    frame = models.ForeignKey(Frame, on_delete=models.CASCADE, related_name="flags")
    tree = models.ForeignKey(
        Tree, on_delete=models.CASCADE, null=True, blank=True, related_name="flags"
    )
    sensor = models.ForeignKey(
        Sensor, on_delete=models.CASCADE, null=True, blank=True, related_name="flags"
    )
    since = models.DateTimeField(help_text="When the evidence first showed it.")
    judged_at = models.DateTimeField(help_text="When it was last found to stand.")
    cleared_at = models.DateTimeField(null=True, blank=True)
    # A list of {text, value, unit, source}.
    evidence = models.JSONField(default=list)
    advice = models.TextField()

    objects = FlagQuerySet.as_manager()

    class Meta:
        ordering = ["-since", "pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["kind", "tree"],
                condition=Q(cleared_at=None, tree__isnull=False),
                name="flag_stands_once_per_tree",
            ),
            models.UniqueConstraint(
                fields=["kind", "sensor"],
                condition=Q(cleared_at=None, sensor__isnull=False),
                name="flag_stands_once_per_sensor",
            ),
            models.CheckConstraint(
                condition=~Q(tree__isnull=False, sensor__isnull=False),
                name="flag_about_a_tree_or_a_sensor",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.kind} {self.level}"


class Judging(models.Model):
    """When a frame's readings were last judged, whether or not a flag came of it."""

    frame = models.OneToOneField(
        Frame, on_delete=models.CASCADE, related_name="judging"
    )
    at = models.DateTimeField()

    def __str__(self) -> str:
        return f"{self.frame_id} {self.at:%Y-%m-%d %H:%M}"
