"""What loggers send: kept at once, folded later, the same in whatever order."""

import threading
from datetime import UTC, datetime, timedelta
from decimal import Decimal
from fractions import Fraction
from itertools import pairwise

import pytest
from django.core.exceptions import ValidationError
from django.db import DatabaseError, connection
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests import make
from wintering.climate.measurements import Measurement
from wintering.climate.models import Arrival, ConflictDay, LogImport, ReadingDay
from wintering.climate.queries import traced
from wintering.climate.queries.loggers import hash_of
from wintering.climate.services import arrivals, channels, loggers, undo_import
from wintering.climate.services.arrivals import (
    FOLD_EVERY,
    fold_arrivals,
    receive,
    turn_of,
)
from wintering.climate.services.loggers import (
    add_logger,
    choose_sensor,
    end_logger,
    renew_token,
)

NOW = datetime(2026, 11, 25, 23, 58, tzinfo=UTC)
LATER = NOW + FOLD_EVERY
LONG_S = 20  # given up only when something is broken
START_S = int(NOW.timestamp()) - 7_200

pytestmark = pytest.mark.django_db


def sent(value="1.5", minute=0, name="R1", unit="Cel"):
    return Measurement(name, START_S + 60 * minute, Decimal(value), unit)


class TestExactness:
    @given(
        thousandths=st.integers(-1_000_000_000, 1_000_000_000),
        unit=st.sampled_from([("Cel", "c"), ("K", "k"), ("degF", "f"), ("%RH", "pct")]),
    )
    def test_three_decimals_in_the_sensors_own_unit_stay_as_they_are(
        self, thousandths, unit
    ):
        value = Decimal(thousandths).scaleb(-3)
        one = Measurement("R1", START_S, value, unit[0])
        assert one.thousandths(unit[1]) == thousandths

    @given(
        value=st.decimals(-10_000, 10_000, places=6),
        units=st.permutations([("Cel", "c"), ("K", "k"), ("degF", "f")]),
    )
    def test_another_unit_is_rounded_once_to_the_nearest_thousandth(self, value, units):
        (unit, _), (_, into), _ = units
        exact = {
            "Cel": Fraction(value),
            "K": Fraction(value) - Fraction("273.15"),
            "degF": (Fraction(value) - 32) * 5 / 9,
        }[unit]
        there = {
            "c": exact,
            "k": exact + Fraction("273.15"),
            "f": exact * 9 / 5 + 32,
        }[into]
        kept = Measurement("R1", START_S, value, unit).thousandths(into)
        assert kept == round(there * 1000)


class TestAnySplit:
    """Posts and foldings in any order end in the same days as one post of all."""

    readings = st.lists(
        st.tuples(st.integers(0, 300), st.sampled_from(["1.5", "1.75", "85", "-127"])),
        min_size=1,
        max_size=24,
    )

    @given(
        readings=readings,
        cuts=st.sets(st.integers(1, 23)),
        folds=st.sets(st.integers(0, 23)),
    )
    @settings(
        max_examples=50,
        deadline=None,
        suppress_health_check=[HealthCheck.function_scoped_fixture],
    )
    def test_gives_the_same_days(self, readings, cuts, folds):
        measurements = [
            sent(value, minute, name=f"R{minute % 2}") for minute, value in readings
        ]
        bounds = [0, *sorted(c for c in cuts if c < len(readings)), len(readings)]
        whole, split = make.logger(), make.logger()
        receive(logger=whole, measurements=measurements, at=NOW)
        for n, (a, b) in enumerate(pairwise(bounds)):
            receive(logger=split, measurements=measurements[a:b], at=NOW)
            split.refresh_from_db()
            if n in folds:
                fold_arrivals(at=NOW)
        fold_arrivals(at=NOW)
        assert Arrival.objects.count() == 0
        assert days_of(split) == days_of(whole)
        assert conflicts_of(split) == conflicts_of(whole)
        assert split.log_imports.get().rows == len(readings)


