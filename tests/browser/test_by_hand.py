"""A thermometer read with one gloved hand on a phone."""

from datetime import UTC, datetime

import pytest
from playwright.sync_api import Page, expect

from tests import make
from tests.browser.conftest import PHONE
from wintering.climate.models import MinMaxEntry

pytestmark = pytest.mark.django_db(transaction=True)

NOW = datetime(2025, 1, 21, 7, 40, tzinfo=UTC)


@pytest.fixture(autouse=True)
def _january(time_machine):
    time_machine.move_to(NOW)


@pytest.fixture
def door(db):
    make.helper(username="emil")
    frame = make.frame(name="Long Frame", slug="long-frame")
    part = make.microclimate(frame=frame, name="rear bench")
    return make.sensor(
        name="Door", place="air", microclimate=part, unit="f", is_min_max=True
    )


@pytest.fixture
def phone(signed_in, door) -> Page:
    return signed_in("emil", viewport=PHONE, has_touch=True, is_mobile=True)


def tap(page: Page, name: str, times: int = 1) -> None:
    for _ in range(times):
        page.get_by_role("button", name=name, exact=True).tap()


def test_it_is_read_by_taps_alone(phone, complaints):
    phone.get_by_role("link", name="Read thermometer").tap()
    tap(phone, "Lowest: 1 lower", 2)
    tap(phone, "Highest: 1 higher", 3)
    tap(phone, "Highest: 0.1 higher", 2)
    tap(phone, "Now: 0.1 lower")
    expect(phone.get_by_label("Lowest", exact=True)).to_have_value("30")
    expect(phone.get_by_label("Highest", exact=True)).to_have_value("35.2")
    expect(phone.get_by_label("Now", exact=True)).to_have_value("31.9")
    phone.get_by_text("yes", exact=True).tap()
    tap(phone, "Record reading")
    expect(phone.get_by_text("Recorded. Door: lowest 30")).to_be_visible()
    entry = MinMaxEntry.objects.get()
    assert (entry.low, entry.high, entry.now) == (30000, 35200, 31900)
    assert entry.was_reset is True
    assert complaints == []


def test_a_sign_turns_with_one_tap(phone):
    phone.goto("/thermometers/read/")
    lowest = phone.get_by_label("Lowest", exact=True)
    lowest.fill("4,5")
    tap(phone, "Lowest: above or below zero")
    expect(lowest).to_have_value("\N{MINUS SIGN}4.5")
    tap(phone, "Lowest: 0.1 lower")
    expect(lowest).to_have_value("\N{MINUS SIGN}4.6")


def test_every_target_is_large_enough_for_a_glove(phone):
    phone.goto("/thermometers/read/")
    buttons = phone.locator(".step-row button")
    expect(buttons).to_have_count(15)
    boxes = [one.bounding_box() for one in buttons.all()]
    assert min(box["height"] for box in boxes) >= 64
    assert min(box["width"] for box in boxes) >= 64
    wide = phone.evaluate("document.documentElement.scrollWidth")
    assert wide <= PHONE["width"]


def test_what_was_pressed_survives_a_reload_until_it_is_recorded(phone):
    phone.goto("/thermometers/read/")
    tap(phone, "Lowest: 1 lower")
    tap(phone, "Highest: 1 higher")
    phone.reload()
    expect(phone.get_by_label("Lowest", exact=True)).to_have_value("31")
    tap(phone, "Record reading")
    expect(phone.get_by_text("Recorded.")).to_be_visible()
    phone.goto("/thermometers/read/")
    tap(phone, "Lowest: 1 higher")
    expect(phone.get_by_label("Lowest", exact=True)).to_have_value("32")


def test_an_answer_that_was_lost_and_a_second_press_keep_one(phone):
    phone.goto("/thermometers/read/")
    tap(phone, "Lowest: 1 lower")
    tap(phone, "Highest: 1 higher")
    # The phone hears nothing of the first sending, and sends the same form again.
    sent = phone.evaluate(
        """() => {
          const body = new FormData(document.getElementById("reading"));
          return fetch(location.href, {method: "POST", body}).then((said) => said.ok);
        }"""
    )
    assert sent
    tap(phone, "Record reading")
    expect(phone.get_by_text("Recorded.")).to_be_visible()
    assert MinMaxEntry.objects.count() == 1


def test_without_script_it_is_typed(signed_in, door):
    page = signed_in("emil", viewport=PHONE, java_script_enabled=False)
    page.goto("/thermometers/read/")
    expect(page.get_by_role("button", name="Lowest: 1 lower")).to_have_count(0)
    page.get_by_label("Lowest", exact=True).fill("-2,5")
    page.get_by_label("Highest", exact=True).fill("40")
    page.locator(".main-action button").click()
    expect(page.get_by_text("Recorded.")).to_be_visible()
    assert MinMaxEntry.objects.get().low == -2500
