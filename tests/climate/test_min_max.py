"""What people read off min/max thermometers: what is kept, asked, and since when."""

from datetime import UTC, datetime, timedelta
from decimal import Decimal
from uuid import UUID, uuid4

import pytest
from django.core.exceptions import ValidationError
from hypothesis import given
from hypothesis import strategies as st

from tests import make
from wintering.climate.models import MinMaxEntry, Sensor
from wintering.climate.queries.min_max import (
    hand_readings,
    last_by_hand,
    min_max_entries,
    thermometers_for,
)
from wintering.climate.services.min_max import (
    LookAgain,
    SavedBefore,
    record_min_max,
    withdraw_min_max,
)
from wintering.climate.sources import AIR_PLACES, sources_of
from wintering.people.models import Event

NOON = datetime(2025, 1, 20, 12, tzinfo=UTC)
MORNING = datetime(2025, 1, 20, 7, 40, tzinfo=UTC)
FORM = UUID("5b0b54b4-8a2c-4b3b-9b5e-0f8f0e6f9a11")


@pytest.fixture(autouse=True)
def _january(time_machine):
    time_machine.move_to(NOON)


@pytest.fixture
def keeper(db):
    return make.keeper()


@pytest.fixture
def part(db):
    return make.microclimate(name="rear bench")


@pytest.fixture
def door(part):
    """A thermometer by the door, in °F, read by people."""
    return make.sensor(
        name="door", place="air", microclimate=part, unit="f", is_min_max=True
    )


@pytest.fixture
def read(door, keeper):
    def read(low="30.2", high="44.6", now="33.8", **fields):
        numbers = {
            name: None if value is None else Decimal(value)
            for name, value in {"low": low, "high": high, "now": now}.items()
        }
        told = {"sensor": door, "unit": "f", "read_at": MORNING, "was_reset": True}
        told |= {"entry_id": uuid4(), "by": keeper}
        return record_min_max(**numbers, **{**told, **fields})

    return read


def logged(part, value_c, at=MORNING, **fields):
    logger = make.sensor(
        **{"name": "A1", "place": "air", "microclimate": part, **fields}
    )
    make.hours(logger, at - timedelta(minutes=10), [value_c])
    return logger


def test_values_are_kept_as_they_were_read(read, door):
    read()
    entry = MinMaxEntry.objects.get()
    assert (entry.low, entry.high, entry.now) == (30200, 44600, 33800)
    assert entry.unit == "f"
    (told,) = min_max_entries(door)
    assert (told.low_c, told.high_c, told.now_c) == (-1.0, 7.0, 1.0)


def test_the_same_form_sent_twice_is_kept_once(read):
    first = read(entry_id=FORM)
    assert read(entry_id=FORM) == first
    # 'now' is a little later the second time
    assert read(entry_id=FORM, read_at=MORNING + timedelta(minutes=2)) == first
    assert MinMaxEntry.objects.count() == 1
    assert Event.objects.filter(verb="read").count() == 1


def test_the_same_form_with_other_values_is_told_of_and_not_lost_silently(read):
    read(entry_id=FORM)
    with pytest.raises(SavedBefore, match="that reading stands"):
        read(entry_id=FORM, low="28.4")
    assert MinMaxEntry.objects.get().low == 30200


def test_a_reading_taken_back_stays_on_record_and_frees_its_instant(read, door, keeper):
    wrong = read()
    withdraw_min_max(entry=wrong, by=keeper)
    right = read(low="28.4")
    assert [told.entry for told in min_max_entries(door)] == [right]
    assert MinMaxEntry.objects.count() == 2
    with pytest.raises(ValidationError, match="taken back before"):
        withdraw_min_max(entry=wrong, by=keeper)


