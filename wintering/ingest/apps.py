from django.apps import AppConfig


class IngestConfig(AppConfig):
    name = "wintering.ingest"
    label = "ingest"
