"""A client's tree from check-in to calendar, as a keeper does it with a phone."""

import io
import re
import urllib.request
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import icalendar
import numpy as np
import pypdf
import pytest
from django.core.management import call_command
from playwright.sync_api import Page, expect

from tests import make
from tests.browser.conftest import PHONE
from wintering.frames.models import Bench, Frame
from wintering.frames.services import add_bench, add_frame
from wintering.stays.models import HeldModule
from wintering.trees.models import Tree

pytestmark = pytest.mark.django_db(transaction=True)


NOW = datetime(2025, 1, 21, 17, 30, tzinfo=UTC)
ARRIVED = "2024-10-05"


@pytest.fixture(autouse=True)
def _january(time_machine):
    time_machine.move_to(NOW)


@pytest.fixture
def place(db):
    """A keeper with a frame of one tall and one low bench, and the catalogue."""
    call_command("load_catalogue", verbosity=0)
    keeper = make.keeper(username="hana", time_zone="America/New_York")
    frame = add_frame(
        name="Long Frame",
        width_cm=540,
        depth_cm=240,
        time_zone="America/New_York",
        by=keeper,
    )
    part = frame.microclimates.get()
    for name, y_cm, headroom_cm in (("N1", 150, 120), ("S1", 0, 40)):
        add_bench(
            frame=frame,
            by=keeper,
            name=name,
            level="bench",
            x_cm=0,
            y_cm=y_cm,
            width_cm=450,
            depth_cm=90,
            height_cm=75,
            headroom_cm=headroom_cm,
            module_cm=45,
            microclimate_of=lambda column, row: part,
        )
    return frame


@pytest.fixture
def log_file(tmp_path):
    """Four months of a logger up to an hour ago: a frame that froze hard last night."""
    end = datetime.now(UTC).replace(minute=0, second=0, microsecond=0)
    hours = [end - timedelta(hours=back) for back in range(24 * 120, 0, -1)]
    day = 2.5 + 1.5 * np.sin(2 * np.pi * np.arange(len(hours)) / 24)
    root = day - 1.0
    root[-12:-4] = -8.1
    path = tmp_path / "frame.csv"
    rows = [
        f"{at:%Y-%m-%dT%H:%M:%S}+00:00,{air:.2f},{roots:.2f}"
        for at, air, roots in zip(hours, day, root, strict=True)
    ]
    path.write_text("timestamp,bench_air_c,pot_root_c\n" + "\n".join(rows) + "\n")
    return path


def check_in(page: Page, photo: Path, *, height_cm: int = 45) -> str:
    """Step 1; returns the accession number the tree was given."""
    page.goto("/stays/check-in/")
    page.get_by_text("New client").click()
    page.locator("[name=new_name]").fill("Noa Sandoral")
    page.locator("[name=taxon_name]").press_sequentially("japanese map")
    page.get_by_role("radio", name=re.compile("Acer palmatum")).check()
    for name, size in (("width", 30), ("depth", 22)):
        page.locator(f"[name=pot-{name}_cm]").fill(str(size))
    page.locator("[name=tree-height_cm]").fill(str(height_cm))
    page.locator("[name=tree-canopy_width_cm]").fill("40")
    page.locator("[name=tree-canopy_depth_cm]").fill("36")
    page.locator("[name=tree-weight_kg]").fill("7")
    page.locator("[name=tree-root_work_on]").fill("2022-04-01")
    page.get_by_role("radio", name="minor findings").check()
    page.get_by_role("radio", name="looked, none found").check()
    page.locator("[name=found-findings]").fill("Glaze chip, back left, 6 cm, old.")
    page.locator("[name=photo]").set_input_files(photo)
    page.locator("[name=stay-since]").fill(ARRIVED)
    page.get_by_role("button", name="Check in tree").click()
    page.wait_for_url(re.compile("checked-in"))
    return Tree.objects.latest("serial").number


def place_at(page: Page, number: str, label: str) -> None:
    page.goto(f"/trees/{number}/place/")
    page.get_by_label("Since").fill(ARRIVED)
    page.locator("[name=label]").fill(label)
    page.get_by_role("button", name="See whether it fits").click()


