"""A logger that can post, on a clock of its own."""

import json
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
from django.http import HttpResponse
from django.test import Client as Browser

from tests import make
from wintering.api import readings
from wintering.api.pace import Pace
from wintering.climate.models import Logger
from wintering.climate.services.arrivals import turn_of
from wintering.climate.services.loggers import add_logger

NOW = datetime(2026, 11, 25, 12, 0, 0, tzinfo=UTC)
ADDRESS = "/api/readings"


@dataclass
class Sender:
    """What stands in a frame and posts."""

    logger: Logger
    token: str
    browser: Browser = field(default_factory=Browser)

    def post(
        self, body: Any, kind: str = "application/json", **headers: str
    ) -> HttpResponse:
        if not isinstance(body, str | bytes):
            body = json.dumps(body)
        named = {"authorization": f"Bearer {self.token}", **headers}
        return self.browser.post(ADDRESS, body, content_type=kind, headers=named)

    def send(self, *readings: dict[str, Any]) -> HttpResponse:
        return self.post({"readings": list(readings)})


def reading(
    value: float = -0.4, minute: int = 0, sensor: str = "S0-01f", unit: str = "Cel"
) -> dict[str, Any]:
    at = NOW - timedelta(days=1) + timedelta(minutes=minute)
    return {"sensor": sensor, "at": at.isoformat(), "value": value, "unit": unit}


def turn_begins(logger: Logger) -> datetime:
    """When the logger's next turn begins: after that posts wait for the one after."""
    seconds = (NOW + timedelta(seconds=n) for n in range(51))
    second = timedelta(seconds=1)
    return next(
        at for at in seconds if turn_of(logger, at) != turn_of(logger, at - second)
    )


@pytest.fixture(autouse=True)
def _noon(time_machine):
    time_machine.move_to(NOW, tick=False)


@pytest.fixture(autouse=True)
def _own_pace(monkeypatch):
    monkeypatch.setattr(readings, "pace", Pace(1_000_000, 1_000_000))


@pytest.fixture
def sender(db) -> Sender:
    return new_sender()


def new_sender(**fields: Any) -> Sender:
    told = {"frame": make.frame(), "name": "Long Frame west", **fields}
    return Sender(*add_logger(by=make.keeper(), at=NOW, **told))
