"""What a page becomes on paper, as the browser prints it."""

import io
from datetime import UTC, datetime

import pypdf
import pytest
from playwright.sync_api import Page

from tests import make
from wintering.climate.services.checks import check_in_ice
from wintering.climate.services.verdicts import give_verdict
from wintering.people.services import record

pytestmark = pytest.mark.django_db(transaction=True)

# Leaves of a tree's page its history alone, so far down that the foot of the first
# sheet cuts it at any place.
PUSHED_DOWN = """down => {
  const history = document.querySelector('.history').closest('section');
  document.querySelectorAll('main section, main header').forEach(
    part => { if (part !== history) part.remove() });
  history.style.marginBlockStart = `${down}px`;
}"""


def leaves(page: Page) -> list[list[str]]:
    """The lines of each sheet, its foot left out."""
    sheets = pypdf.PdfReader(io.BytesIO(page.pdf(prefer_css_page_size=True))).pages
    texts = [sheet.extract_text().splitlines() for sheet in sheets]
    return [
        [line for line in lines if line.strip() and "Wintering" not in line]
        for lines in texts
    ]


def test_the_heading_of_a_history_stands_with_its_first_line(signed_in):
    keeper = make.keeper(username="hana", first_name="Hana")
    tree = make.tree()
    for _ in range(14):
        record(keeper, "checked", tree, moisture="moist", note="looks well")
    page = signed_in("hana")
    page.goto(f"/trees/{tree.number}/")
    split = set()
    for down in range(500, 1000, 20):
        page.evaluate(PUSHED_DOWN, down)
        sheets = leaves(page)
        (sheet,) = (lines for lines in sheets if "History" in lines)
        after = sheet[sheet.index("History") + 1 :]
        assert after, f"alone at the foot, {down} px down"
        assert "checked" in after[0], f"alone at the foot, {down} px down"
        assert "looks well" in after[1]
        text = "\n".join(line for lines in sheets for line in lines)
        assert text.count("looks well") == 12
        assert "and 2 more on screen." in text
        split.add(sheets.index(sheet))
    assert split == {0, 1}, "the foot of a sheet was never crossed"


def test_what_is_pressed_on_the_screen_is_not_printed(signed_in, time_machine):
    time_machine.move_to(datetime(2025, 1, 20, 12, tzinfo=UTC))
    keeper = make.keeper(username="hana", first_name="Hana")
    sensor = make.sensor(name="R1")
    first = datetime(2025, 1, 20, tzinfo=UTC)
    make.hours(sensor, first, [1.0, 2.0, 85.0, 1.5, 2.0, 1.0])
    check_in_ice(sensor=sensor, shown=[0.6] * 10, at=first, by=keeper)
    ends = {"start_at": first, "end_at": first.replace(hour=2)}
    give_verdict(sensor=sensor, counts=False, reason="in the snow", by=keeper, **ends)
    page = signed_in("hana")
    page.goto(f"/climate/{sensor.pk}/")
    text = "\n".join(line for lines in leaves(page) for line in lines)
    assert "in the snow" in text
    assert "Checked in ice" in text
    for word in ("Take it back", "It counts after all", "Where does a reading come"):
        assert word not in text
