from django.contrib import admin

from wintering.clients.models import Agreement, Client


@admin.register(Client)
class ClientAdmin(admin.ModelAdmin):
    list_display = ("name", "mark", "email", "phone")
    search_fields = ("name", "mark")


@admin.register(Agreement)
class AgreementAdmin(admin.ModelAdmin):
    list_display = ("client", "winter", "trees_agreed", "signed_on")
    list_filter = ("winter",)
    list_select_related = ("client",)
