"""Logs brought into a frame, and browsers, for tests of the pages about them."""

import io
from datetime import UTC, datetime

from django.test import Client as Browser

from wintering.climate.models import LogImport
from wintering.ingest.channels import Channel
from wintering.ingest.intake import import_log

LOG = """time,R1 (°C)
2025-01-19 10:00,0.4
2025-01-19 11:00,0.5
2025-01-19 12:00,0.6
"""
OTHER = LOG.replace("0.5", "9.5").replace("0.6", "9.6")
OWN = [Channel("R1 (°C)", "R1", "root", "floor")]
PREVIEW = "/climate/import/preview/"
NOON = datetime(2025, 1, 20, 12, tzinfo=UTC)


def browser_of(person) -> Browser:
    browser = Browser()
    browser.force_login(person)
    return browser


def bring(frame, text=LOG, *, name="a.csv", **answers):
    import_log(
        file=io.BytesIO(text.encode()),
        file_name=name,
        frame=frame,
        by=None,
        mapping=OWN,
        **{"zone": "Europe/Oslo", **answers},
    )
    return LogImport.objects.order_by("pk").last()


def page(log, part=""):
    return f"/climate/logs/{log.pk}/{part}"


def words(answer) -> str:
    return " ".join(answer.content.decode().split())


def send(browser, fields, address=PREVIEW):
    """As the preview's form does, with the file that it was made for."""
    mark = browser.get(PREVIEW).context["mark"]
    return browser.post(address, {"waiting": mark, **fields})
