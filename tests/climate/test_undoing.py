"""Taking an import back: everything of it goes, and nothing of any other."""

import numpy as np
import pytest
from django.core.exceptions import ValidationError
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.django import TestCase

from tests import make
from wintering.climate.models import ConflictDay, ReadingDay
from wintering.climate.queries import readings
from wintering.climate.services import settle_conflicts, undo_import
from wintering.people.models import Event

pytestmark = pytest.mark.django_db
START = int(make.NOON.timestamp())
STEP = 12 * 3600  # so that a few readings lie on several days


def store(sensor, values, *, first=0, origin=None):
    seconds = START + STEP * (first + np.arange(len(values)))
    return make.store(sensor, seconds, values, origin=origin)


def stored(sensor):
    found = readings(sensor)
    steps = (found.seconds - START) // STEP
    return dict(zip(steps.tolist(), found.value.tolist(), strict=True))


def undo(came, **said):
    return undo_import(
        log_import=came, **{"by": make.keeper(), "reason": "wrong frame", **said}
    )


@pytest.fixture
def sensor():
    return make.sensor()


@pytest.fixture
def came(sensor):
    return make.log_import(frame=sensor.frame)


def test_what_an_import_brought_goes_and_its_row_stays(sensor, came):
    store(sensor, [1000, 2000, 3000], origin=came)
    assert undo(came) == 3
    assert not ReadingDay.objects.exists()
    came.refresh_from_db()
    assert came.undone_because == "wrong frame"
    assert Event.objects.about(came).get().verb == "took back"


def test_what_others_brought_stays(sensor, came):
    store(sensor, [1000, 2000])
    store(sensor, [1000, 2000, 3000, 4000], origin=came)
    assert undo(came) == 2
    assert stored(sensor) == {0: 1.0, 1: 2.0}


def test_a_value_that_had_to_give_way_takes_the_free_place(sensor, came):
    other = make.log_import(frame=sensor.frame)
    store(sensor, [1000, 2000], origin=came)
    store(sensor, [1500, 2000, 3000], origin=other)
    undo(came)
    assert stored(sensor) == {0: 1.5, 2: 3.0}
    assert not ConflictDay.objects.exists()


def test_its_own_conflicts_go_with_it(sensor, came):
    store(sensor, [1000])
    store(sensor, [9000], origin=came)
    assert came.conflict_days.count() == 1
    undo(came)
    assert stored(sensor) == {0: 1.0}
    assert not came.conflict_days.exists()


def test_of_an_import_with_two_values_at_one_instant_neither_stands(sensor, came):
    make.store(sensor, [START, START], [1000, 1500], origin=came)
    assert stored(sensor) == {0: 1.0}
    assert came.conflict_days.count() == 1
    undo(came)
    assert stored(sensor) == {}
    assert not ConflictDay.objects.exists()


def test_what_it_had_replaced_comes_back(sensor, came):
    store(sensor, [1000, 2000])
    store(sensor, [1500, 2000], origin=came)
    settle_conflicts(
        log_import=came,
        sensor=sensor,
        take_new=True,
        reason="read again",
        by=make.keeper(),
    )
    assert stored(sensor) == {0: 1.5, 1: 2.0}
    undo(came)
    assert stored(sensor) == {0: 1.0, 1: 2.0}


def test_what_was_replaced_does_not_come_back_once_its_own_import_is_taken_back(
    sensor, came
):
    first = make.log_import(frame=sensor.frame)
    store(sensor, [1000], origin=first)
    store(sensor, [1500], origin=came)
    settle_conflicts(
        log_import=came, sensor=sensor, take_new=True, reason="so", by=make.keeper()
    )
    undo(first)
    undo(came)
    assert stored(sensor) == {}


def test_of_a_chain_of_replacements_each_gives_back_what_still_stands(sensor):
    def replaced_by(value):
        came = make.log_import(frame=sensor.frame)
        store(sensor, [value], origin=came)
        settle_conflicts(
            log_import=came, sensor=sensor, take_new=True, reason="so", by=make.keeper()
        )
        return came

    store(sensor, [1000])
    second, third = replaced_by(2000), replaced_by(3000)
    undo(second)
    assert stored(sensor) == {0: 3.0}
    undo(third)
    assert stored(sensor) == {0: 1.0}


def test_what_is_left_is_judged_without_it(sensor, came):
    make.store(sensor, [START, START + 600], [1000, 30_000])
    make.store(sensor, [START + 1200], [1100], origin=came)
    assert readings(sensor).quality.tolist() == [0, 3, 0]
    undo(came)
    assert readings(sensor).quality.tolist() == [0, 0]


class TestRefusing:
    def test_only_a_keeper_takes_back(self, sensor, came):
        store(sensor, [1000], origin=came)
        with pytest.raises(ValidationError, match="Only a keeper"):
            undo(came, by=make.helper())
        assert stored(sensor) == {0: 1.0}

    def test_a_reason_is_asked_for(self, sensor, came):
        store(sensor, [1000], origin=came)
        with pytest.raises(ValidationError, match="Say why"):
            undo(came, reason=" ")

    def test_a_log_from_before_readings_were_traced_is_refused(self, sensor):
        came = make.log_import(frame=sensor.frame, habits={"zone": "-05:00"})
        store(sensor, [1000])
        sensor.days.update(origin=b"")
        with pytest.raises(ValidationError, match="before readings were traced"):
            undo(came)
        assert stored(sensor) == {0: 1.0}

    def test_twice_is_refused(self, sensor, came):
        store(sensor, [1000], origin=came)
        undo(came)
        with pytest.raises(ValidationError, match="taken back already"):
            undo(came)


PARTS = st.lists(
    st.dictionaries(st.integers(0, 8), st.integers(-5000, 5000), min_size=1),
    min_size=2,
    max_size=4,
)


class TestAnyImports(TestCase):
    @settings(max_examples=40, deadline=None)
    @given(PARTS, st.data())
    def test_taking_one_back_and_reading_the_others_again_is_as_if_it_never_came(
        self, parts, data
    ):
        gone = data.draw(st.integers(0, len(parts) - 1))
        with_all, without = make.sensor(), make.sensor()
        imports = [make.log_import(frame=with_all.frame) for _ in parts]
        for part, origin in zip(parts, imports, strict=True):
            self._store(with_all, part, origin)
        undo(imports[gone])
        for n, part in enumerate(parts):
            if n != gone:
                self._store(with_all, part, imports[n])
                self._store(without, part, None)
        for sensor in (with_all, without):
            sensor.refresh_from_db()
        later = parts[gone + 1 :]
        if not any(parts[gone].items() & part.items() for part in later):
            assert stored(with_all) == stored(without)
        assert stored(with_all).keys() == stored(without).keys()

    @staticmethod
    def _store(sensor, part, origin):
        seconds = [START + STEP * step for step in part]
        make.store(sensor, seconds, list(part.values()), origin=origin)
