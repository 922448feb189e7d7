from django.contrib import admin

from wintering.forecast.models import Flag


@admin.register(Flag)
class FlagAdmin(admin.ModelAdmin):
    list_display = ("kind", "level", "tree", "frame", "since", "cleared_at")
    list_filter = ("kind", "level", "frame")
    list_select_related = ("tree__taxon", "frame")
