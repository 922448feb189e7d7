"""The pages of logs that came in: looking, taking back, reading again, choosing."""

from datetime import timedelta

import pytest
from django.test import Client as Browser

from tests import make
from tests.ingest.bringing import LOG, NOON, OTHER, bring, browser_of, page, words
from wintering.climate.models import LogImport
from wintering.climate.queries import readings


@pytest.fixture(autouse=True)
def _january(time_machine):
    time_machine.move_to(NOON)


@pytest.fixture
def frame(db):
    frame = make.frame(name="Long Frame", slug="long-frame", time_zone="Europe/Oslo")
    make.microclimate(frame=frame, name="floor", slug="floor")
    return frame


@pytest.fixture
def keeper(frame) -> Browser:
    return browser_of(make.keeper(first_name="Hana"))


@pytest.fixture
def helper(frame) -> Browser:
    return browser_of(make.helper())


def values(frame):
    sensor = frame.sensors.get()
    day = NOON - timedelta(days=1.5)
    return readings(sensor, day, day + timedelta(days=1)).value.round(2).tolist()


def test_the_page_of_a_log_tells_what_it_is_and_how_it_was_read(helper, frame):
    log = bring(frame, LOG + "soon,1\n")
    text = words(helper.get(page(log)))
    assert "3 readings of the Long Frame stand from it." in text
    assert log.sha256 in text
    assert "carry no zone in the file; read as Europe/Oslo" in text
    assert "on the command line" in text
    assert "Row 5:" in text
    assert "root zone, floor" in text
    assert "Sun 19 Jan 2025, 10:00" in text


def test_a_helper_looks_and_is_offered_nothing_to_change(helper, frame):
    log = bring(frame)
    bring(frame, OTHER, name="b.csv")
    text = words(helper.get(page(log)))
    for part in ("take-back", "again", "file"):
        assert page(log, f"{part}/") not in text
        assert helper.get(page(log, f"{part}/")).status_code == 404
    conflicts = page(LogImport.objects.order_by("pk").last(), "conflicts/")
    assert "A keeper chooses" in words(helper.get(conflicts))


@pytest.mark.parametrize("part", ["", "take-back/", "again/", "file/", "conflicts/"])
def test_strangers_and_clients_see_no_log(frame, part):
    log = bring(frame)
    assert browser_of(make.user("client")).get(page(log, part)).status_code == 404
    assert "/sign-in/" in Browser().get(page(log, part)).url


@pytest.mark.parametrize("address", ["/climate/logs/", "/climate/sensors/{}/readings/"])
def test_strangers_and_clients_see_neither_list_nor_origin(frame, address):
    bring(frame)
    address = address.format(frame.sensors.get().pk)
    assert browser_of(make.user("client")).get(address).status_code == 404
    assert "/sign-in/" in Browser().get(address).url


def test_the_list_can_be_of_one_frame(helper, frame):
    bring(frame)
    make.log_import(frame=make.frame(slug="other"), file_name="elsewhere.csv")
    both = words(helper.get("/climate/logs/"))
    assert "a.csv" in both
    assert "elsewhere.csv" in both
    one = words(helper.get("/climate/logs/?frame=long-frame"))
    assert "a.csv" in one
    assert "elsewhere.csv" not in one


def test_a_long_list_takes_as_many_queries_as_a_short_one(
    helper, frame, django_assert_max_num_queries
):
    for number in range(60):
        make.log_import(frame=frame, file_name=f"log-{number}.csv")
    with django_assert_max_num_queries(9):
        text = words(helper.get("/climate/logs/"))
    assert text.count("row-link") == 50
    assert "page=2" in text


def test_the_page_of_many_sensors_takes_as_many_queries_as_that_of_one(
    helper, frame, django_assert_max_num_queries
):
    log = make.log_import(frame=frame)
    for _ in range(8):
        sensor = make.sensor(frame=frame)
        make.store(sensor, [1_737_000_000, 1_737_200_000], [1, 2], origin=log)
    with django_assert_max_num_queries(14):
        text = words(helper.get(page(log)))
    assert "16 readings of the Long Frame stand from it." in text


