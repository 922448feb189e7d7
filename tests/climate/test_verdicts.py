"""A keeper's word on readings stands above the checks, and can be taken back."""

from datetime import UTC, datetime, timedelta

import numpy as np
import pytest
from django.core.exceptions import ValidationError
from hypothesis import given
from hypothesis import strategies as st

from tests import make
from wintering.climate.models import SensorCheck, Verdict
from wintering.climate.queries import extremes, hourly, readings
from wintering.climate.queries.verdicts import marked_spans, spans_in, what_changes
from wintering.climate.services.verdicts import give_verdict, withdraw_verdict
from wintering.people.models import Event
from wintering.science.accumulating import as_they_stand
from wintering.science.screening import Quality
from wintering.science.series import HOUR_S

NOON = datetime(2025, 1, 20, 12, tzinfo=UTC)
MIDNIGHT = datetime(2025, 1, 20, tzinfo=UTC)
HOUR = timedelta(hours=1)
# Two hours with a code that stands for 'no value', and one beyond any frame.
DAY_C = [1.0, 2.0, 85.0, 85.0, 3.0, 4.0, 90.0, 5.0]


@pytest.fixture(autouse=True)
def _january(time_machine):
    time_machine.move_to(NOON)


@pytest.fixture
def keeper(db):
    return make.keeper()


@pytest.fixture
def sensor(db):
    sensor = make.sensor(name="R1")
    make.hours(sensor, MIDNIGHT, DAY_C)
    return sensor


@pytest.fixture
def say(sensor, keeper):
    def say(start_h, end_h, **fields):
        told = {"counts": False, "reason": "lay in the snow", "by": keeper}
        return give_verdict(
            sensor=sensor,
            start_at=MIDNIGHT + start_h * HOUR,
            end_at=MIDNIGHT + end_h * HOUR,
            **{**told, **fields},
        )

    return say


def quality(sensor):
    return readings(sensor).quality.tolist()


def test_marked_spans_tell_the_reason_the_readings_and_the_hours(sensor):
    beyond, coded = marked_spans(sensor)
    assert coded.reason == Quality.CODE_VALUE.reason
    assert coded.start_at == MIDNIGHT + 2 * HOUR
    assert coded.end_at == MIDNIGHT + 3 * HOUR + timedelta(seconds=1)
    assert (coded.readings, coded.hours) == (2, 2)
    assert beyond.reason == Quality.OUT_OF_RANGE.reason
    assert (beyond.readings, beyond.is_by_keeper) == (1, False)


def test_readings_set_aside_by_hand_feed_nothing(say, sensor):
    say(0, 2)
    assert quality(sensor)[:3] == [Quality.BY_KEEPER, Quality.BY_KEEPER, 2]
    assert extremes([sensor])[sensor.pk].lowest == 3.0
    assert marked_spans(sensor)[-1].is_by_keeper


def test_readings_that_count_after_all_do(say, sensor):
    say(2, 4, counts=True, reason="a kettle stood there")
    assert quality(sensor) == [0, 0, 0, 0, 0, 0, Quality.OUT_OF_RANGE, 0]


def test_a_word_taken_back_leaves_what_the_checks_say_and_a_trace(say, sensor, keeper):
    was = quality(sensor)
    word = say(0, 8)
    withdraw_verdict(verdict=word, by=keeper)
    assert quality(sensor) == was
    kept = Verdict.objects.get()
    assert kept.withdrawn_by == keeper
    assert kept.withdrawn_at >= kept.at
    verbs = list(Event.objects.about(sensor).values_list("verb", flat=True)[:2])
    assert verbs == ["took back a word on", "set aside readings of"]
    with pytest.raises(ValidationError, match="taken back before"):
        withdraw_verdict(verdict=word, by=keeper)


