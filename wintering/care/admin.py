from django.contrib import admin

from wintering.care.models import CalendarItem, FeedToken, Observation, Round, Watering


@admin.register(Round)
class RoundAdmin(admin.ModelAdmin):
    list_display = ("frame", "at", "by")
    list_filter = ("frame",)
    list_select_related = ("frame", "by")


@admin.register(Observation)
class ObservationAdmin(admin.ModelAdmin):
    list_display = ("tree", "at", "moisture")
    list_filter = ("moisture",)
    list_select_related = ("tree__taxon",)


@admin.register(Watering)
class WateringAdmin(admin.ModelAdmin):
    list_display = ("tree", "at", "by")
    list_select_related = ("tree__taxon", "by")


@admin.register(FeedToken)
class FeedTokenAdmin(admin.ModelAdmin):
    list_display = ("user", "created_at", "last_used_on", "revoked_at")
    list_select_related = ("user",)
    readonly_fields = ("token_hash", "digest", "changed_at")


@admin.register(CalendarItem)
class CalendarItemAdmin(admin.ModelAdmin):
    list_display = ("key", "sequence", "changed_at", "withdrawn_at")