def test_a_loggers_day_has_a_page_without_a_file(keeper, frame):
    logger = make.logger(frame=frame, name="bench logger")
    log = make.log_import(
        frame=frame,
        kind="http",
        logger=logger,
        received_on=NOON.date(),
        rows=12,
        sha256="",
        kept="",
    )
    text = words(keeper.get(page(log)))
    assert "bench logger, 12 readings on" in text
    assert page(log, "again/") not in text
    assert page(log, "file/") not in text
    assert keeper.get(page(log, "again/")).status_code == 404
    assert "no file to read again" in words(keeper.get(page(log, "take-back/")))


def test_the_file_is_given_back_as_it_came(keeper, frame):
    log = bring(frame, name="winter log.csv")
    answer = keeper.get(page(log, "file/"))
    assert b"".join(answer.streaming_content) == LOG.encode()
    assert answer["Content-Disposition"] == 'attachment; filename="winter log.csv"'
    assert answer["Content-Type"] == "application/octet-stream"
    assert answer["X-Content-Type-Options"] == "nosniff"


def test_a_file_that_is_gone_is_said_to_be_gone(keeper, frame, settings):
    log = bring(frame)
    (settings.MEDIA_ROOT / log.kept).unlink()
    assert "no copy is kept" in words(keeper.get(page(log)))
    assert keeper.get(page(log, "file/")).status_code == 404


def test_taking_back_says_beforehand_what_goes_and_what_comes(keeper, frame):
    log = bring(frame)
    bring(frame, OTHER, name="b.csv")
    text = words(keeper.get(page(log, "take-back/")))
    assert "3 readings of 1 sensor in the Long Frame go out" in text
    assert "Sun 19 Jan 2025, 10:00" in text
    assert "2 values of b.csv" in text
    assert "b.csv (Mon 20 Jan 2025, 13:00) held readings that were in already" in text
    assert values(frame) == [0.4, 0.5, 0.6]


def test_an_import_is_taken_back_once_however_often_it_is_sent(keeper, frame):
    log = bring(frame)
    bring(frame, OTHER, name="b.csv")
    for _ in range(2):
        answer = keeper.post(page(log, "take-back/"), {"reason": "wrong logger"})
        assert answer.url == page(log)
    assert values(frame) == [0.4, 9.5, 9.6]
    text = words(keeper.get(page(log)))
    assert "Taken back: nothing of it stands." in text
    assert "by Hana: 'wrong logger" in text


def test_taking_back_asks_why(keeper, frame):
    log = bring(frame)
    answer = keeper.post(page(log, "take-back/"), {"reason": " "})
    assert answer.context["form"].errors["reason"]
    assert values(frame) == [0.4, 0.5, 0.6]


def test_reading_again_begins_with_how_it_was_read(keeper, frame):
    log = bring(frame)
    answer = keeper.get(page(log, "again/"))
    assert answer.context["answers"]["zone"].value() == "Europe/Oslo"
    (column,) = answer.context["columns"]
    assert column["sensor"].value() == "R1"
    assert "As it was understood" in words(answer)


def again(**fields):
    return {
        "import": "yes",
        "zone": "Europe/Oslo",
        "column-0-is_taken": "on",
        "column-0-sensor": "R1",
        "column-0-place": "root",
        **fields,
    }


def test_a_log_is_read_again_in_another_zone(keeper, frame):
    log = bring(frame)
    answer = keeper.post(page(log, "again/"), again(zone="-05:00"))
    came = LogImport.objects.order_by("pk").last()
    assert answer.url == page(came)
    assert frame.sensors.get().days.get().first_at.hour == 15
    log.refresh_from_db()
    assert log.undone_because == "Read again with other settings."
    assert (came.habits["zone"], came.by.first_name) == ("-05:00", "Hana")


def test_looking_again_changes_nothing(keeper, frame):
    log = bring(frame)
    sent = {**again(zone="-05:00"), "again": "yes"}
    sent.pop("import")
    text = words(keeper.post(page(log, "again/"), sent))
    assert "From Sun 19 Jan 2025, 16:00" in text
    assert LogImport.objects.get().undone_at is None


def test_a_refused_reading_leaves_all_as_it_was(keeper, frame):
    log = bring(frame)
    text = words(keeper.post(page(log, "again/"), again(**{"column-0-place": "air"})))
    assert "Sensor R1 is known as root zone, not air" in text
    assert LogImport.objects.get().undone_at is None
    assert values(frame) == [0.4, 0.5, 0.6]


