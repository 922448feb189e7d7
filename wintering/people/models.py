"""Who works here, and the record of who did what, when."""

from typing import Any, NoReturn

from django.contrib.auth.models import AbstractUser, UserManager
from django.db import models

from wintering.people.zones import validate_time_zone


class PersonManager(UserManager["User"]):
    def create_superuser(self, username: str, *args: Any, **fields: Any) -> "User":
        """Whoever sets the place up is its keeper."""
        fields.setdefault("role", User.Role.KEEPER)
        return super().create_superuser(username, *args, **fields)


class User(AbstractUser):
    """A person who signs in: runs the place, works in it, or owns a tree in care."""

    class Role(models.TextChoices):
        KEEPER = "keeper", "Keeper"
        HELPER = "helper", "Helper"
        CLIENT = "client", "Client"

    class Units(models.TextChoices):
        CELSIUS = "c", "°C"
        FAHRENHEIT = "f", "°F"

    # The least that anyone may do is the default.
    role = models.CharField(max_length=10, choices=Role, default=Role.CLIENT)
    units = models.CharField(max_length=1, choices=Units, default=Units.CELSIUS)
    language = models.CharField(max_length=12, default="en")
    time_zone = models.CharField(
        max_length=64,
        blank=True,
        validators=[validate_time_zone],
        help_text="IANA name such as Europe/Oslo; empty: the place's own.",
    )

    objects = PersonManager()

    @property
    def is_keeper(self) -> bool:
        return self.is_active and self.role == self.Role.KEEPER

    @property
    def is_staffing(self) -> bool:
        """Works in the place, so sees every tree and frame."""
        return self.is_active and self.role in {self.Role.KEEPER, self.Role.HELPER}

    @property
    def name(self) -> str:
        return self.get_full_name() or self.get_username()


class EventQuerySet(models.QuerySet["Event"]):
    def about(self, row: models.Model) -> "EventQuerySet":
        return self.filter(table=row._meta.label_lower, row_id=row.pk)

    def update(self, **kwargs: Any) -> NoReturn:
        raise TypeError("Events are only ever added.")

    def delete(self) -> NoReturn:
        raise TypeError("Events are only ever added.")


class Event(models.Model):
    """Who did what, when, to which row; only ever added to."""

    at = models.DateTimeField()
    by = models.ForeignKey(
        User, on_delete=models.PROTECT, null=True, related_name="events"
    )
    verb = models.CharField(max_length=40)
    table = models.CharField(max_length=60)
    row_id = models.BigIntegerField()
    detail = models.JSONField(default=dict, blank=True)

    objects = EventQuerySet.as_manager()

    class Meta:
        ordering = ["-at", "-pk"]
        indexes = [
            models.Index(fields=["table", "row_id", "-at"], name="event_about_row")
        ]

    def __str__(self) -> str:
        return f"{self.at:%Y-%m-%d %H:%M} {self.verb} {self.table} {self.row_id}"