def days_of(logger):
    """Everything stored of a frame's sensors but whose import it was."""
    days = ReadingDay.objects.filter(sensor__frame=logger.frame)
    of_sensor = days.order_by("sensor__name", "day")
    return list(
        of_sensor.values_list("sensor__name", "day", "count", "marked", "packed")
    )


def conflicts_of(logger):
    days = ConflictDay.objects.filter(sensor__frame=logger.frame)
    of_sensor = days.order_by("sensor__name", "day")
    return list(of_sensor.values_list("sensor__name", "day", "count", "packed"))


class TestFolding:
    def test_the_first_post_is_folded_at_once(self):
        folded = receive(logger=make.logger(), measurements=[sent()], at=NOW)
        assert (folded.added, folded.unchanged, folded.conflicts) == (1, 0, 0)

    def test_a_logger_that_posts_every_fifty_seconds_is_folded_at_every_post(self):
        logger = make.logger()
        for n in range(5):
            folded = receive(
                logger=logger, measurements=[sent(minute=n)], at=NOW + n * FOLD_EVERY
            )
            logger.refresh_from_db()
            assert folded.added == 1

    def test_a_quick_logger_is_folded_once_in_fifty_seconds(self):
        logger = make.logger()
        told = []
        for n in range(101):
            at = NOW + timedelta(seconds=n)
            told.append(receive(logger=logger, measurements=[sent(minute=n)], at=at))
            logger.refresh_from_db()
        rows = ReadingDay.objects.values_list("count", flat=True)
        assert told[0] is not None
        assert told[1:].count(None) == 98, "two of them bring the others along"
        assert sum(rows) + Arrival.objects.count() == 101
        assert 0 < Arrival.objects.count() <= 50

    def test_loggers_take_turns_evenly(self):
        loggers = [make.logger() for _ in range(50)]
        changes = [0] * 50
        for second in range(50):
            a, b = (NOW + timedelta(seconds=second + n) for n in (0, 1))
            changes[second] = sum(turn_of(one, a) != turn_of(one, b) for one in loggers)
        assert sum(changes) == 50
        assert max(changes) <= 3

    def test_a_big_post_never_waits(self):
        logger = make.logger(heard_at=NOW)
        many = [sent(minute=n) for n in range(arrivals.BIG)]
        assert receive(logger=logger, measurements=many, at=NOW).added == len(many)

    def test_what_waits_is_left_for_the_loggers_turn(self):
        logger = make.logger(heard_at=NOW)
        receive(logger=logger, measurements=[sent()], at=NOW)
        almost = NOW + FOLD_EVERY - timedelta(seconds=1)
        assert fold_arrivals(at=almost, waiting_for=FOLD_EVERY) == 0
        assert fold_arrivals(at=NOW + FOLD_EVERY, waiting_for=FOLD_EVERY) == 1
        assert ReadingDay.objects.get().count == 1

    def test_each_utc_day_of_receipt_has_its_own_import_and_rows(self):
        logger = make.logger(heard_at=NOW)
        receive(logger=logger, measurements=[sent("1"), sent("2", 1)], at=NOW)
        later = NOW + timedelta(minutes=3)
        logger.heard_at = later
        receive(logger=logger, measurements=[sent("3", 2)], at=later)
        fold_arrivals(at=later)
        told = logger.log_imports.order_by("received_on")
        assert [(str(one.received_on), one.rows) for one in told] == [
            ("2026-11-25", 2),
            ("2026-11-26", 1),
        ]
        assert [one.report["added"] for one in told] == [2, 1]

    def test_every_reading_can_be_traced_to_its_row(self):
        logger = make.logger()
        receive(logger=logger, measurements=[sent("1"), sent("2", 1)], at=NOW)
        sensor = logger.channels.get().sensor
        found = traced(sensor, NOW - timedelta(days=1), NOW)
        assert found.row.tolist() == [1, 2]
        assert set(found.imports.values()) == {logger.log_imports.get()}

    def test_what_waits_is_taken_back_with_the_import_of_its_day(self):
        logger = make.logger()
        receive(logger=logger, measurements=[sent("1")], at=NOW)
        logger.heard_at = NOW
        receive(logger=logger, measurements=[sent("2", 1)], at=NOW)
        day = logger.log_imports.get()
        took = undo_import(log_import=day, by=make.keeper(), reason="hung wrong")
        assert took == 2
        assert fold_arrivals(at=NOW) == 0
        receive(logger=logger, measurements=[sent("3", 2)], at=NOW + FOLD_EVERY)
        assert logger.log_imports.filter(undone_at=None).get().rows == 1

    def test_one_that_cannot_be_folded_holds_up_no_other(self, monkeypatch, caplog):
        good, bad = make.logger(heard_at=NOW), make.logger(heard_at=NOW)
        for logger in (bad, good):
            receive(logger=logger, measurements=[sent()], at=NOW)
        take_rows = arrivals.take_rows

        def failing(*, logger, **told):
            if logger == bad:
                raise DatabaseError("disk I/O error")
            return take_rows(logger=logger, **told)

        monkeypatch.setattr(arrivals, "take_rows", failing)
        assert fold_arrivals(at=NOW) == 1
        assert bad.arrivals.count() == 1, "it is tried again the next time"
        assert "disk I/O error" in caplog.text

    def test_a_fold_that_breaks_off_leaves_everything_waiting(self, monkeypatch):
        logger = make.logger(heard_at=NOW)
        receive(logger=logger, measurements=[sent(), sent(name="R2")], at=NOW)
        store, calls = arrivals.store_readings, []

        def second_fails(**told):
            calls.append(told)
            if len(calls) == 2:
                raise DatabaseError("disk I/O error")
            return store(**told)

        monkeypatch.setattr(arrivals, "store_readings", second_fails)
        fold_arrivals(at=NOW)
        assert ReadingDay.objects.count() == 0
        assert LogImport.objects.count() == 0
        monkeypatch.setattr(arrivals, "store_readings", store)
        assert fold_arrivals(at=NOW) == 1
        assert [day.count for day in ReadingDay.objects.all()] == [1, 1]

    def test_a_refused_post_leaves_no_sensor_behind(self):
        logger = make.logger()
        mixed = [sent(), sent(unit="%RH", minute=1)]
        with pytest.raises(ValidationError, match="measures temperature"):
            receive(logger=logger, measurements=mixed, at=NOW)
        assert logger.frame.sensors.count() == 0
        assert logger.channels.count() == 0


