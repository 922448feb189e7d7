"""Long names and wide tables on a phone of 360 px: nothing is pulled sideways."""

from datetime import UTC, datetime, timedelta

import numpy as np
import pytest
from playwright.sync_api import Page, expect

from tests import make
from tests.browser.conftest import PHONE
from tests.browser.test_every_page import sideways
from wintering.climate.models import LoggerChannel

pytestmark = pytest.mark.django_db(transaction=True)

NOW = datetime(2026, 1, 21, 12, tzinfo=UTC)
UNFOLD = "document.querySelectorAll('main details').forEach(one => one.open = true)"
URN = "urn:dev:ow:10e2073a01080063:temp"


@pytest.fixture
def phone(signed_in, time_machine) -> Page:
    time_machine.move_to(NOW)
    make.keeper(username="hana")
    return signed_in("hana", viewport=PHONE)


@pytest.fixture
def part(db):
    frame = make.frame(name="Long Frame", slug="long-frame")
    return make.microclimate(frame=frame, name="rear bench")


def test_a_name_without_a_space_stays_on_the_screen(phone, part):
    sensor = make.sensor(name=URN, microclimate=part)
    make.hours(sensor, NOW - timedelta(hours=5), [1.0, 2.0, 1.5])
    logger = make.logger(frame=part.frame, name=URN)
    LoggerChannel.objects.create(logger=logger, name=URN, sensor=sensor)
    for address in (
        "/climate/",
        "/climate/loggers/",
        f"/climate/loggers/{logger.pk}/",
        f"/climate/{sensor.pk}/",
        f"/climate/sensors/{sensor.pk}/winters/",
        "/climate/frames/long-frame/",
    ):
        assert phone.goto(address).status == 200, address
        expect(phone.locator("main")).to_contain_text(URN)
        assert sideways(phone) <= 0, address
        phone.evaluate(UNFOLD)
        assert sideways(phone) <= 0, f"{address}, unfolded"


def test_winters_are_compared_without_pulling_their_table(phone, part):
    sensor = make.sensor(name="R1", microclimate=part)
    for years in range(3):
        first = NOW - timedelta(days=365 * years + 30)
        at = int(first.timestamp()) + 3600 * np.arange(700)
        make.store(sensor, at, 1000 * years + (at // 3600 % 24) * 100)
    phone.goto(f"/climate/sensors/{sensor.pk}/winters/")
    table = phone.locator(".winters")
    expect(table).to_contain_text("Chill portions since 1 October")
    assert table.evaluate("one => one.scrollWidth - one.clientWidth") <= 0
    expect(table.get_by_text("2025/26")).to_be_visible()


def test_the_names_of_lines_fit_beside_the_chart(phone, part):
    sensor = make.sensor(name="R1", microclimate=part)
    for years in range(2):
        first = NOW - timedelta(days=365 * years + 30)
        at = int(first.timestamp()) + 3600 * np.arange(700)
        make.store(sensor, at, 1000 * years + (at // 3600 % 24) * 100)
    phone.add_init_script(
        """window.said = [];
        const draw = CanvasRenderingContext2D.prototype.fillText;
        CanvasRenderingContext2D.prototype.fillText = function (text, x, y) {
          const wide = this.measureText(text).width;
          if (this.textAlign === "left")
            window.said.push({ text, over: x + wide - this.canvas.width });
          return draw.call(this, text, x, y);
        };"""
    )
    phone.goto(f"/climate/sensors/{sensor.pk}/winters/")
    expect(phone.locator(".live[data-step]").first).to_be_visible()
    said = [one for one in phone.evaluate("window.said") if "/2" in one["text"]]
    assert {one["text"] for one in said} == {"2024/25", "2025/26"}
    assert max(one["over"] for one in said) <= 0