def bring_in(page: Page, log: Path, places: dict[str, str]) -> None:
    """Step 4: choose the file, see what was understood, say what is where, import."""
    page.goto("/climate/import/")
    page.locator("[name=log]").set_input_files(log)
    page.get_by_role("button", name="Read the file").click()
    page.wait_for_url(re.compile("preview"))
    for column, where in places.items():
        form = page.locator(".column-form").filter(has_text=column)
        form.get_by_role("radio", name=where, exact=True).check()
        form.get_by_label("Microclimate").select_option(label="whole frame")
    page.get_by_role("button", name="Import log").click()
    page.wait_for_url(re.compile("report"))


def fits(page: Page) -> bool:
    """Nothing sticks out at the side."""
    return page.evaluate("document.documentElement.scrollWidth <= window.innerWidth")


def test_a_keeper_takes_a_clients_tree_from_check_in_to_calendar(
    place, log_file, signed_in, live_server, complaints, tmp_path
):
    photo = tmp_path / "front.jpg"
    photo.write_bytes(make.picture().getvalue())
    page = signed_in("hana", viewport=PHONE)

    # 1 check in
    number = check_in(page, photo)
    assert number == "T-001"
    expect(page.get_by_text("T-001").first).to_be_visible()
    assert fits(page)
    assert Tree.objects.get().photos.count() == 1

    # 2 inventory, with where a fact comes from
    page.goto("/trees/?q=acer")
    expect(page.get_by_text("T-001").first).to_be_visible()
    expect(page.get_by_text("−9.4 °C").first).to_be_visible()
    assert fits(page)

    # 3 a place on the plan; too tall for the low bench, and the place is then taken
    place_at(page, "T-001", "S1-01f")
    expect(page.get_by_text("too tall: 45 cm with its pot")).to_be_visible()
    place_at(page, "T-001", "N1-07b")
    page.get_by_role("button", name=re.compile("N1-07b")).click()
    page.wait_for_url(re.compile("/trees/T-001/$"))
    assert HeldModule.objects.get().module.label == "N1-07b"

    # 4 the log, and its chart with the safe band
    bring_in(page, log_file, {"bench_air_c": "air", "pot_root_c": "root zone"})
    sensor = Frame.objects.get().sensors.get(place="root")
    page.goto(f"/climate/{sensor.pk}/")
    expect(page.locator("svg").first).to_be_visible()
    expect(page.get_by_text(re.compile("safe", re.I)).first).to_be_visible()
    assert fits(page)

    # 5 chill against its need, and flags with evidence
    page.goto("/trees/T-001/")
    expect(page.get_by_text(re.compile("of 42 to 56 days")).first).to_be_visible()
    expect(page.get_by_text("roots too cold").first).to_be_visible()
    assert fits(page)

    # 6 the printed layout
    for paper, width_mm in (("a4", 297), ("letter", 279.4)):
        answer = page.request.get(f"/frames/long-frame/sheet.pdf?paper={paper}")
        sheet = pypdf.PdfReader(io.BytesIO(answer.body()))
        assert float(sheet.pages[0].mediabox.width) * 25.4 / 72 == pytest.approx(
            width_mm, abs=0.5
        )
        assert "T-001" in sheet.pages[0].extract_text()

    # 7 the calendar, fetched as a calendar program does: without signing in
    page.goto("/calendar/")
    page.get_by_role("button", name="Make a link").click()
    address = re.search(r"/calendar/[\w-]{43}\.ics", page.content()).group()
    with urllib.request.urlopen(live_server.url + address) as answer:
        calendar = icalendar.Calendar.from_ical(answer.read())
    summaries = [str(event["SUMMARY"]) for event in calendar.walk("VEVENT")]
    assert any("Long Frame" in summary for summary in summaries)
    assert any("T-001" in summary for summary in summaries)
    assert complaints == []


def test_a_place_that_is_taken_is_refused_with_the_tree_that_holds_it(place, signed_in):
    first, second = (make.tree() for _ in range(2))
    bench = Bench.objects.get(name="N1")
    make.placement(
        tree=first,
        modules=[bench.modules.get(label="N1-07b")],
        since=date.fromisoformat(ARRIVED),
    )
    page = signed_in("hana")
    place_at(page, second.number, "N1-07b")
    expect(page.get_by_text(f"N1-07b already holds {first.number}")).to_be_visible()
    assert HeldModule.objects.count() == 1