@pytest.mark.django_db(transaction=True)
@pytest.mark.parametrize("verb", [end_logger, renew_token])
def test_a_keeper_and_a_post_with_a_new_name_never_wait_for_each_other(
    verb, monkeypatch
):
    """Where two can write at once, each holds what it takes first before going on."""
    logger, keeper = make.logger(heard_at=NOW), make.keeper()
    receive(logger=logger, measurements=[sent()], at=NOW)
    both = threading.Barrier(2 if connection.features.has_select_for_update else 1)
    post_holds(both, monkeypatch)
    keeper_holds(both, monkeypatch)
    failed = []

    def run(service, **told):
        try:
            service(logger=logger, **told)
        except DatabaseError as error:
            failed.append(error)
            both.abort()
        finally:
            connection.close()

    new = [sent(name="R2")]
    ends = {"at": NOW} if verb is end_logger else {}
    threads = [
        threading.Thread(
            target=run, args=[receive], kwargs={"measurements": new, "at": LATER}
        ),
        threading.Thread(target=run, args=[verb], kwargs={"by": keeper, **ends}),
    ]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert failed == []
    fold_arrivals(at=LATER)
    assert [day.count for day in ReadingDay.objects.all()] == [1, 1]


def post_holds(both, monkeypatch):
    refuse = channels._refuse_too_many

    def refuse_later(logger, count):
        both.wait(LONG_S)
        refuse(logger, count)

    monkeypatch.setattr(channels, "_refuse_too_many", refuse_later)


