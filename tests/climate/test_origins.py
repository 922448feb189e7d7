"""Where each reading came from, packed in runs."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests import make
from wintering.climate.origins import (
    Origins,
    pack_origins,
    sources_in,
    unpack_origins,
)
from wintering.climate.queries import traced
from wintering.climate.services import take_rows

PAIRS = st.lists(st.tuples(st.integers(1, 3), st.integers(0, 6)), max_size=40)
START = int(make.NOON.timestamp())


@given(PAIRS)
def test_every_origin_comes_back(pairs):
    source, row = np.array(pairs, np.int64).reshape(-1, 2).T
    packed = pack_origins(Origins(source, row))
    back = unpack_origins(packed, len(pairs))
    assert back.source.tolist() == source.tolist()
    assert back.row.tolist() == row.tolist()
    assert sources_in(packed) == set(source.tolist())


def test_rows_at_one_step_take_a_handful_of_bytes():
    assert len(pack_origins(Origins.of(7, 3 + 20 * np.arange(1440)))) < 40


def test_a_day_without_origins_is_unknown():
    assert unpack_origins(b"", 3).source.tolist() == [0, 0, 0]
    assert sources_in(b"") == set()


@pytest.mark.django_db
class TestTracing:
    def test_a_reading_is_traced_to_its_file_and_row(self):
        sensor = make.sensor()
        first, second = (make.log_import(frame=sensor.frame) for _ in range(2))
        make.store(sensor, [START, START + 60], [1000, 2000], origin=first, rows=[4, 5])
        make.store(
            sensor, [START + 60, START + 120], [2000, 3000], origin=second, rows=[9, 10]
        )
        found = traced(sensor, make.NOON, make.NOON.replace(hour=13))
        assert found.source.tolist() == [first.pk, first.pk, second.pk]
        assert found.row.tolist() == [4, 5, 10]
        assert found.imports == {first.pk: first, second.pk: second}

    def test_what_a_logger_sends_is_counted_on_through_its_day(self):
        logger = make.logger()
        came, rows = take_rows(logger=logger, received_at=make.NOON, count=2)
        again, more = take_rows(logger=logger, received_at=make.NOON, count=1)
        assert (came, rows.tolist(), more.tolist()) == (again, [1, 2], [3])
        later = make.NOON.replace(day=21)
        next_day, rows = take_rows(logger=logger, received_at=later, count=1)
        assert next_day != came
        assert rows.tolist() == [1]
        assert came.kind == "http"
