"""Every page with the demo winter in it, on a phone, in the dark, on a desktop."""

import os
from datetime import UTC, datetime
from pathlib import Path

import pytest
from playwright.sync_api import Page

from tests import make
from tests.browser.conftest import DESKTOP, PHONE
from wintering.clients.models import Client
from wintering.climate.models import LogImport, Sensor
from wintering.people.models import User
from wintering.stays.models import Stay
from wintering.trees.models import Evidence, TaxonFact
from wintering.web.demo.loader import load_demo
from wintering.web.demo.story import Story

pytestmark = pytest.mark.django_db(transaction=True)

PICTURES = Path(__file__).parent / "pictures"
# The evening after the story's coldest night, a season's own day.
NOW = datetime(2025, 1, 21, 23, 0, tzinfo=UTC)


@pytest.fixture
def demo(settings, tmp_path, time_machine):
    settings.DATA_DIR = tmp_path
    time_machine.move_to(NOW)
    load_demo(Story.at(NOW))
    User.objects.update(password=make.user().password)


def pages_of(role: str) -> list[str]:
    """Addresses of every kind of page a person may open."""
    stay = Stay.objects.filter(tree__number="T-028").get()
    pages = own_pages(stay)
    if role == "client":
        return pages
    sensor = Sensor.objects.get(name="R1")
    log = LogImport.objects.get(file_name="long-frame-air-and-roots.csv")
    pages += staff_pages(stay, sensor, log)
    return pages if role == "helper" else pages + keeper_pages(stay, sensor, log)


def own_pages(stay: Stay) -> list[str]:
    return [
        "/",
        "/trees/",
        "/trees/T-028/",
        "/trees/T-028/facts/",
        f"/stays/{stay.pk}/",
        "/stays/",
        "/calendar/",
    ]


def staff_pages(stay: Stay, sensor: Sensor, log: LogImport) -> list[str]:
    door = Sensor.objects.get(is_min_max=True)
    return [
        "/thermometers/read/",
        f"/climate/{door.pk}/",
        "/trees/?q=acer",
        "/trees/T-028/place/",
        "/trees/T-028/check/",
        "/taxa/",
        f"/taxa/{stay.tree.taxon_id}/",
        "/frames/",
        "/frames/long-frame/",
        "/climate/",
        f"/climate/{sensor.pk}/",
        "/climate/frames/long-frame/",
        f"/climate/sensors/{sensor.pk}/winters/",
        "/climate/import/",
        "/climate/logs/",
        f"/climate/logs/{log.pk}/",
        f"/climate/logs/{log.pk}/conflicts/",
        f"/climate/sensors/{sensor.pk}/readings/?at=2025-01-20T06:10",
        "/forecast/",
        "/rounds/",
        "/rounds/new/?frame=long-frame",
        "/stays/check-in/",
    ]


def keeper_pages(stay: Stay, sensor: Sensor, log: LogImport) -> list[str]:
    own_fact = TaxonFact.objects.filter(kind=Evidence.OWN).first()
    return [
        "/taxa/add/",
        f"/taxa/{stay.tree.taxon_id}/facts/chilling_requirement/",
        "/trees/T-028/facts/root_class/",
        f"/facts/{own_fact.pk}/withdraw/",
        "/trees/new/",
        "/trees/T-001/edit/",
        f"/stays/{stay.pk}/check-out/",
        "/clients/",
        f"/clients/{Client.objects.get(mark='CB').pk}/",
        "/clients/add/",
        "/frames/add/",
        "/frames/long-frame/bench/",
        "/frames/long-frame/microclimate/",
        f"/climate/{sensor.pk}/edit/",
        f"/climate/{sensor.pk}/ice/?own=yes",
        f"/climate/{sensor.pk}/verdict/",
        f"/climate/checks/{sensor.checks.get().pk}/take-back/",
        "/frames/long-frame/thermometer/",
        f"/climate/logs/{log.pk}/again/",
        f"/climate/logs/{log.pk}/take-back/",
    ]


def sideways(page: Page) -> int:
    """How far the page reaches beyond its screen [px]."""
    return page.evaluate("document.documentElement.scrollWidth - window.innerWidth")


def test_every_page_opens_fits_and_keeps_to_the_content_policy(
    demo, signed_in, complaints
):
    faults = []
    for username, role in (("hana", "keeper"), ("emil", "helper"), ("karin", "client")):
        for screen in (
            {"viewport": PHONE},
            {"viewport": DESKTOP, "color_scheme": "dark"},
        ):
            page = signed_in(username, **screen)
            for address in pages_of(role):
                answer = page.goto(address)
                if answer.status != 200 or sideways(page) > 0:
                    faults.append((role, address, answer.status, sideways(page)))
    assert faults == []
    assert complaints == []


SMALL = """(found) => found
  .map((one) => [one.innerText, one.getBoundingClientRect().height])
  .filter(([_, high]) => high && high < 48)"""


def test_what_is_folded_and_where_a_log_lies_are_wide_enough_for_a_thumb(
    demo, signed_in
):
    sensor = Sensor.objects.get(name="R1")
    log = LogImport.objects.get(file_name="long-frame-air-and-roots.csv")
    page = signed_in("hana", viewport=PHONE)
    small = []
    for address in (f"/climate/{sensor.pk}/", f"/climate/logs/{log.pk}/", "/"):
        page.goto(address)
        targets = page.locator("main summary, main .facts a")
        assert targets.count() or address == "/"
        small += targets.evaluate_all(SMALL)
    assert small == []


@pytest.mark.parametrize(
    ("name", "address", "shown"),
    [
        ("layout", "/frames/long-frame/", "T-028"),
        ("tree", "/trees/T-028/", "T-028"),
        ("climate", "/climate/frames/long-frame/", "Point at the chart"),
    ],
)
def test_the_pictures_of_the_readme_can_be_taken(demo, signed_in, name, address, shown):
    """With WINTERING_PICTURES=1 they are written to the folder of the README's."""
    page = signed_in("hana", viewport={"width": 1100, "height": 1250})
    page.goto(address)
    page.evaluate("document.fonts.ready")
    page.locator("main", has_text=shown).wait_for()
    picture = page.screenshot()
    if os.environ.get("WINTERING_PICTURES") == "1":
        (PICTURES / f"{name}.png").write_bytes(picture)
    assert picture.startswith(b"\x89PNG")