def keeper_holds(both, monkeypatch):
    for name in ("fold_logger", "_still_sending"):
        go_on = getattr(loggers, name)

        def later(*args, go_on=go_on, **told):
            both.wait(LONG_S)
            return go_on(*args, **told)

        monkeypatch.setattr(loggers, name, later)


class TestLoggers:
    def test_only_the_hash_of_a_token_is_kept(self):
        logger, token = add_logger(
            frame=make.frame(), name="west", by=make.keeper(), at=NOW
        )
        assert len(token) >= 43, "256 bits"
        assert token not in str(logger.__dict__)
        # SHA-256 of 'abc' as in FIPS 180-4's examples, by the same way in.
        assert hash_of("abc").startswith("ba7816bf8f01cfea414140de5dae2223")
        assert logger.token_hash == hash_of(token)

    @pytest.mark.parametrize("verb", ["add", "renew", "end", "choose"])
    def test_a_helper_sets_up_nothing(self, verb):
        logger, by = make.logger(), make.helper()
        sensor = make.sensor(frame=logger.frame)
        todo = {
            "add": lambda: add_logger(frame=logger.frame, name="x", by=by, at=NOW),
            "renew": lambda: renew_token(logger=logger, by=by),
            "end": lambda: end_logger(logger=logger, by=by, at=NOW),
            "choose": lambda: choose_sensor(
                logger=logger, name="x", sensor=sensor, by=by
            ),
        }
        with pytest.raises(ValidationError, match="Only a keeper"):
            todo[verb]()

    def test_a_second_of_that_name_is_refused(self):
        logger = make.logger()
        with pytest.raises(ValidationError, match="already has a logger of that name"):
            add_logger(frame=logger.frame, name=logger.name, by=make.keeper(), at=NOW)

    def test_an_ended_one_gets_no_token(self):
        logger, keeper = make.logger(), make.keeper()
        end_logger(logger=logger, by=keeper, at=NOW)
        with pytest.raises(ValidationError, match="taken out of use"):
            renew_token(logger=logger, by=keeper)

    def test_ending_folds_what_waits(self):
        logger = make.logger(heard_at=NOW)
        receive(logger=logger, measurements=[sent()], at=NOW)
        end_logger(logger=logger, by=make.keeper(), at=NOW)
        assert ReadingDay.objects.get().count == 1

    def test_what_waits_goes_to_the_sensor_that_the_channel_was(self):
        logger = make.logger(heard_at=NOW)
        receive(logger=logger, measurements=[sent("1")], at=NOW)
        old = logger.channels.get().sensor
        new = make.sensor(frame=logger.frame, unit="f")
        choose_sensor(logger=logger, name="R1", sensor=new, by=make.keeper())
        receive(logger=logger, measurements=[sent("0", 1)], at=NOW)
        fold_arrivals(at=NOW)
        assert [day.low for day in old.days.all()] == [1_000]
        assert [day.low for day in new.days.all()] == [32_000]

    def test_a_sensor_can_be_chosen_before_anything_came(self):
        logger = make.logger()
        sensor = make.sensor(frame=logger.frame)
        choose_sensor(logger=logger, name="ch1", sensor=sensor, by=make.keeper())
        receive(logger=logger, measurements=[sent(name="ch1")], at=NOW)
        assert sensor.days.get().count == 1
        assert logger.frame.sensors.count() == 1

    def test_a_sensor_of_another_kind_or_frame_is_refused(self):
        logger, keeper = make.logger(), make.keeper()
        receive(logger=logger, measurements=[sent()], at=NOW)
        frame = logger.frame
        unfit = {
            "another frame": make.sensor(),
            "read by hand": make.sensor(frame=frame, is_min_max=True),
            "measures the same": make.sensor(
                frame=frame, quantity="humidity", unit="pct"
            ),
        }
        for words, sensor in unfit.items():
            with pytest.raises(ValidationError, match=words):
                choose_sensor(logger=logger, name="R1", sensor=sensor, by=keeper)
