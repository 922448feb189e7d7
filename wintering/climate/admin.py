from django.contrib import admin
from django.http import HttpRequest

from wintering.climate.models import LogImport, ReadingDay, Sensor


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
    exclude = ("packed",)


@admin.register(LogImport)
class LogImportAdmin(ReadOnly):
    list_display = ("file_name", "frame", "at", "by")
    list_filter = ("frame",)
    list_select_related = ("frame", "by")