@pytest.mark.parametrize(
    ("wrong", "told"),
    [
        ({"low": "45"}, "must not lie above the highest"),
        ({"now": "30.1"}, "must lie between"),
        ({"now": "44.7"}, "must lie between"),
        ({"read_at": NOON + timedelta(minutes=1)}, "lies ahead"),
        ({"low": "-80"}, "No frame reaches that"),
        ({"high": "160", "now": None}, "No frame reaches that"),
        ({"unit": "k"}, "°C or °F"),
    ],
)
def test_what_cannot_be_is_refused(read, wrong, told):
    with pytest.raises(ValidationError, match=told):
        read(**wrong)
    assert not MinMaxEntry.objects.exists()


def test_a_second_reading_at_the_same_instant_is_refused(read):
    read()
    with pytest.raises(ValidationError, match="Another reading of"):
        read(low="28.4")


def test_a_logger_is_not_read_by_hand(read, part):
    with pytest.raises(ValidationError, match="by itself"):
        read(sensor=logged(part, 1.0))


def test_a_number_that_may_be_the_other_unit_is_asked_about_and_kept_once_sure(
    read, door, part
):
    logged(part, 1.0)
    celsius = {"unit": "c", "low": "30", "high": "44", "now": "34"}
    with pytest.raises(LookAgain) as refusal:
        read(**celsius)
    (asked,) = refusal.value.asked
    assert (asked.which, asked.value, asked.other_unit) == ("now", 34, "f")
    assert asked.beside.sensor.name == "A1"
    assert read(**celsius, is_sure=True).unit == "c"


def test_celsius_on_a_thermometer_of_fahrenheit_is_asked_about_near_zero_too(
    read, part
):
    logged(part, 1.3)
    with pytest.raises(LookAgain) as refusal:
        read(low="-3", high="4.5", now="1")
    (asked,) = refusal.value.asked
    assert (asked.which, asked.value, asked.other_unit) == ("now", 1, "c")
    assert asked.beside.value_c == 1.3


def test_one_that_is_far_from_the_logger_beside_it_is_to_be_looked_at(read, part):
    logged(part, 4.1)
    with pytest.raises(LookAgain) as refusal:
        read()  # 1.0 °C
    (asked,) = refusal.value.asked
    assert asked.other_unit == ""
    assert asked.beside.value_c == 4.1
    assert read(is_sure=True).now == 33800


def test_one_within_three_kelvin_is_kept_without_a_question(read, part):
    logged(part, 4.0)
    assert read().now == 33800


def test_a_logger_elsewhere_in_the_frame_does_not_contradict(read, part):
    other = make.microclimate(frame=part.frame, name="ridge shelf")
    logged(other, 9.0)
    assert read().now == 33800


def test_an_old_reading_of_a_logger_is_held_against_nothing(read, part):
    logged(part, 9.0, at=MORNING - timedelta(hours=2))
    assert read().now == 33800


def test_the_lowest_is_since_the_last_reset(read, door):
    read(read_at=MORNING - timedelta(days=2), was_reset=True)
    read(read_at=MORNING - timedelta(days=1), was_reset=False)
    read()
    first, second, third = min_max_entries(door)
    assert first.since is None
    assert second.since == MORNING - timedelta(days=2)
    assert second.not_reset_at is None
    # not reset yesterday: the lowest may be older than that
    assert third.since == MORNING - timedelta(days=2)
    assert third.not_reset_at == MORNING - timedelta(days=1)


def test_a_lowest_that_rose_was_reset_by_somebody(read, door):
    read(read_at=MORNING - timedelta(days=1), low="28.4", was_reset=None)
    read(low="30.2")
    told = min_max_entries(door)[-1]
    assert told.reset_after
    assert told.since == MORNING - timedelta(days=1)
    assert told.not_reset_at is None


def test_a_window_tells_since_when_all_the_same(read, door):
    read(read_at=MORNING - timedelta(days=1))
    read()
    (told,) = min_max_entries(door, MORNING, NOON)
    assert told.since == MORNING - timedelta(days=1)
    assert min_max_entries(door, NOON) == []


