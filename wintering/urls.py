"""Addresses of the whole site."""

from django.contrib import admin
from django.urls import include, path

urlpatterns = [
    path("", include("wintering.web.urls")),
    path("", include("wintering.feed.urls")),
    path("", include("wintering.printing.urls")),
    path("", include("wintering.ingest.urls")),
    path("api/", include("wintering.api.urls")),
    path("admin/", admin.site.urls),
]
