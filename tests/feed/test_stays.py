"""Stays, arrivals and collections as events."""

from datetime import date, timedelta

import pytest

from tests import make

PLANNED = date(2025, 5, 17)


@pytest.fixture
def pine(noa):
    return make.tree(
        taxon=make.taxon("Pinus parviflora"), original_script="五葉松", owner=noa
    )


STAY = "In care: T-001 Pinus parviflora 五葉松 (NS)"


def staying(tree, **fields):
    confirmed = {"confirmed_at": make.NOON, "confirmed_by": make.keeper()}
    return make.stay(tree=tree, **{**confirmed, **fields})


@pytest.fixture(autouse=True)
def _story(now):
    """On the story's day."""


def test_a_stay_spans_from_arrival_to_the_planned_day_and_includes_it(
    pine, keeper, shown
):
    staying(pine, planned_until=PLANNED)
    event = shown(keeper)[STAY]
    assert (event["DTSTART"], event["DTEND"]) == ("20241012", "20250518")
    assert event["STATUS"] == "CONFIRMED"
    assert event["TRANSP"] == "TRANSPARENT"
    assert event.parts == []
    assert event.text("DESCRIPTION") == (
        "Checked in on Sat 12 Oct 2024.\nCollection planned for Sat 17 May 2025."
    )


def test_a_draft_is_tentative(pine, keeper, shown):
    make.stay(tree=pine, planned_until=PLANNED)
    event = shown(keeper)[STAY]
    assert event["STATUS"] == "TENTATIVE"
    assert "has not confirmed it yet" in event.text("DESCRIPTION")


def test_without_a_planned_day_the_agreement_tells_the_last(pine, noa, keeper, shown):
    make.agreement(client=noa, collect_until=date(2025, 5, 24))
    staying(pine)
    assert shown(keeper)[STAY]["DTEND"] == "20250525"


def test_without_any_day_the_text_says_so(pine, keeper, shown):
    staying(pine)
    event = shown(keeper)[STAY]
    assert event["DTEND"] == "20250801"
    assert "No day of collection has been agreed yet" in event.text("DESCRIPTION")
    assert not any(title.startswith("Collection") for title in shown(keeper))


def test_a_collection_that_is_late_is_said_to_be_open(pine, keeper, shown):
    staying(pine, planned_until=date(2025, 1, 19))
    assert "Not handed back yet." in shown(keeper)[STAY].text("DESCRIPTION")


def test_a_new_plan_moves_the_events_of_stay_and_collection(pine, keeper, shown):
    stay = staying(pine, planned_until=PLANNED)
    before = shown(keeper)
    stay.planned_until = date(2025, 5, 20)
    stay.save()
    after = shown(keeper)
    for title in (STAY, "Collection: NS, 1 tree"):
        assert after[title]["UID"] == before[title]["UID"]
        assert after[title]["SEQUENCE"] == "1"
    assert after["Collection: NS, 1 tree"]["DTSTART"] == "20250520"


def test_arrivals_and_collections_are_one_event_a_client_and_day(
    pine, noa, keeper, shown
):
    staying(pine, planned_until=PLANNED)
    for since in (make.AUTUMN, date(2024, 10, 19)):
        staying(make.tree(owner=noa), since=since, planned_until=PLANNED)
    events = shown(keeper)
    arrivals = {t: e["DTSTART"] for t, e in events.items() if t.startswith("Arrival")}
    # The first of them lies more than 60 days back and is shown no more.
    assert arrivals == {}
    collection = events["Collection: NS, 3 trees"]
    assert (collection["DTSTART"], collection["DTEND"]) == ("20250517", "20250518")
    assert "T-001 Pinus parviflora 五葉松" in collection.text("DESCRIPTION")
    [alarm] = collection.parts
    assert alarm["TRIGGER"] == "-P1D"


def test_recent_arrivals_are_shown(pine, noa, keeper, shown):
    staying(pine, since=date(2025, 1, 4))
    assert shown(keeper)["Arrival: NS, 1 tree"]["DTSTART"] == "20250104"


def test_what_was_handed_back_is_done(pine, noa, keeper, shown):
    stay = staying(pine, planned_until=date(2025, 1, 25))
    other = staying(make.tree(owner=noa), planned_until=date(2025, 1, 19))
    before = shown(keeper)
    for one in (stay, other):
        one.until = date(2025, 1, 19)
        one.save()
    events = shown(keeper)
    done = events["Done: Collection: NS, 2 trees"]
    assert done["DTSTART"] == "20250119"
    assert done.parts == []
    assert events[STAY]["DTEND"] == "20250120"
    assert events[STAY]["UID"] == before[STAY]["UID"]


def test_half_a_collection_is_counted(pine, noa, keeper, shown):
    staying(pine, until=date(2025, 1, 19))
    staying(make.tree(owner=noa), planned_until=date(2025, 1, 19))
    assert "Collection: NS, 1 of 2 trees handed back" in shown(keeper)


def test_a_stay_entered_by_mistake_leaves_at_once(pine, keeper, shown):
    stay = staying(pine, planned_until=PLANNED)
    assert STAY in shown(keeper)
    stay.delete()
    assert not any("In care" in title for title in shown(keeper))


def test_a_client_sees_their_own_stays_and_nothing_of_others(
    pine, noa, keeper, shown, body_of
):
    staying(pine, planned_until=PLANNED, depositor="a cousin")
    mika = make.client(name="Mika Belloran", mark="MB")
    other = make.tree(owner=mika, given_name="Old Dragon", notes="sulks")
    staying(other, planned_until=PLANNED, agreed="pays late")
    assert set(shown(noa.user)) == {STAY}
    body = body_of(noa.user).decode()
    for word in ("MB", "Belloran", "T-002", "Dragon", "sulks", "late", "cousin"):
        assert word not in body
    assert "In care: T-002" in body_of(keeper).decode()


def test_declared_values_and_names_stay_out_of_every_calendar(pine, keeper, body_of):
    staying(pine, declared_tree_value=1150, depositor="Dara", planned_until=PLANNED)
    body = body_of(keeper).decode()
    for word in ("1150", "Dara", "Sandoral"):
        assert word not in body


def test_the_year_and_the_winter_may_change_in_between(noa, keeper, shown, now):
    tree = make.tree(owner=noa)
    staying(tree, since=date(2024, 12, 31), planned_until=date(2025, 1, 1))
    event = shown(keeper)[f"In care: {tree.number} {tree.name} (NS)"]
    assert (event["DTSTART"], event["DTEND"]) == ("20241231", "20250102")


def test_a_stay_that_ended_long_ago_is_shown_no_more_and_never_cancelled(
    pine, keeper, shown, now
):
    staying(pine, until=date(2025, 1, 19))
    shown(keeper)
    for days in (59, 61, 100, 800):
        at = make.NOON + timedelta(days=days)
        now.move_to(at)
        events = shown(keeper, at)
        assert (STAY in events) is (days < 61)
        assert not any("Cancelled" in title for title in events)