def test_what_was_last_read_of_each_thermometer_takes_one_statement(
    read, door, part, django_assert_num_queries
):
    other = make.sensor(name="shelf", place="air", microclimate=part, is_min_max=True)
    never = make.sensor(name="box", place="air", microclimate=part, is_min_max=True)
    read(read_at=MORNING - timedelta(days=1))
    read()
    read(sensor=other, unit="c", low="1", high="5", now="2")
    with django_assert_num_queries(1):
        found = last_by_hand([door, other, never], NOON)
    assert found[door.pk].entry.read_at == MORNING
    assert found[other.pk].low_c == 1.0
    assert never.pk not in found
    assert last_by_hand([door], NOON + timedelta(days=31)) == {}


def test_a_thermometer_read_by_hand_speaks_for_no_microclimate(door, part):
    assert sources_of([part.pk], AIR_PLACES) == {}
    logger = make.sensor(name="zz", place="air", microclimate=part)
    assert sources_of([part.pk], AIR_PLACES)[part.pk].sensor == logger


def test_only_those_who_work_here_see_thermometers(door):
    assert list(thermometers_for(make.helper())) == [door]
    assert not thermometers_for(make.user("client")).exists()
    assert Sensor.objects.filter(is_min_max=False).count() == 0


READINGS = st.lists(
    st.tuples(st.integers(-20, 10), st.sampled_from([True, False])), max_size=8
)


@given(READINGS)
def test_a_lowest_is_never_said_to_be_younger_than_it_can_be(readings):
    """Held against a thermometer that is played through reading by reading."""
    low, entries = None, []
    reset_day = None
    for day, (coldest, is_reset) in enumerate(readings):
        low = coldest if low is None else min(low, coldest)
        entries.append((day, low, is_reset, reset_day))
        if is_reset:
            low, reset_day = None, day
    rows = [
        MinMaxEntry(
            read_at=MORNING + timedelta(days=day),
            low=low * 1000,
            high=40_000,
            unit="c",
            was_reset=is_reset,
        )
        for day, low, is_reset, _ in entries
    ]
    from_rows = hand_readings(rows)
    for told, (*_, reset_day) in zip(from_rows, entries, strict=True):
        expected = None if reset_day is None else MORNING + timedelta(days=reset_day)
        assert told.since == expected
        assert not told.reset_after


def test_another_reading_of_the_same_instant_is_said_to_be_another(read):
    read()
    with pytest.raises(ValidationError) as refusal:
        read(low="20.0")
    assert refusal.value.messages == [
        "Another reading of Mon 20 Jan 2025, 07:40 stands: take it back first, or give "
        "another time."
    ]
    withdraw_min_max(entry=MinMaxEntry.objects.get(), by=make.keeper())
    assert read(low="20.0").low == 20_000


def test_what_no_frame_reaches_is_told_in_the_unit_that_was_read(read, part):
    with pytest.raises(ValidationError, match="outside −76 to 158 °F"):
        read(low="-99", now=None)
    celsius = make.sensor(place="air", microclimate=part, is_min_max=True)
    with pytest.raises(ValidationError, match="outside −60 to 70 °C"):
        read(low="-99", now=None, sensor=celsius, unit="c")


def test_no_reading_is_older_than_readings_are_counted_from(read):
    with pytest.raises(ValidationError, match="before 1970"):
        read(read_at=datetime(1969, 12, 31, 12, tzinfo=UTC), is_sure=True)


def test_a_reading_of_more_than_a_year_back_is_asked_about(read):
    long_ago = NOON - timedelta(days=367)
    with pytest.raises(LookAgain) as asked:
        read(read_at=long_ago)
    assert asked.value.is_long_ago
    assert asked.value.asked == []
    read(read_at=long_ago, is_sure=True)
    read(read_at=NOON - timedelta(days=365))
