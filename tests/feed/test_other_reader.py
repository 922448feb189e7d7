"""The same calendar, read by a program that did not write it."""

from datetime import UTC, date, datetime, timedelta

import pytest
import vobject

from tests import make


@pytest.fixture
def calendar(now, keeper, stand, noa, long_frame, body_of):
    larch = stand(
        "N1-01f",
        taxon=make.taxon("Larix kaempferi"),
        original_script="唐松",
        owner=noa,
    )
    make.stay(tree=larch, planned_until=date(2025, 5, 17))
    make.flag(tree=larch, frame=long_frame)
    body = body_of(keeper).decode()
    [read] = vobject.readComponents(body, validate=True, allowQP=False)
    return read


def test_it_finds_the_same_events(calendar):
    events = {event.summary.value: event for event in calendar.vevent_list}
    assert set(events) == {
        "Check moisture: Long Frame, 1 tree",
        "Collection: NS, 1 tree",
        "In care: T-001 Larix kaempferi 唐松 (NS)",
        "Roots too cold: Long Frame, 1 tree",
    }
    check = events["Check moisture: Long Frame, 1 tree"]
    assert (check.dtstart.value, check.dtend.value) == (
        date(2025, 1, 20),
        date(2025, 1, 21),
    )
    assert check.valarm.trigger.value == timedelta(hours=-6)
    night = events["Roots too cold: Long Frame, 1 tree"]
    assert night.dtstart.value == datetime(2025, 1, 19, 23, tzinfo=UTC)
    assert night.dtend.value == datetime(2025, 1, 20, 13, tzinfo=UTC)
    assert "−3.4 °C (26 °F)" in night.description.value


def test_it_finds_one_identity_each_and_no_zone(calendar):
    assert len({event.uid.value for event in calendar.vevent_list}) == 4
    assert "vtimezone" not in calendar.contents
    assert calendar.contents["x-wr-calname"][0].value == "Wintering"