def test_only_a_keeper_gives_a_word_or_takes_it_back(say, sensor):
    was = quality(sensor)
    with pytest.raises(ValidationError, match="Only a keeper"):
        say(0, 2, by=make.helper())
    assert quality(sensor) == was
    word = say(0, 2)
    with pytest.raises(ValidationError, match="Only a keeper"):
        withdraw_verdict(verdict=word, by=make.helper())
    assert Verdict.objects.get().withdrawn_at is None


def test_of_two_words_the_later_counts_and_the_earlier_comes_back(say, sensor, keeper):
    say(0, 2)
    later = say(1, 2, counts=True, reason="it lay in the pot again")
    assert quality(sensor)[:2] == [Quality.BY_KEEPER, 0]
    withdraw_verdict(verdict=later, by=keeper)
    assert quality(sensor)[:2] == [Quality.BY_KEEPER, Quality.BY_KEEPER]


def test_what_a_word_would_change_is_known_before(sensor):
    aside = what_changes(sensor, MIDNIGHT, MIDNIGHT + 4 * HOUR, counts=False)
    assert (aside.readings, aside.hours, aside.of) == (2, 2, 4)
    counted = what_changes(sensor, MIDNIGHT, NOON, counts=True)
    assert (counted.readings, counted.hours, counted.of) == (3, 3, 8)


@pytest.mark.parametrize(
    ("span", "fields", "told"),
    [
        ((0, 2), {"counts": True}, "Each of the 2 readings .* counts already"),
        ((2, 4), {}, "Each of the 2 readings .* is set aside already"),
        ((20, 22), {}, "no reading from then to then"),
        ((2, 2), {}, "must end after it begins"),
        ((4, 2), {}, "must end after it begins"),
        ((0, 2), {"reason": "  "}, "Say why"),
    ],
)
def test_a_word_that_says_nothing_is_refused(say, sensor, span, fields, told):
    was = quality(sensor)
    with pytest.raises(ValidationError, match=told):
        say(*span, **fields)
    assert quality(sensor) == was
    assert not Verdict.objects.exists()


INSTANTS = st.lists(st.integers(0, 20 * HOUR_S), min_size=1, unique=True).map(sorted)


@given(INSTANTS, st.data())
def test_spans_hold_each_marked_reading_once_and_no_other_of_its_reason(instants, data):
    codes = st.sampled_from([0, 1, 2, 3, 9])
    marks = data.draw(st.lists(codes, min_size=len(instants), max_size=len(instants)))
    seconds, quality = np.array(instants), np.array(marks, dtype=np.uint8)
    found = spans_in(seconds, quality)
    assert sum(span.readings for span in found) == int((quality != 0).sum())
    for span in found:
        inside = (seconds >= span.start_at.timestamp()) & (
            seconds < span.end_at.timestamp()
        )
        same = [Quality(code).reason == span.reason for code in quality[inside]]
        assert sum(same) == span.readings
        assert span.hours <= span.readings


def test_an_hour_that_no_frame_reaches_enters_no_sum_whatever_is_said(sensor, say):
    """The portions model knows nothing there; charts and exports show the readings."""
    say(0, 8, counts=True, reason="a heater stood beside it")
    hours = hourly([sensor])[sensor.pk].c
    np.testing.assert_array_equal(
        hours, [1.0, 2.0, np.nan, np.nan, 3.0, 4.0, np.nan, 5.0]
    )
    assert quality(sensor) == [Quality.GOOD] * 8
    assert extremes([sensor])[sensor.pk].highest == 90.0
    as_they_stand(hours)


def test_nor_does_one_that_a_check_in_ice_moves_beyond_the_range(keeper):
    sensor = make.sensor()
    make.hours(sensor, MIDNIGHT, [69.9, 2.0])
    SensorCheck.objects.create(
        sensor=sensor, checked_at=MIDNIGHT, shown_c=[-0.3], offset_k=-0.3, by=keeper
    )
    np.testing.assert_array_equal(hourly([sensor])[sensor.pk].c, [np.nan, 2.3])
