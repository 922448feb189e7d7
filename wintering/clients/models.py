"""Owners of trees in care, and what was agreed with them for a winter."""

from django.conf import settings
from django.db import models
from django.db.models import F, Q


class Client(models.Model):
    """Someone who leaves trees in the keeper's care."""

    name = models.CharField(max_length=120)
    mark = models.CharField(
        max_length=6,
        unique=True,
        help_text="Short owner mark for tree lines and sheets, such as initials.",
    )
    user = models.OneToOneField(
        settings.AUTH_USER_MODEL,
        on_delete=models.SET_NULL,
        null=True,
        blank=True,
        related_name="client",
    )
    email = models.EmailField(blank=True)
    phone = models.CharField(max_length=40, blank=True)
    deputy_name = models.CharField(max_length=120, blank=True)
    deputy_phone = models.CharField(max_length=40, blank=True)
    notes = models.TextField(blank=True)

    class Meta:
        ordering = ["name"]
        constraints = [
            models.CheckConstraint(
                condition=~Q(name="") & ~Q(mark=""),
                name="client_has_name_and_mark",
                violation_error_message="Give the client a name and an owner mark.",
            ),
        ]

    def __str__(self) -> str:
        return self.name


class Agreement(models.Model):
    """What a client and the keeper agreed for one winter."""

    client = models.ForeignKey(
        Client, on_delete=models.PROTECT, related_name="agreements"
    )
    winter = models.PositiveSmallIntegerField(
        help_text="The year the winter starts in."
    )
    trees_agreed = models.PositiveSmallIntegerField()
    currency = models.CharField(max_length=3, default="", blank=True)
    fee_per_module = models.DecimalField(
        max_digits=8, decimal_places=2, null=True, blank=True
    )
    deposit = models.DecimalField(max_digits=8, decimal_places=2, null=True, blank=True)
    may_spend = models.DecimalField(
        max_digits=8,
        decimal_places=2,
        null=True,
        blank=True,
        help_text="Without asking.",
    )
    # Three answers: yes, no, and not asked yet.
    wake_at_night = models.BooleanField(null=True, blank=True)
    collect_from = models.DateField(null=True, blank=True)
    collect_until = models.DateField(null=True, blank=True)
    signed_on = models.DateField(null=True, blank=True)
    terms = models.TextField(blank=True)

    class Meta:
        ordering = ["-winter", "client__name"]
        constraints = [
            models.UniqueConstraint(
                fields=["client", "winter"],
                name="agreement_one_per_client_and_winter",
                violation_error_message=(
                    "This client already has an agreement for that winter. "
                ),
            ),
            models.CheckConstraint(
                condition=Q(collect_until__isnull=True)
                | Q(collect_from__isnull=True)
                | Q(collect_until__gte=F("collect_from")),
                name="agreement_collection_ends_after_start",
                violation_error_message="The collection window ends before it starts.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.client}, {self.winter}/{(self.winter + 1) % 100:02d}"
