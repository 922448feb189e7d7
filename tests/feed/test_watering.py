"""Moisture checks: one event a frame and day, which moves and is done."""

from datetime import UTC, datetime, timedelta

import pytest

from tests import make
from wintering.care.services import Seen, record_check, record_round

DAY = timedelta(days=1)
LAST_WEEK = make.NOON - 7 * DAY
DUE = "Check moisture: Long Frame, 3 trees"


@pytest.fixture
def trees(stand, now):
    """Three trees that were checked a week ago, so that they are due today."""
    found = [
        stand("N1-01f", taxon=make.taxon("Acer palmatum")),
        stand("N1-02f", taxon=make.taxon("Larix laricina")),
        stand("N1-03f", taxon=make.taxon("Pinus mugo")),
    ]
    for tree in found:
        make.observation(tree=tree, at=LAST_WEEK)
    return found


def walk(frame, by, *seen, at=make.NOON):
    record_round(frame=frame, at=at, by=by, seen=seen, is_rest_checked=True)


def test_a_frame_has_one_event_a_day_that_lists_its_trees(trees, keeper, shown):
    [event] = [e for title, e in shown(keeper).items() if "moisture" in title]
    assert event.text("SUMMARY") == DUE
    assert (event["DTSTART"], event["DTEND"]) == ("20250120", "20250121")
    assert event.text("LOCATION") == "Long Frame"
    assert event["CATEGORIES"] == "Watering"
    lines = event.text("DESCRIPTION").split("\n")
    assert lines[-4:] == [
        "All checked Mon 13 Jan 2025.",
        "N1-01f T-001 Acer palmatum",
        "N1-02f T-002 Larix laricina",
        "N1-03f T-003 Pinus mugo",
    ]
    assert lines[0] == "December to February: once a week."
    assert "(common practice)" in lines[1]
    [alarm] = event.parts
    assert alarm["TRIGGER"] == "-PT6H"


def test_an_overdue_check_moves_to_today_as_the_same_event(trees, keeper, shown, now):
    before = shown(keeper)[DUE]
    now.move_to(make.NOON + 3 * DAY)
    after = shown(keeper, make.NOON + 3 * DAY)[DUE]
    assert after["UID"] == before["UID"]
    assert (after["DTSTART"], after["SEQUENCE"]) == ("20250123", "1")
    assert after.text("DESCRIPTION").startswith(
        "Overdue: the last good day was Mon 20 Jan 2025."
    )


def test_today_is_the_frames_own_day(trees, keeper, shown, now):
    # 03:00 UTC on the 24th is still the evening of the 23rd at the frame.
    night = datetime(2025, 1, 24, 3, tzinfo=UTC)
    now.move_to(night)
    assert shown(keeper, night)[DUE]["DTSTART"] == "20250123"


def test_a_walked_round_leaves_it_done_and_the_next_check_new(
    trees, long_frame, keeper, shown
):
    before = shown(keeper)[DUE]
    walk(long_frame, keeper)
    events = shown(keeper)
    done, following = events[f"Done: {DUE}"], events[DUE]
    assert done["UID"] == before["UID"]
    assert (done["DTSTART"], done["SEQUENCE"]) == ("20250120", "1")
    assert done.text("DESCRIPTION") == (
        "Walked on Mon 20 Jan 2025 at 07:00. 3 of 3 trees looked at."
    )
    assert done.parts == []
    assert following["UID"] != before["UID"]
    assert following["DTSTART"] == "20250127"


def test_a_round_on_a_later_day_leaves_it_done_on_that_day(
    trees, long_frame, keeper, shown, now
):
    shown(keeper)
    later = make.NOON + 2 * DAY
    now.move_to(later)
    walk(long_frame, keeper, at=later)
    assert shown(keeper, later)[f"Done: {DUE}"]["DTSTART"] == "20250122"


def test_a_tree_that_could_not_be_checked_stays_due_as_an_event_of_its_own(
    trees, long_frame, keeper, shown
):
    before = shown(keeper)[DUE]
    walk(long_frame, keeper, Seen(trees[0], "not_checked"))
    events = shown(keeper)
    done = events[f"Done: {DUE}"]
    assert done["UID"] == before["UID"]
    assert "2 of 3 trees looked at." in done.text("DESCRIPTION")
    left = events["Check moisture: Long Frame, 1 tree"]
    assert left["DTSTART"] == "20250120"
    assert "N1-01f T-001" in left.text("DESCRIPTION")
    assert events["Check moisture: Long Frame, 2 trees"]["DTSTART"] == "20250127"


