from django.contrib import admin
from django.http import HttpRequest

from wintering.climate.models import (
    Arrival,
    ConflictDay,
    Logger,
    LoggerChannel,
    LogImport,
    MinMaxEntry,
    ReadingDay,
    Sensor,
    SensorCheck,
    Verdict,
)


class ReadOnly(admin.ModelAdmin):
    """Raw readings and the logs they came from are never altered by hand."""

    def has_add_permission(self, request: HttpRequest) -> bool:
        return False

    def has_change_permission(self, request: HttpRequest, obj: object = None) -> bool:
        return False

    def has_delete_permission(self, request: HttpRequest, obj: object = None) -> bool:
        return False


@admin.register(Sensor)
class SensorAdmin(admin.ModelAdmin):
    list_display = ("name", "frame", "place", "unit", "microclimate")
    list_filter = ("frame", "place")
    list_select_related = ("frame", "microclimate")

    def has_delete_permission(self, request: HttpRequest, obj: object = None) -> bool:
        # With a sensor would go what it measured.
        return False


@admin.register(ReadingDay)
class ReadingDayAdmin(ReadOnly):
    list_display = ("sensor", "day", "count", "marked")
    list_filter = ("sensor",)
    list_select_related = ("sensor",)
    exclude = ("packed", "hours", "origin")


@admin.register(ConflictDay)
class ConflictDayAdmin(ReadOnly):
    list_display = ("log_import", "sensor", "day", "count", "took_new")
    list_filter = ("sensor",)
    list_select_related = ("log_import", "sensor")
    exclude = ("packed", "origin")


@admin.register(LogImport)
class LogImportAdmin(ReadOnly):
    list_display = ("file_name", "kind", "frame", "at", "by", "undone_at")
    list_filter = ("kind", "frame")
    list_select_related = ("frame", "by")


@admin.register(Logger)
class LoggerAdmin(ReadOnly):
    list_display = ("name", "way", "frame", "heard_at", "ended_at")
    list_filter = ("way", "frame")
    list_select_related = ("frame",)
    exclude = ("token_hash",)


@admin.register(LoggerChannel)
class LoggerChannelAdmin(admin.ModelAdmin):
    list_display = ("name", "logger", "sensor")
    list_filter = ("logger",)
    list_select_related = ("logger", "sensor")


@admin.register(Arrival)
class ArrivalAdmin(ReadOnly):
    list_display = ("logger", "at")
    list_filter = ("logger",)
    list_select_related = ("logger",)


@admin.register(SensorCheck)
class SensorCheckAdmin(ReadOnly):
    list_display = ("sensor", "checked_at", "offset_k", "by", "withdrawn_at")
    list_filter = ("sensor",)
    list_select_related = ("sensor", "by")


@admin.register(Verdict)
class VerdictAdmin(ReadOnly):
    list_display = ("sensor", "start_at", "end_at", "counts", "reason", "withdrawn_at")
    list_filter = ("sensor",)
    list_select_related = ("sensor",)


@admin.register(MinMaxEntry)
class MinMaxEntryAdmin(ReadOnly):
    list_display = ("sensor", "read_at", "low", "high", "unit", "was_reset")
    list_filter = ("sensor",)
    list_select_related = ("sensor",)