def test_a_damaged_copy_is_not_read_again(keeper, frame, settings):
    log = bring(frame)
    (settings.MEDIA_ROOT / log.kept).write_bytes(b"no gzip")
    answer = keeper.get(page(log, "again/"), follow=True)
    assert "The kept copy of a.csv can&#x27;t be read" in words(answer)


def test_values_that_differ_are_shown_side_by_side(keeper, frame):
    bring(frame)
    log = bring(frame, OTHER, name="b.csv")
    text = words(keeper.get(page(log, "conflicts/")))
    assert "2 values of b.csv differ from what is stored." in text
    assert "<td>0.5</td><td>9.5</td>" in text
    assert "The largest difference is 9.0 °C, the middle one 9.0 °C" in text.replace(
        "\u00a0", " "
    )
    told = "2 values differ: choose"
    for address in ("/climate/", "/climate/logs/"):
        assert told in words(keeper.get(address))


def test_a_likely_unit_is_named(keeper, frame):
    rows = [f"2025-01-19 {h:02d}:00," for h in range(10)]
    stored = [f"{row}{h * 1.5 - 4:.1f}" for h, row in enumerate(rows)]
    in_f = [f"{row}{(h * 1.5 - 4) * 1.8 + 32:.1f}" for h, row in enumerate(rows)]
    bring(frame, "\n".join(["time,R1 (°C)", *stored]))
    log = bring(frame, "\n".join(["time,R1 (°C)", *in_f]), name="b.csv")
    text = words(keeper.get(page(log, "conflicts/")))
    assert "All differ as °F read as °C would" in text


@pytest.mark.parametrize(
    ("choice", "left", "told"),
    [
        ("keep", [0.4, 0.5, 0.6], "What was stored was kept"),
        ("take", [0.4, 9.5, 9.6], "values were taken"),
    ],
)
def test_a_keeper_chooses_between_the_values(keeper, frame, choice, left, told):
    bring(frame)
    log = bring(frame, OTHER, name="b.csv")
    sent = {"sensor": frame.sensors.get().pk, "choice": choice, "reason": "it lay wet"}
    answer = keeper.post(page(log, "conflicts/"), sent)
    assert answer.url == page(log, "conflicts/")
    assert values(frame) == left
    text = words(keeper.get(answer.url))
    assert told in text
    assert "by Hana: 'it lay wet" in text
    assert "Settle R1" not in text


@pytest.mark.parametrize("missing", ["choice", "reason"])
def test_half_a_choice_is_refused(keeper, frame, missing):
    bring(frame)
    log = bring(frame, OTHER, name="b.csv")
    sent = {"sensor": frame.sensors.get().pk, "choice": "take", "reason": "it lay wet"}
    sent.pop(missing)
    answer = keeper.post(page(log, "conflicts/"), sent)
    ((_, _, form),) = answer.context["told"]
    assert form.errors[missing]
    assert values(frame) == [0.4, 0.5, 0.6]


def test_a_helper_does_not_choose(helper, frame):
    bring(frame)
    log = bring(frame, OTHER, name="b.csv")
    sent = {"sensor": frame.sensors.get().pk, "choice": "take", "reason": "it lay wet"}
    assert helper.post(page(log, "conflicts/"), sent).status_code == 404
    assert values(frame) == [0.4, 0.5, 0.6]


def test_conflicts_of_many_sensors_take_as_many_queries_as_of_one(
    keeper, frame, django_assert_max_num_queries
):
    first, second = make.log_import(frame=frame), make.log_import(frame=frame)
    for _ in range(8):
        sensor = make.sensor(frame=frame)
        make.store(sensor, [1_737_000_000], [1], origin=first)
        make.store(sensor, [1_737_000_000], [2], origin=second)
    with django_assert_max_num_queries(10):
        text = words(keeper.get(page(second, "conflicts/")))
    assert "8 values of" in text


@pytest.mark.parametrize("sensor", ["abc", "", "-1", "9" * 30, "1\0", "²"])
def test_a_choice_for_no_sensor_is_not_found(keeper, frame, sensor):
    log = bring(frame)
    sent = {"sensor": sensor, "choice": "keep", "reason": "so it is"}
    assert keeper.post(page(log, "conflicts/"), sent).status_code == 404
