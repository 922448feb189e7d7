"""Addresses for bringing a log in by the browser."""

from django.urls import path

from wintering.ingest import views

app_name = "ingest"
urlpatterns = [
    path("climate/import/", views.log_import, name="log-import"),
    path("climate/import/preview/", views.log_preview, name="log-preview"),
    path("climate/import/leave/", views.log_leave, name="log-leave"),
    path("climate/import/report/", views.log_report, name="log-report"),
]
