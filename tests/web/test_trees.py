"""The inventory and a tree's page, by role."""

import csv
import html
import io
import re
from datetime import UTC, datetime

import pytest

from tests import make
from tests.web.test_stays import words
from wintering.people.services import record

NOW = datetime(2025, 1, 21, 6, 30, tzinfo=UTC)
pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def _late_january(time_machine):
    time_machine.move_to(NOW, tick=False)


def numbers_on(page) -> list[str]:
    return [row.record.line.number for row in page.context["table"].rows]


class TestInventory:
    def test_staff_see_every_tree(self, as_keeper, as_helper, collection):
        every = [tree.number for tree in collection]
        assert numbers_on(as_keeper.get("/trees/")) == every
        assert numbers_on(as_helper.get("/trees/")) == every

    def test_a_client_sees_their_own_and_no_other(self, as_client, collection):
        page = as_client.get("/trees/")
        assert numbers_on(page) == [collection[1].number]
        assert "KT" not in page.content.decode()

    def test_nobody_else_sees_any(self, client, as_stranger, collection):
        assert client.get("/trees/")["Location"] == "/sign-in/?next=/trees/"
        assert as_stranger.get("/trees/").context["count"] == 0

    def test_each_figure_opens_to_its_source(self, as_keeper, collection):
        page = as_keeper.get("/trees/").content.decode()
        assert "\N{MINUS SIGN}23.3\N{NO-BREAK SPACE}°C" in page
        assert "lower edge of zone 6" in page
        assert "a club&#x27;s list of roots" in page
        assert "The last root work is not known, which counts as this year." in page

    def test_an_unknown_figure_says_so(self, as_keeper, spruce):
        make.tree(taxon=spruce)
        page = as_keeper.get("/trees/").content.decode()
        assert page.count("not known yet") == 2

    @pytest.mark.parametrize(
        ("asked", "found"),
        [
            ("q=kiyohime", [1]),
            ("q=T-001", [0]),
            ("q=ulmus", [2]),
            ("owner=own", [0]),
            ("place=none", [2]),
            ("rest=needs+cold+dormancy", [1]),
            ("rest=unknown", [0, 2]),
            ("roots=RA", [0]),
            ("roots=RD", [2]),
            ("flag=some", [1]),
            ("flag=tonight", []),
            ("flag=week", [1]),
            ("q=palmatum&roots=RA", []),
            ("roots=nonsense", [0, 1, 2]),
        ],
    )
    def test_it_narrows_down(self, as_keeper, collection, asked, found):
        make.flag(tree=collection[1], level="week")
        page = as_keeper.get(f"/trees/?{asked}")
        wanted = [collection[n].number for n in found]
        shown = numbers_on(page) if page.context["found"] else []
        assert shown == wanted

    def test_it_narrows_down_by_frame_and_client(self, as_keeper, owner, collection):
        frame = make.Frame.objects.get(benches__name="N1")
        by_frame = as_keeper.get(f"/trees/?place={frame.slug}")
        assert numbers_on(by_frame) == [collection[0].number, collection[1].number]
        by_owner = as_keeper.get(f"/trees/?owner={owner.pk}")
        assert numbers_on(by_owner) == [collection[1].number]

    def test_a_client_cannot_ask_for_another_owner(self, as_client, collection):
        other = collection[2].owner
        page = as_client.get(f"/trees/?owner={other.pk}")
        assert numbers_on(page) == [collection[1].number]

    @pytest.mark.parametrize(
        ("sort", "order"),
        [
            ("number", [0, 1, 2]),
            ("-number", [2, 1, 0]),
            ("tree", [1, 0, 2]),
            ("owner", [2, 1, 0]),
            ("place", [0, 1, 2]),
            ("roots", [0, 1, 2]),
            ("top", [1, 0, 2]),
        ],
    )
    def test_it_sorts(self, as_keeper, collection, sort, order):
        page = as_keeper.get(f"/trees/?sort={sort}")
        assert numbers_on(page) == [collection[n].number for n in order]

    def test_it_is_cut_into_leaves(self, as_keeper, spruce):
        for _ in range(51):
            make.tree(taxon=spruce, pot=None)
        first = as_keeper.get("/trees/").content.decode()
        assert first.count('class="tree-line"') == 50
        assert 'rel="next"' in first
        beyond = as_keeper.get("/trees/?page=99")
        assert beyond.status_code == 200
        assert 'href="?leaf=whole"' in first
        whole = as_keeper.get("/trees/?leaf=whole").content.decode()
        assert whole.count('class="tree-line"') == 51

    def test_statements_do_not_grow_with_the_trees(
        self, as_keeper, collection, django_assert_num_queries
    ):
        with django_assert_num_queries(17):
            as_keeper.get("/trees/")
        for _ in range(8):
            make.placement(tree=make.tree(owner=collection[2].owner))
        with django_assert_num_queries(17):
            as_keeper.get("/trees/")

    def test_an_empty_collection_offers_the_first_step(self, as_keeper, as_helper):
        assert 'href="/trees/new/"' in as_keeper.get("/trees/").content.decode()
        assert 'href="/trees/new/"' not in as_helper.get("/trees/").content.decode()


