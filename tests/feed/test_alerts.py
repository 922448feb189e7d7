"""Flags as events: one an episode, for those they concern."""

from datetime import UTC, datetime, timedelta

import pytest

from tests import make
from wintering.feed.alerts import _night
from wintering.forecast.models import Flag

DAY, HOUR = timedelta(days=1), timedelta(hours=1)
WAKING = "Waking early: T-001 Larix kaempferi 唐松"
COLD = "Roots too cold: Long Frame"


@pytest.fixture(autouse=True)
def _story(now):
    """On the story's day."""


@pytest.fixture
def larch(stand, noa):
    return stand(
        "N1-01f",
        taxon=make.taxon("Larix kaempferi"),
        original_script="唐松",
        owner=noa,
    )


def flag(tree, frame, kind=Flag.Kind.ROOTS_TOO_COLD, **fields):
    return make.flag(tree=tree, frame=frame, kind=kind, **fields)


class TestWaking:
    @pytest.fixture
    def raised(self, larch, long_frame):
        return flag(
            larch,
            long_frame,
            Flag.Kind.WAKING_EARLY,
            level=Flag.Level.WEEK,
            evidence=[
                {"text": "Index of waking", "value": 0.6, "unit": "of 1", "source": ""},
                {"text": "Lowest air at N1", "value": -3.4, "unit": "°C", "source": ""},
                {"text": "The guard holds", "value": None, "unit": "", "source": ""},
            ],
        )

    def test_it_starts_when_it_was_found_and_is_half_an_hour_long(
        self, raised, keeper, shown
    ):
        event = shown(keeper)[WAKING]
        assert (event["DTSTART"], event["DTEND"]) == (
            "20250120T120000Z",
            "20250120T123000Z",
        )
        assert event["CATEGORIES"] == "Alert,Waking"
        assert event.parts == []
        assert event.text("DESCRIPTION").split("\n") == [
            "Move it to the floor bay before dusk.",
            "A calendar is no alarm: programs fetch it when they like, some only "
            "once a day.",
            "Index of waking: 0.6 of 1",
            "Lowest air at N1: −3.4 °C (26 °F)",
            "The guard holds",
        ]

    def test_it_is_updated_and_never_doubled(self, raised, keeper, shown, now):
        before = shown(keeper)[WAKING]
        raised.judged_at = make.NOON + DAY
        raised.evidence = [{**raised.evidence[0], "value": 0.7}]
        raised.save()
        now.move_to(make.NOON + DAY)
        events = shown(keeper, make.NOON + DAY)
        assert sum("Waking" in title for title in events) == 1
        assert events[WAKING]["UID"] == before["UID"]
        assert events[WAKING]["SEQUENCE"] == "0"
        assert events[WAKING]["LAST-MODIFIED"] == "20250121T120000Z"
        assert "0.7 of 1" in events[WAKING].text("DESCRIPTION")

    def test_when_it_is_over_it_says_so_and_drops_out_after_two_weeks(
        self, raised, keeper, shown, now
    ):
        uid = shown(keeper)[WAKING]["UID"]
        raised.cleared_at = make.NOON + 3 * DAY
        raised.save()
        for days, is_shown in ((3, True), (17, True), (18, False)):
            at = make.NOON + days * DAY
            now.move_to(at)
            events = shown(keeper, at)
            assert (f"Over: {WAKING}" in events) is is_shown
            assert not any("Cancelled" in title for title in events)
            if is_shown:
                assert events[f"Over: {WAKING}"]["UID"] == uid

    def test_a_second_episode_is_another_event(
        self, raised, larch, long_frame, keeper, shown
    ):
        raised.cleared_at = make.NOON
        raised.save()
        flag(larch, long_frame, Flag.Kind.WAKING_EARLY, since=make.NOON + HOUR)
        events = shown(keeper)
        assert events[WAKING]["UID"] != events[f"Over: {WAKING}"]["UID"]

    def test_the_owner_is_told_what_but_not_what_to_do(self, raised, noa, shown):
        words = shown(noa.user)[WAKING].text("DESCRIPTION")
        assert "Index of waking: 0.6 of 1" in words
        assert "Those who look after your tree are told the same." in words
        assert "floor bay" not in words

    def test_no_other_client_is_told(self, raised, body_of):
        mika = make.client(user=make.user("client"))
        assert b"Larix" not in body_of(mika.user)


