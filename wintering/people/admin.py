from django.contrib import admin
from django.contrib.auth.admin import UserAdmin
from django.http import HttpRequest

from wintering.people.models import Event, User


@admin.register(User)
class PersonAdmin(UserAdmin):
    list_display = ("username", "first_name", "last_name", "role", "is_active")
    list_filter = ("role", "is_active")
    fieldsets = (
        *UserAdmin.fieldsets,
        ("Here", {"fields": ("role", "units", "language", "time_zone")}),
    )


@admin.register(Event)
class EventAdmin(admin.ModelAdmin):
    list_display = ("at", "by", "verb", "table", "row_id")
    list_filter = ("verb", "table")
    list_select_related = ("by",)

    def has_add_permission(self, request: HttpRequest) -> bool:
        return False

    def has_change_permission(
        self, request: HttpRequest, obj: Event | None = None
    ) -> bool:
        return False

    def has_delete_permission(
        self, request: HttpRequest, obj: Event | None = None
    ) -> bool:
        return False