def sheet_of(answer) -> list[dict[str, str]]:
    text = b"".join(answer).decode("utf-8-sig")
    return list(csv.DictReader(io.StringIO(text)))


class TestExport:
    def test_it_holds_what_is_filtered_in_its_order(self, as_keeper, collection):
        answer = as_keeper.get("/trees/?rest=unknown&sort=-number&export=csv")
        assert answer["Content-Type"] == "text/csv; charset=utf-8"
        assert 'filename="trees-2025-01-21.csv"' in answer["Content-Disposition"]
        rows = sheet_of(answer)
        assert [row["number"] for row in rows] == ["T-003", "T-001"]

    def test_the_page_links_to_just_what_it_shows(self, as_keeper, collection):
        page = as_keeper.get("/trees/?rest=unknown&sort=-number").content.decode()
        (link,) = re.findall(r'href="([^"]*export=csv[^"]*)"', page)
        rows = sheet_of(as_keeper.get("/trees/" + html.unescape(link)))
        assert [row["number"] for row in rows] == ["T-003", "T-001"]

    def test_it_holds_every_leaf(self, as_keeper, spruce):
        for _ in range(53):
            make.tree(taxon=spruce, pot=None)
        assert len(sheet_of(as_keeper.get("/trees/?export=csv&page=2"))) == 53

    def test_each_figure_comes_with_its_source(self, as_keeper, collection):
        (row,) = sheet_of(as_keeper.get("/trees/?q=kiyohime&export=csv"))
        assert row["top survives to about (°C)"] == "-23.3"
        assert row["top: kind and source"] == "computed here: lower edge of zone 6"
        assert row["original script"] == "清姫"
        assert row["place"] == "N1-02"

    @pytest.mark.parametrize("start", ["=", "+", "-", "@", "\t"])
    def test_no_cell_starts_a_formula(self, as_keeper, spruce, start):
        make.tree(taxon=spruce, given_name=f"{start}HYPERLINK(1)")
        (row,) = sheet_of(as_keeper.get("/trees/?export=csv"))
        assert row["given name"] == f"'{start}HYPERLINK(1)"

    def test_a_client_takes_their_own_and_no_other(self, as_client, collection):
        rows = sheet_of(as_client.get("/trees/?export=csv"))
        assert [row["number"] for row in rows] == ["T-002"]


