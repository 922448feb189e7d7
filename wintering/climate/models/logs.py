"""Where readings came from: a file, or what a logger sent on one day."""

from django.conf import settings
from django.db import models
from django.db.models import Q

from wintering.climate.models.loggers import Logger
from wintering.frames.models import Frame


class LogImport(models.Model):
    """One log file as it came and what was made of it; or one logger's sendings of a
    day, which have no file.

    An undone one keeps its row and its file, so that it can be read again.
    """

    class Kind(models.TextChoices):
        FILE = "file", "log file"
        HTTP = "http", "sent by a logger"
        MQTT = "mqtt", "from a broker"

    kind = models.CharField(max_length=4, choices=Kind, default=Kind.FILE)
    frame = models.ForeignKey(
        Frame, on_delete=models.PROTECT, related_name="log_imports"
    )
    at = models.DateTimeField()
    by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True
    )
    file_name = models.CharField(max_length=200)
    sha256 = models.CharField(max_length=64, blank=True)
    kept = models.CharField(
        max_length=200, blank=True, help_text="The compressed copy, by its hash."
    )
    habits = models.JSONField(default=dict, help_text="How the file was read.")
    report = models.JSONField(default=dict)
    logger = models.ForeignKey(
        Logger,
        on_delete=models.PROTECT,
        null=True,
        blank=True,
        related_name="log_imports",
    )
    # What a logger sent is counted on, so that each reading has a row of its own.
    received_on = models.DateField(null=True, blank=True)
    rows = models.PositiveIntegerField(default=0)
    undone_at = models.DateTimeField(null=True, blank=True)
    undone_by = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        on_delete=models.PROTECT,
        null=True,
        blank=True,
        related_name="+",
    )
    undone_because = models.CharField(max_length=200, blank=True)

    class Meta:
        ordering = ["-at", "-pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["logger", "received_on"],
                condition=Q(undone_at__isnull=True),
                name="log_import_once_per_logger_and_day",
            ),
            models.CheckConstraint(
                condition=Q(kind="file", logger__isnull=True, received_on__isnull=True)
                | Q(logger__isnull=False, received_on__isnull=False),
                name="log_import_is_a_file_or_a_loggers_day",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.file_name} {self.at:%Y-%m-%d %H:%M}"

    @property
    def is_traced(self) -> bool:
        """Whether its readings name it; those of the first files do not."""
        return self.kind != self.Kind.FILE or "sensors" in self.habits
