"""Rounds through a frame, what was seen and done, and what has been published of it."""

import uuid

from django.conf import settings
from django.db import models
from django.db.models import Q

from wintering.frames.models import Frame
from wintering.trees.models import Tree


class Round(models.Model):
    """A walk through a frame. A glance from afar is not a round."""

    frame = models.ForeignKey(Frame, on_delete=models.PROTECT, related_name="rounds")
    at = models.DateTimeField(help_text="When it was walked.")
    recorded_at = models.DateTimeField(help_text="When it was written down.")
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT)
    note = models.TextField(blank=True)

    class Meta:
        ordering = ["-at", "-pk"]

    def __str__(self) -> str:
        return f"{self.frame} {self.at:%Y-%m-%d %H:%M}"


class Observation(models.Model):
    """What was seen of one tree. A tree that could not be checked is not checked."""

    class Moisture(models.TextChoices):
        # The rest of a bench on a round that writes down exceptions only.
        NO_FINDING = "no_finding", "checked, nothing to note"
        DRY = "dry", "dry"
        MOIST = "moist", "moist"
        WET = "wet", "wet"
        FROZEN = "frozen", "frozen"
        NOT_CHECKED = "not_checked", "could not check"

    tree = models.ForeignKey(
        Tree, on_delete=models.PROTECT, related_name="observations"
    )
    round = models.ForeignKey(
        Round,
        on_delete=models.CASCADE,
        null=True,
        blank=True,
        related_name="observations",
    )
    at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT)
    moisture = models.CharField(max_length=12, choices=Moisture)
    note = models.TextField(blank=True)

    class Meta:
        ordering = ["-at", "-pk"]
        indexes = [models.Index(fields=["tree", "-at"], name="observation_latest")]

    def __str__(self) -> str:
        return f"{self.tree_id} {self.moisture}"


class Watering(models.Model):
    """Water given to one tree."""

    tree = models.ForeignKey(Tree, on_delete=models.PROTECT, related_name="waterings")
    round = models.ForeignKey(
        Round, on_delete=models.CASCADE, null=True, blank=True, related_name="waterings"
    )
    at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT)

    class Meta:
        ordering = ["-at", "-pk"]
        indexes = [models.Index(fields=["tree", "-at"], name="watering_latest")]

    def __str__(self) -> str:
        return f"{self.tree_id} {self.at:%Y-%m-%d}"


class FeedToken(models.Model):
    """One subscription to a calendar. Only the secret's hash is kept."""

    user = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="feed_tokens"
    )
    token_hash = models.CharField(max_length=64, unique=True, null=True, blank=True)
    has_reminders = models.BooleanField(default=True)
    created_at = models.DateTimeField()
    last_used_on = models.DateField(null=True, blank=True)
    revoked_at = models.DateTimeField(null=True, blank=True)
    # What was last served, so that a date-only client is told the truth.
    digest = models.CharField(max_length=64, blank=True)
    changed_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["-created_at"]
        constraints = [
            models.UniqueConstraint(
                fields=["user"],
                condition=Q(revoked_at=None),
                name="feed_token_one_open_per_user",
            ),
        ]

    def __str__(self) -> str:
        return f"feed of {self.user_id}"


class CalendarItem(models.Model):
    """What has been published of one thing, so that it moves instead of doubling.

    The key names the thing it stands for; what is due is still computed.
    """

    key = models.CharField(max_length=120, unique=True)
    uid = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    sequence = models.PositiveIntegerField(default=0)
    digest = models.CharField(max_length=64)
    changed_at = models.DateTimeField()
    content = models.JSONField(help_text="As last published, to cancel it by.")
    withdrawn_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["key"]

    def __str__(self) -> str:
        return self.key
