"""The chart that one moves in: by keys, by mouse, by fingers, on a phone, on paper."""

from datetime import UTC, datetime, timedelta

import numpy as np
import pytest
from playwright.sync_api import Page, expect

from tests import make
from tests.browser.conftest import DESKTOP, PHONE
from tests.browser.test_every_page import sideways

pytestmark = pytest.mark.django_db(transaction=True)

NOW = datetime(2025, 1, 21, 12, tzinfo=UTC)
TEXT, PLOT = '[data-part="text"]', '[data-part="plot"]'


@pytest.fixture
def sensors(time_machine):
    """Three sensors at ten minutes for eight weeks, each with its own level."""
    time_machine.move_to(NOW, tick=True)
    make.user("keeper", username="hana")
    frame = make.frame(
        name="Long Frame", slug="long-frame", latitude_deg=45, longitude_deg=-93
    )
    part = make.microclimate(frame=frame, name="rear bench")
    at = int((NOW - timedelta(days=56)).timestamp()) + 600 * np.arange(56 * 144)
    found = []
    for n, name in enumerate(("R1", "R2", "A1")):
        sensor = make.sensor(name=name, microclimate=part)
        make.store(sensor, at, 1000 * n + (at // 600 % 144) * 10)
        found.append(sensor)
    make.round(frame=frame, at=NOW - timedelta(days=2))
    return found


def opened(signed_in, address, **screen) -> Page:
    page = signed_in("hana", **screen)
    page.goto(address)
    expect(page.locator(".live[data-step]").first).to_be_visible()
    return page


def step_of(page: Page) -> int:
    return int(page.locator(".live").first.get_attribute("data-step"))


def test_the_chart_stands_in_for_the_drawing(signed_in, sensors, complaints):
    page = opened(signed_in, f"/climate/{sensors[0].pk}/", viewport=DESKTOP)
    assert page.locator(f"{PLOT} canvas").is_visible()
    assert not page.locator("svg.chart").is_visible()
    plot = page.locator(PLOT)
    assert plot.get_attribute("aria-label") == "R1, root zone"
    assert "lowest 0.00\u00a0°C" in page.locator('[data-part="summary"]').inner_text()
    page.emulate_media(media="print")
    assert page.locator("svg.chart").is_visible()
    assert not page.locator(PLOT).is_visible()
    assert complaints == []


def test_arrow_keys_move_the_cursor_and_the_words_follow(
    signed_in, sensors, complaints
):
    page = opened(signed_in, f"/climate/{sensors[0].pk}/")
    page.locator(PLOT).focus()
    page.keyboard.press("Home")
    expect(page.locator(TEXT)).to_contain_text("R1, root zone, ")
    first = page.locator(TEXT).inner_text()
    page.keyboard.press("ArrowRight")
    second = page.locator(TEXT).inner_text()
    page.keyboard.press("ArrowLeft")
    assert first != second
    assert page.locator(TEXT).inner_text() == first
    assert "\u00a0°C" in first
    assert page.locator(TEXT).get_attribute("aria-live") == "polite"
    assert complaints == []


def test_looking_closer_loads_finer_columns_and_escape_goes_back(
    signed_in, sensors, complaints
):
    page = opened(signed_in, f"/climate/{sensors[0].pk}/?range=winter")
    whole = step_of(page)
    page.locator(PLOT).focus()
    for _ in range(5):
        page.keyboard.press("+")
    expect(page.locator(".live").first).not_to_have_attribute("data-step", str(whole))
    assert step_of(page) < whole
    page.keyboard.press("Escape")
    expect(page.locator(".live").first).to_have_attribute("data-step", str(whole))
    assert complaints == []


def test_a_stretch_pulled_across_is_looked_at(signed_in, sensors, complaints):
    page = opened(signed_in, f"/climate/{sensors[0].pk}/?range=winter")
    whole = step_of(page)
    page.locator(f"{PLOT} .u-over").scroll_into_view_if_needed()
    box = page.locator(f"{PLOT} .u-over").bounding_box()
    middle = box["y"] + box["height"] / 2
    page.mouse.move(box["x"] + box["width"] * 0.5, middle)
    page.mouse.down()
    page.mouse.move(box["x"] + box["width"] * 0.6, middle, steps=5)
    page.mouse.up()
    expect(page.locator(".live").first).not_to_have_attribute("data-step", str(whole))
    assert step_of(page) < whole
    assert complaints == []


def test_a_round_is_read_out_where_it_was(signed_in, sensors, complaints):
    page = opened(signed_in, f"/climate/{sensors[0].pk}/")
    page.locator(f"{PLOT} .u-over").scroll_into_view_if_needed()
    box = page.locator(f"{PLOT} .u-over").bounding_box()
    # Seven days from midnight to midnight: the round was at noon two days ago.
    share = 4.5 / 7
    page.mouse.move(box["x"] + box["width"] * share, box["y"] + 40)
    expect(page.locator(TEXT)).to_contain_text("round")
    assert complaints == []


def test_lines_are_chosen_from_a_list_and_told_one_by_one(
    signed_in, sensors, complaints
):
    page = opened(signed_in, "/climate/frames/long-frame/")
    page.locator(PLOT).focus()
    page.keyboard.press("End")
    words = page.locator(TEXT)
    expect(words).to_contain_text("R1, root zone")
    expect(words).to_contain_text("A1, root zone")
    page.locator(".live-key").get_by_role("checkbox", name="R2").uncheck()
    expect(words).not_to_contain_text("R2")
    patterns = page.locator(".live-key path").evaluate_all(
        "all => all.map(one => getComputedStyle(one).strokeDasharray)"
    )
    assert len(set(patterns)) == len(sensors)
    assert complaints == []


def test_winters_can_be_moved_in_too(signed_in, sensors, complaints):
    page = opened(signed_in, f"/climate/sensors/{sensors[0].pk}/winters/")
    page.locator(PLOT).focus()
    page.keyboard.press("End")
    expect(page.locator(TEXT)).to_contain_text("2024/25")
    assert complaints == []


def test_the_chart_fits_a_phone_in_the_dark(signed_in, sensors, complaints):
    for address in (
        f"/climate/{sensors[0].pk}/",
        "/climate/frames/long-frame/",
        f"/climate/sensors/{sensors[0].pk}/winters/",
    ):
        page = opened(signed_in, address, viewport=PHONE, color_scheme="dark")
        assert sideways(page) == 0
        assert page.locator(f"{PLOT} canvas").first.is_visible()
        heights = page.locator(".live button").evaluate_all(
            "all => all.map(one => one.getBoundingClientRect().height)"
        )
        assert min(heights) >= 48
    assert complaints == []


def test_the_drawing_stays_without_script(signed_in, sensors, browser, live_server):
    state = signed_in("hana").context.storage_state()
    context = browser.new_context(
        base_url=live_server.url, storage_state=state, java_script_enabled=False
    )
    page = context.new_page()
    page.goto(f"/climate/{sensors[0].pk}/")
    assert page.locator("svg.chart").is_visible()
    assert not page.locator(PLOT).is_visible()
    context.close()


def test_two_fingers_look_closer(signed_in, sensors, complaints):
    page = opened(
        signed_in,
        f"/climate/{sensors[0].pk}/?range=winter",
        viewport=PHONE,
        has_touch=True,
    )
    whole = step_of(page)
    page.locator(f"{PLOT} .u-over").scroll_into_view_if_needed()
    box = page.locator(f"{PLOT} .u-over").bounding_box()
    middle = box["y"] + box["height"] / 2
    session = page.context.new_cdp_session(page)

    def fingers(kind, *shares):
        points = [{"x": box["x"] + box["width"] * s, "y": middle} for s in shares]
        session.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": points})

    fingers("touchStart", 0.45, 0.55)
    for spread in (0.1, 0.2, 0.3, 0.4):
        fingers("touchMove", 0.45 - spread, 0.55 + spread)
    fingers("touchEnd")
    expect(page.locator(".live").first).not_to_have_attribute("data-step", str(whole))
    assert step_of(page) < whole
    assert complaints == []


# Where each word that is written to the right of its end begins on the canvas.
SPY = """() => {
  window.begun = [];
  const plain = CanvasRenderingContext2D.prototype.fillText;
  CanvasRenderingContext2D.prototype.fillText = function (text, x, y) {
    if (this.textAlign === "right") {
      const left = x - this.measureText(text).width;
      window.begun.push([text, this.getTransform().transformPoint({ x: left, y }).x]);
    }
    return plain.apply(this, arguments);
  };
}"""


@pytest.mark.parametrize("screen", [DESKTOP, PHONE])
def test_words_beside_the_chart_are_never_cut(signed_in, sensors, complaints, screen):
    cold = make.sensor(name="C1", frame=sensors[0].frame)
    at = int(NOW.timestamp()) - 600 * np.arange(144)
    make.store(cold, at[::-1], -12100 - (at // 600 % 144))
    page = signed_in("hana", viewport=screen)
    page.add_init_script(f"({SPY})()")
    page.goto(f"/climate/{cold.pk}/")
    expect(page.locator(".live[data-step]")).to_be_visible()
    whole = step_of(page)
    page.locator(PLOT).focus()
    for _ in range(5):
        page.keyboard.press("+")
    expect(page.locator(".live")).not_to_have_attribute("data-step", str(whole))
    begun = page.evaluate("window.begun")
    assert any(text.startswith("−12.1") for text, _ in begun)
    assert [text for text, left in begun if left < 0] == []
    assert complaints == []


@pytest.mark.parametrize(
    ("answer", "said"),
    [
        ({"status": 500, "body": "<h1>Sorry</h1>"}, "could not be loaded"),
        ({"status": 400, "json": {"error": "Give a later end."}}, "Give a later end."),
    ],
)
def test_the_drawing_stays_where_the_chart_has_nothing_to_show(
    signed_in, sensors, answer, said
):
    page = signed_in("hana")
    page.route("**/chart.json*", lambda route: route.fulfill(**answer))
    page.goto(f"/climate/{sensors[0].pk}/")
    expect(page.locator(TEXT)).to_contain_text(said)
    assert page.locator("svg.chart").is_visible()
    assert not page.locator(PLOT).is_visible()
    assert not page.get_by_role("button", name="Closer").is_visible()


def test_who_was_signed_out_is_told_to_sign_in_again(signed_in, sensors):
    page = opened(signed_in, f"/climate/{sensors[0].pk}/")
    page.context.clear_cookies()
    page.locator(PLOT).focus()
    page.keyboard.press("+")
    expect(page.locator(TEXT)).to_contain_text("Sign in again")
    assert page.locator(f"{PLOT} canvas").is_visible()
