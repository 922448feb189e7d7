from django.contrib import admin
from django.http import HttpRequest

from wintering.trees.models import Photo, Pot, Taxon, TaxonFact, Tree


class KeptForGood(admin.ModelAdmin):
    """Custody records are corrected, never deleted."""

    def has_delete_permission(self, request: HttpRequest, obj: object = None) -> bool:
        return False


@admin.register(Taxon)
class TaxonAdmin(admin.ModelAdmin):
    list_display = ("scientific_name", "common_names", "habit")
    search_fields = ("search_text",)


@admin.register(TaxonFact)
class TaxonFactAdmin(admin.ModelAdmin):
    list_display = ("taxon", "attribute", "value", "unit", "kind")
    list_filter = ("kind", "attribute")
    search_fields = ("taxon__search_text",)
    list_select_related = ("taxon",)


@admin.register(Tree)
class TreeAdmin(KeptForGood):
    list_display = ("number", "taxon", "cultivar", "owner")
    search_fields = ("search_text",)
    list_select_related = ("taxon", "owner")


@admin.register(Pot)
class PotAdmin(admin.ModelAdmin):
    list_display = ("tree", "since", "until", "shape")
    list_select_related = ("tree__taxon",)


@admin.register(Photo)
class PhotoAdmin(KeptForGood):
    list_display = ("tree", "view", "taken_at")
    list_filter = ("view",)
    list_select_related = ("tree__taxon",)