def test_a_round_that_saw_less_than_half_does_not_make_it_done(
    trees, long_frame, keeper, shown
):
    before = shown(keeper)[DUE]
    record_round(
        frame=long_frame, at=make.NOON, by=keeper, seen=[Seen(trees[0], "moist")]
    )
    events = shown(keeper)
    assert not any(title.startswith("Done") for title in events)
    left = events["Check moisture: Long Frame, 2 trees"]
    assert (left["UID"], left["DTSTART"]) == (before["UID"], "20250120")


def test_trees_checked_one_by_one_move_the_event_to_their_next_day(
    trees, keeper, shown
):
    before = shown(keeper)[DUE]
    for tree in trees:
        record_check(seen=Seen(tree, "moist"), at=make.NOON, by=keeper)
    after = shown(keeper)[DUE]
    assert (after["UID"], after["DTSTART"]) == (before["UID"], "20250127")


def test_a_round_from_before_anything_was_published_does_nothing(
    trees, long_frame, keeper, shown
):
    walk(long_frame, keeper, at=make.NOON - DAY)
    events = shown(keeper)
    assert [t for t in events if "moisture" in t] == [DUE]
    assert events[DUE]["DTSTART"] == "20250126"
    assert set(shown(keeper)) == set(events)


def test_two_groups_of_trees_keep_their_own_events(trees, keeper, shown, now):
    record_check(seen=Seen(trees[0], "moist"), at=make.NOON - 2 * DAY, by=keeper)
    before = {e["DTSTART"]: e["UID"] for t, e in shown(keeper).items() if "moist" in t}
    assert set(before) == {"20250120", "20250125"}
    # Five days on both are due: the larger goes on, the other is withdrawn.
    later = make.NOON + 5 * DAY
    now.move_to(later)
    events = shown(keeper, later)
    assert events[DUE]["UID"] == before["20250120"]
    assert events[DUE]["DTSTART"] == "20250125"
    gone = events["Cancelled: Check moisture: Long Frame, 1 tree"]
    assert gone["UID"] == before["20250125"]


def test_a_frame_that_was_emptied_cancels_its_check_for_two_weeks(
    trees, keeper, shown, now
):
    uid = shown(keeper)[DUE]["UID"]
    for tree in trees:
        tree.placements.update(until=make.DAY)
        for placement in tree.placements.all():
            placement.held.update(until=make.DAY)
    gone = shown(keeper)[f"Cancelled: {DUE}"]
    assert (gone["UID"], gone["STATUS"], gone["SEQUENCE"]) == (uid, "CANCELLED", "1")
    assert gone.parts == []
    for days, title in (
        (13, f"Cancelled: {DUE}"),
        (14, "Connected; nothing planned yet"),
    ):
        at = make.NOON + days * DAY
        now.move_to(at)
        assert list(shown(keeper, at)) == [title]


def test_done_checks_are_shown_for_two_months(trees, long_frame, keeper, shown, now):
    shown(keeper)
    walk(long_frame, keeper)
    for days in (60, 61):
        at = make.NOON + days * DAY
        now.move_to(at)
        titles = list(shown(keeper, at))
        # The day after the 21st, on which the event ends, and 60 more.
        assert (f"Done: {DUE}" in titles) is (days < 62)
    at = make.NOON + 62 * DAY
    now.move_to(at)
    events = shown(keeper, at)
    assert not any("Done" in title or "Cancelled" in title for title in events)


def test_many_trees_are_counted_where_they_find_no_room(long_frame, keeper, shown, now):
    bench = make.bench(frame=long_frame, name="S1", columns=20, rows=3)
    taxon = make.taxon("Juniperus chinensis var. sargentii of a long name")
    for module in bench.modules.all():
        make.placement(tree=make.tree(taxon=taxon), modules=[module])
    words = shown(keeper)["Check moisture: Long Frame, 60 trees"].text("DESCRIPTION")
    assert len(words) <= 2000
    listed = [line for line in words.split("\n") if line.startswith("S1-")]
    assert words.endswith(f"and {60 - len(listed)} more")


def test_clients_are_not_told_of_the_work(trees, noa, shown):
    make.stay(tree=trees[0], client=noa)
    assert not any("moisture" in title for title in shown(noa.user))
