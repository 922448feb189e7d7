"""Addresses for bringing a log in by the browser."""

from django.urls import path

from wintering.ingest import (
    again_views,
    conflict_views,
    log_views,
    trace_views,
    views,
)

app_name = "ingest"
urlpatterns = [
    path("climate/import/", views.log_import, name="log-import"),
    path("climate/import/preview/", views.log_preview, name="log-preview"),
    path("climate/import/leave/", views.log_leave, name="log-leave"),
    path("climate/import/report/", views.log_report, name="log-report"),
    path("climate/logs/", log_views.log_list, name="log-list"),
    path("climate/logs/<int:pk>/", log_views.log_detail, name="log-detail"),
    path("climate/logs/<int:pk>/file/", log_views.log_file, name="log-file"),
    path(
        "climate/logs/<int:pk>/take-back/",
        log_views.log_take_back,
        name="log-take-back",
    ),
    path("climate/logs/<int:pk>/again/", again_views.log_again, name="log-again"),
    path(
        "climate/logs/<int:pk>/conflicts/",
        conflict_views.log_conflicts,
        name="log-conflicts",
    ),
    path(
        "climate/sensors/<int:pk>/readings/",
        trace_views.reading_trace,
        name="reading-trace",
    ),
]