class TestCold:
    def test_a_night_runs_from_dusk_to_dawn_where_the_frame_is(
        self, larch, long_frame, keeper, shown
    ):
        flag(larch, long_frame)
        event = shown(keeper)[f"{COLD}, 1 tree"]
        # Judged at 07:00 in New York: the night is the one that ends at 08:00.
        assert (event["DTSTART"], event["DTEND"]) == (
            "20250119T230000Z",
            "20250120T130000Z",
        )
        assert event["CATEGORIES"] == "Alert,Frost"
        [alarm] = event.parts
        assert alarm["TRIGGER"] == "-PT3H"

    def test_trees_of_one_night_share_an_event(
        self, larch, stand, long_frame, keeper, shown
    ):
        flag(larch, long_frame, level=Flag.Level.WEEK)
        elm = stand("N1-02f", taxon=make.taxon("Ulmus parvifolia"))
        flag(elm, long_frame, since=make.NOON + HOUR, judged_at=make.NOON + HOUR)
        words = shown(keeper)[f"{COLD}, 2 trees"].text("DESCRIPTION").split("\n")
        assert words[0] == "Move it to the floor bay before dusk."
        # The most urgent comes first.
        assert words[2:] == [
            "T-002 Ulmus parvifolia (tonight): Root zone of N1: −3.4 °C (26 °F)",
            "T-001 Larix kaempferi 唐松 (this week): Root zone of N1: −3.4 °C (26 °F)",
        ]

    def test_while_it_stands_it_moves_to_the_next_night(
        self, larch, long_frame, keeper, shown
    ):
        raised = flag(larch, long_frame)
        before = shown(keeper)[f"{COLD}, 1 tree"]
        raised.judged_at = datetime(2025, 1, 21, 20, tzinfo=UTC)
        raised.save()
        after = shown(keeper)[f"{COLD}, 1 tree"]
        assert after["UID"] == before["UID"]
        assert (after["DTSTART"], after["SEQUENCE"]) == ("20250121T230000Z", "1")

    def test_a_tree_that_joins_does_not_make_another_event(
        self, larch, stand, long_frame, keeper, shown
    ):
        flag(larch, long_frame)
        uid = shown(keeper)[f"{COLD}, 1 tree"]["UID"]
        # Its coldest hour was earlier, but it was raised later.
        flag(stand("N1-02f"), long_frame, since=make.NOON - 5 * HOUR)
        events = [e for title, e in shown(keeper).items() if COLD in title]
        assert [event["UID"] for event in events] == [uid]

    def test_when_all_is_clear_it_is_over(
        self, larch, stand, long_frame, keeper, shown
    ):
        first = flag(larch, long_frame)
        second = flag(stand("N1-02f"), long_frame)
        first.cleared_at = make.NOON
        first.save()
        standing = shown(keeper)[f"{COLD}, 2 trees"]
        assert "T-001 Larix kaempferi 唐松 (over)" in standing.text("DESCRIPTION")
        second.cleared_at = make.NOON
        second.save()
        over = shown(keeper)[f"Over: {COLD}, 2 trees"]
        assert over.parts == []
        assert "Over since Mon 20 Jan 2025, 12:00 UTC." in over.text("DESCRIPTION")

    def test_frames_have_events_of_their_own(self, larch, long_frame, keeper, shown):
        flag(larch, long_frame)
        flag(make.tree(), make.frame(name="Pit", slug="pit", time_zone="UTC"))
        titles = set(shown(keeper))
        assert {f"{COLD}, 1 tree", "Roots too cold: Pit, 1 tree"} <= titles

    def test_an_owner_hears_of_their_own_trees_alone(
        self, larch, stand, long_frame, noa, shown, body_of
    ):
        mika = make.client(name="Mika", mark="MB", user=make.user("client"))
        flag(larch, long_frame)
        flag(stand("N1-02f", owner=mika, taxon=make.taxon("Ulmus minor")), long_frame)
        flag(stand("N1-03f", taxon=make.taxon("Pinus mugo")), long_frame)
        assert f"{COLD}, 1 tree" in shown(noa.user)
        body = body_of(noa.user).decode()
        for word in ("T-002", "T-003", "Ulmus", "Pinus", "MB", "floor bay"):
            assert word not in body
        assert "T-002" in shown(mika.user)[f"{COLD}, 1 tree"].text("DESCRIPTION")

    def test_other_flags_are_not_for_calendars(self, larch, long_frame, keeper, shown):
        flag(larch, long_frame, Flag.Kind.CHILL_AT_RISK)
        assert not any("chill" in title.lower() for title in shown(keeper))


@pytest.mark.parametrize(
    ("at", "night"),
    [
        # On 8 March 2025 New York still has -05:00, the next morning -04:00.
        ("2025-03-08T23:00", ("2025-03-08T23:00", "2025-03-09T12:00")),
        # On 2 November 2024 it has -04:00, the next morning -05:00: 15 hours.
        ("2024-11-02T22:00", ("2024-11-02T22:00", "2024-11-03T13:00")),
        # 08:00 is no longer night; the one to come is meant.
        ("2025-01-20T13:00", ("2025-01-20T23:00", "2025-01-21T13:00")),
        ("2025-01-20T12:59", ("2025-01-19T23:00", "2025-01-20T13:00")),
    ],
)
def test_nights_are_local_on_the_days_of_clock_change_too(at, night):
    instant, *expected = (
        datetime.fromisoformat(text).replace(tzinfo=UTC) for text in (at, *night)
    )
    assert _night(instant, "America/New_York") == tuple(expected)
