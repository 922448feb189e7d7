from django.contrib import admin
from django.http import HttpRequest

from wintering.stays.models import ConditionReport, HeldModule, Placement, Stay


class KeptForGood(admin.ModelAdmin):
    """Custody records are corrected, never deleted."""

    def has_delete_permission(self, request: HttpRequest, obj: object = None) -> bool:
        return False


@admin.register(Stay)
class StayAdmin(KeptForGood):
    list_display = ("tree", "client", "winter", "since", "until")
    list_filter = ("winter",)
    list_select_related = ("tree__taxon", "client")


@admin.register(ConditionReport)
class ConditionReportAdmin(KeptForGood):
    list_display = ("tree", "occasion", "on", "grade", "vigour", "pests")
    list_filter = ("occasion",)
    list_select_related = ("tree__taxon",)


class HeldModuleInline(admin.TabularInline):
    model = HeldModule
    extra = 0


@admin.register(Placement)
class PlacementAdmin(KeptForGood):
    list_display = ("tree", "since", "until", "reason")
    list_select_related = ("tree__taxon",)
    inlines = (HeldModuleInline,)
