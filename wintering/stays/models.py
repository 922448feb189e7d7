"""Custody and standing: which tree is in care, in what condition, and where it stands.

Intervals include their first day and exclude their last.
"""

from datetime import date

from django.conf import settings
from django.db import models
from django.db.models import F, Q

from wintering.clients.models import Client
from wintering.frames.models import Module
from wintering.trees.models import Tree


class StayQuerySet(models.QuerySet["Stay"]):
    def on(self, day: date) -> "StayQuerySet":
        return self.filter(since__lte=day).exclude(until__lte=day)


class Stay(models.Model):
    """One client's tree in care for one winter, check-in to check-out."""

    tree = models.ForeignKey(Tree, on_delete=models.PROTECT, related_name="stays")
    client = models.ForeignKey(Client, on_delete=models.PROTECT, related_name="stays")
    winter = models.PositiveSmallIntegerField(
        help_text="The year the winter starts in."
    )
    since = models.DateField("checked in on")
    until = models.DateField("checked out on", null=True, blank=True)
    planned_until = models.DateField("collection planned on", null=True, blank=True)
    declared_tree_value = models.DecimalField(
        max_digits=10, decimal_places=2, null=True, blank=True
    )
    declared_pot_value = models.DecimalField(
        max_digits=10, decimal_places=2, null=True, blank=True
    )
    currency = models.CharField(max_length=3, blank=True)
    depositor = models.CharField(
        max_length=120,
        blank=True,
        help_text="Who handed the tree over, if not the owner.",
    )
    # A helper's check-in is a draft until a keeper has confirmed it.
    confirmed_at = models.DateTimeField(null=True, blank=True)
    confirmed_by = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        on_delete=models.PROTECT,
        null=True,
        blank=True,
        related_name="stays_confirmed",
    )
    agreed = models.TextField(
        blank=True, help_text="What was agreed beyond the agreement."
    )

    objects = StayQuerySet.as_manager()

    class Meta:
        ordering = ["-since", "tree"]
        constraints = [
            models.CheckConstraint(
                condition=Q(until__isnull=True) | Q(until__gt=F("since")),
                name="stay_ends_after_start",
                violation_error_message="A stay ends on a day after its check-in.",
            ),
            models.CheckConstraint(
                condition=Q(planned_until__isnull=True)
                | Q(planned_until__gt=F("since")),
                name="stay_planned_end_after_start",
                violation_error_message=(
                    "The planned collection lies before the check-in. "
                ),
            ),
            models.UniqueConstraint(
                fields=["tree", "winter"],
                condition=Q(until=None),
                name="stay_one_open_per_tree_and_winter",
                violation_error_message=(
                    "This tree is already checked in for that winter. "
                ),
            ),
            models.CheckConstraint(
                condition=(
                    Q(declared_tree_value__isnull=True) | Q(declared_tree_value__gte=0)
                )
                & (Q(declared_pot_value__isnull=True) | Q(declared_pot_value__gte=0)),
                name="stay_declared_values_not_negative",
                violation_error_message="A declared value cannot be below zero.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.tree_id} from {self.since}"


class ConditionReport(models.Model):
    """What was found on a tree at a transfer of custody or an inspection."""

    class Occasion(models.TextChoices):
        CHECK_IN = "check_in", "check-in"
        INSPECTION = "inspection", "inspection"
        CHECK_OUT = "check_out", "check-out"

    class Grade(models.TextChoices):
        SOUND = "sound", "sound"
        MINOR = "minor", "minor findings"
        SIGNIFICANT = "significant", "significant findings"
        THREATENED = "threatened", "threatens the tree"
        UNKNOWN = "unknown", "don't know"

    class Vigour(models.TextChoices):
        STRONG = "strong", "strong"
        NORMAL = "normal", "normal"
        WEAK = "weak", "weak"
        FAILING = "failing", "failing"
        UNKNOWN = "unknown", "don't know"

    class Pests(models.TextChoices):
        NONE_FOUND = "none_found", "looked, none found"
        FOUND = "found", "live pests found"
        NOT_LOOKED = "not_looked", "not looked"

    tree = models.ForeignKey(
        Tree, on_delete=models.PROTECT, related_name="condition_reports"
    )
    stay = models.ForeignKey(
        Stay,
        on_delete=models.PROTECT,
        null=True,
        blank=True,
        related_name="condition_reports",
    )
    occasion = models.CharField(max_length=10, choices=Occasion)
    on = models.DateField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT)
    grade = models.CharField(max_length=12, choices=Grade, default=Grade.UNKNOWN)
    vigour = models.CharField(max_length=8, choices=Vigour, default=Vigour.UNKNOWN)
    pests = models.CharField(max_length=10, choices=Pests, default=Pests.NOT_LOOKED)
    findings = models.TextField(blank=True)

    class Meta:
        ordering = ["-on", "-pk"]

    def __str__(self) -> str:
        return f"{self.get_occasion_display()} of {self.tree_id} on {self.on}"


class PlacementQuerySet(models.QuerySet["Placement"]):
    def on(self, day: date) -> "PlacementQuerySet":
        return self.filter(since__lte=day).exclude(until__lte=day)


class Placement(models.Model):
    """Where a tree stands, from when until when, and why there."""

    tree = models.ForeignKey(Tree, on_delete=models.PROTECT, related_name="placements")
    since = models.DateField()
    until = models.DateField(null=True, blank=True)
    reason = models.CharField(max_length=300, blank=True)
    modules = models.ManyToManyField(
        Module, through="HeldModule", related_name="placements"
    )

    objects = PlacementQuerySet.as_manager()

    class Meta:
        ordering = ["-since", "-pk"]
        constraints = [
            models.CheckConstraint(
                condition=Q(until__isnull=True) | Q(until__gte=F("since")),
                name="placement_ends_after_start",
                violation_error_message=(
                    "A tree cannot leave a place before it came there. "
                ),
            ),
            models.UniqueConstraint(
                fields=["tree"],
                condition=Q(until=None),
                name="placement_one_at_a_time",
                violation_error_message="A tree stands in one place at a time.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.tree_id} from {self.since}"


class HeldModule(models.Model):
    """One module taken by a placement. While open, no other tree can take it.

    `until` repeats the placement's: only a row's own columns can be constrained.
    """

    placement = models.ForeignKey(
        Placement, on_delete=models.CASCADE, related_name="held"
    )
    module = models.ForeignKey(Module, on_delete=models.PROTECT, related_name="held")
    until = models.DateField(null=True, blank=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["module"],
                condition=Q(until=None),
                name="held_module_holds_one_tree",
                violation_error_message="That place already holds a tree.",
            ),
            models.UniqueConstraint(
                fields=["placement", "module"], name="held_module_once_per_placement"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.module_id} by {self.placement_id}"