class TestPage:
    def test_it_opens_for_staff_and_its_owner_alone(
        self, as_keeper, as_helper, as_client, as_stranger, client, collection
    ):
        address = collection[1].get_absolute_url()
        for browser in (as_keeper, as_helper, as_client):
            assert browser.get(address).status_code == 200
        assert as_stranger.get(address).status_code == 404
        assert client.get(address).status_code == 302
        assert as_client.get(collection[2].get_absolute_url()).status_code == 404

    def test_it_says_where_the_tree_stands_and_why(self, as_keeper, collection):
        page = as_keeper.get("/trees/T-002/").content.decode()
        assert "Stands at N1-02 in" in page
        assert "since Sun 17 Nov 2024." in page
        assert "Room above for a maple." in page

    def test_what_is_not_known_is_said(self, as_keeper, spruce):
        make.tree(taxon=spruce)
        page = as_keeper.get("/trees/T-001/").content.decode()
        assert "Not known yet: it stands on no place of a frame." in page
        assert "Not known yet: nothing is stated that this taxon needs cold." in page
        assert "No check is written down." in page
        assert "don't know: counts as this year" in page

    def test_it_shows_chill_roots_and_charts_from_readings(self, as_keeper, collection):
        part = make.Microclimate.objects.get()
        for place, value in (("air", 3.0), ("root", -4.5)):
            sensor = make.sensor(microclimate=part, place=place)
            first = datetime(2024, 11, 17, tzinfo=UTC)
            make.hours(sensor, first, [value] * 24 * 66)
        page = as_keeper.get("/trees/T-002/").content.decode()
        assert "of 42 to 56 days with a mean at or below 4.4 °C" in page
        assert (
            "Coldest root zone where it stood in the last 24 hours "
            "\N{MINUS SIGN}4.5\N{NO-BREAK SPACE}°C"
        ) in page
        assert "Chill of T-002 against its need" in page
        assert "Root zone where T-002 stood" in page
        assert "Rutgers NJAES FS528" in page

    def test_flags_stand_on_it_with_their_evidence(self, as_helper, collection):
        make.flag(tree=collection[1], level="tonight")
        page = as_helper.get("/trees/T-002/").content.decode()
        assert 'class="flag flag-tonight"' in page
        assert "Move it to the floor bay before dusk." in page
        assert "\N{MINUS SIGN}3.4\N{NO-BREAK SPACE}°C" in page

    def test_a_reader_of_fahrenheit_gets_fahrenheit(self, as_client, owner, collection):
        owner.user.units = "f"
        owner.user.save()
        make.flag(tree=collection[1])
        page = as_client.get("/trees/T-002/").content.decode()
        assert "25.9\N{NO-BREAK SPACE}°F" in page
        assert (
            "\N{MINUS SIGN}9.9\N{NO-BREAK SPACE}°F" in page
        )  # the top's limit, -23.3 °C
        assert "\N{MINUS SIGN}3.4\N{NO-BREAK SPACE}°C" not in page

    def test_history_goes_by_when_it_happened(self, as_keeper, keeper, collection):
        tree = collection[1]
        at = datetime(2025, 1, 12, 9, 30, tzinfo=UTC)
        record(keeper, "checked", tree, at=at, moisture="moist")
        record(
            keeper, "changed", tree, was={"height_cm": "40"}, now={"height_cm": "45"}
        )
        page = as_keeper.get("/trees/T-002/")
        newest, older = page.context["page"].history
        assert (newest.words, newest.noted) == ("changed", "height with pot 40 → 45 cm")
        assert newest.recorded_at is None
        assert (older.at, older.recorded_at) == (at, NOW)
        assert "written down Tue 21 Jan 2025, 06:30" in page.content.decode()

    def test_a_client_reads_what_was_done_but_no_notes(
        self, as_client, keeper, collection
    ):
        tree = collection[1]
        tree.notes = "Owner is slow to answer."
        tree.save()
        record(keeper, "changed", tree, was={"notes": ""}, now={"notes": "slow"})
        page = as_client.get("/trees/T-002/").content.decode()
        assert "changed" in page
        assert "slow" not in page
        assert "Hana" not in page

    def test_statements_are_few(
        self, as_keeper, collection, django_assert_max_num_queries
    ):
        make.flag(tree=collection[1])
        with django_assert_max_num_queries(40):
            as_keeper.get("/trees/T-002/")

    def test_buttons_follow_the_role(self, as_keeper, as_helper, as_client, collection):
        shown = {
            name: browser.get("/trees/T-002/").content.decode()
            for name, browser in (
                ("keeper", as_keeper),
                ("helper", as_helper),
                ("client", as_client),
            )
        }
        assert "/trees/T-002/edit/" in shown["keeper"]
        assert "/trees/T-002/edit/" not in shown["helper"] + shown["client"]
        assert "/trees/T-002/photos/" in shown["helper"]
        assert "<form" not in shown["client"].split("<main")[1].split("</main")[0]


def test_the_page_says_why_not_to_water_now(as_keeper, collection):
    tree = collection[0]
    page = words(as_keeper.get(tree.get_absolute_url()))
    assert "<strong>Not now:</strong>" in page
    assert "is not known: feel the root ball before watering." in page
