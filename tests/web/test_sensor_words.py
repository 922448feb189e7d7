"""What a keeper says of a sensor: its checks in ice, and which readings count."""

import re
from datetime import UTC, datetime, timedelta

import pytest

from tests import make
from tests.web.test_stays import words as markup
from wintering.climate.models import SensorCheck, Verdict
from wintering.climate.queries import readings
from wintering.climate.services.checks import check_in_ice
from wintering.climate.services.verdicts import give_verdict

NOON = datetime(2025, 1, 20, 12, tzinfo=UTC)
MIDNIGHT = datetime(2025, 1, 20, tzinfo=UTC)
HOUR = timedelta(hours=1)
A_MINUTE = timedelta(minutes=1)


@pytest.fixture(autouse=True)
def _january(time_machine):
    time_machine.move_to(NOON)


def words(answer):
    """What a person reads of a page."""
    return " ".join(re.sub(r"<[^>]+>", "", markup(answer)).split())


@pytest.fixture
def sensor(long_frame):
    part = make.microclimate(frame=long_frame, name="rear bench")
    sensor = make.sensor(name="R1", microclimate=part)
    make.hours(sensor, MIDNIGHT, [1.0, 2.0, 85.0, 85.0, 3.0, 4.0, 90.0, 5.0])
    return sensor


def ten(value="0.3", **fields):
    return {f"shown_{n}": value for n in range(1, 11)} | {
        "at": "2025-01-20T11:00",
        **fields,
    }


def span(**fields):
    told = {"counts": "no", "start_at": "2025-01-20T00:00", "reason": "in the snow"}
    return {**told, "end_at": "2025-01-20T02:00", **fields}


# Which readings count


def test_a_word_without_a_reason_is_asked_for_one(as_keeper, sensor):
    address = f"/climate/{sensor.pk}/verdict/"
    assert "Why needed" in words(as_keeper.get(address))
    looked = words(as_keeper.post(address, span(reason="", look="yes")))
    assert "Why needed" in looked
    assert "2 of 2 readings" in looked
    assert "Say what you saw" not in looked
    page = words(as_keeper.post(address, span(reason=" ", save="yes")))
    assert "Why needed" in page
    assert "Say what you saw, for whoever wonders later." in page
    assert "This field is required" not in page
    assert not Verdict.objects.exists()


# Checks in ice


def test_the_offset_and_how_far_they_scatter_are_shown_before_saving(as_keeper, sensor):
    page = words(as_keeper.post(f"/climate/{sensor.pk}/ice/", ten(look="yes")))
    assert "Off by +0.30 K, the ten 0.00 K apart." in page
    assert "Not saved yet" in page
    assert not SensorCheck.objects.exists()


def test_a_check_is_saved_and_told_on_the_sensors_page(as_keeper, sensor):
    as_keeper.post(f"/climate/{sensor.pk}/ice/", ten(save="yes", note="autumn"))
    check = SensorCheck.objects.get()
    assert (check.offset_k, check.checked_at) == (0.3, NOON - HOUR)
    page = words(as_keeper.get(f"/climate/{sensor.pk}/"))
    assert "11:00: +0.30 K, autumn Hana Marendal" in page


def test_drift_since_the_last_check_is_told(as_keeper, keeper, sensor):
    at = NOON - timedelta(days=100)
    check_in_ice(sensor=sensor, shown=[0.6] * 10, at=at, by=keeper)
    page = words(as_keeper.post(f"/climate/{sensor.pk}/ice/", ten("0.1", look="yes")))
    assert "−0.50 K since the last check" in page
    as_keeper.post(f"/climate/{sensor.pk}/ice/", ten("0.1", save="yes"))
    page = words(as_keeper.get(f"/climate/{sensor.pk}/"))
    assert "+0.10 K, −0.50 K since the check before" in page


@pytest.mark.parametrize(
    ("sent", "told"),
    [
        (ten("1.2"), "replace the sensor"),
        (ten(shown_10="0.7"), "had not settled"),
        (ten(shown_4=""), "Reading 4 is missing."),
        (ten(at="2025-01-21T11:00"), "That lies ahead"),
    ],
)
def test_what_gives_no_offset_is_told_and_cannot_be_saved(
    as_keeper, sensor, sent, told
):
    answer = as_keeper.post(f"/climate/{sensor.pk}/ice/", {**sent, "save": "yes"})
    assert told in words(answer)
    assert 'name="save"' not in answer.content.decode()
    assert not SensorCheck.objects.exists()


def test_the_unit_of_the_sensor_is_respected(as_keeper, long_frame):
    fahrenheit = make.sensor(frame=long_frame, unit="f")
    page = words(as_keeper.post(f"/climate/{fahrenheit.pk}/ice/", ten("32.9")))
    assert "as " + fahrenheit.name + " shows them, in °F" in page
    assert "Off by +0.50 K" in page


def test_its_own_last_ten_fill_the_form(as_keeper, long_frame):
    quick = make.sensor(frame=long_frame)
    seconds = [int(NOON.timestamp()) - 600 * n for n in range(10, 0, -1)]
    make.store(quick, seconds, [200] * 10)
    assert "Use its last ten readings" in words(
        as_keeper.get(f"/climate/{quick.pk}/ice/")
    )
    page = words(as_keeper.get(f"/climate/{quick.pk}/ice/?own=yes"))
    assert "Off by +0.20 K" in page
    assert "From Mon 20 Jan 2025, 11:50 on" in page


def test_old_readings_are_not_offered(as_keeper, sensor):
    answer = as_keeper.get(f"/climate/{sensor.pk}/ice/?own=yes")
    assert "last ten readings" not in words(answer)


def test_a_check_is_taken_back_with_a_reason(as_keeper, keeper, sensor):
    check = check_in_ice(sensor=sensor, shown=[0.6] * 10, at=MIDNIGHT, by=keeper)
    address = f"/climate/checks/{check.pk}/take-back/"
    assert "+0.60 K" in words(as_keeper.get(address))
    as_keeper.post(address, {"reason": ""})
    check.refresh_from_db()
    assert check.withdrawn_at is None
    as_keeper.post(address, {"reason": "dirty ice"})
    page = words(as_keeper.get(f"/climate/{sensor.pk}/"))
    assert "taken back today 12:00: dirty ice" in page


# Which readings count


def test_what_is_set_aside_is_listed_with_a_way_to_let_it_count(as_keeper, sensor):
    answer = as_keeper.get(f"/climate/{sensor.pk}/")
    assert "2 readings in 2 clock hours, a value that loggers" in words(answer)
    lines = {
        line.span.start_at: line.counts_query for line in answer.context["words"].spans
    }
    query = lines[MIDNIGHT + 2 * HOUR]
    page = words(as_keeper.get(f"/climate/{sensor.pk}/verdict/?{query}"))
    assert "2 of 2 readings in 2 clock hours would count again." in page
    assert not Verdict.objects.exists()


def test_a_span_is_set_aside_with_a_reason_and_told_who_said_so(as_keeper, sensor):
    address = f"/climate/{sensor.pk}/verdict/"
    page = words(as_keeper.post(address, span(look="yes", reason="")))
    assert "2 of 2 readings in 2 clock hours would no longer count." in page
    assert not Verdict.objects.exists()
    as_keeper.post(address, span(save="yes"))
    assert readings(sensor).quality.tolist()[:2] == [9, 9]
    page = words(as_keeper.get(f"/climate/{sensor.pk}/"))
    assert "is set aside: in the snow Hana Marendal, today 12:00" in page
    assert "set aside by hand" in page


@pytest.mark.parametrize(
    ("wrong", "told"),
    [
        ({"reason": ""}, "Say what you saw"),
        ({"end_at": "2025-01-20T00:00"}, "The span must end after it begins."),
        ({"counts": "yes"}, "Each of the 2 readings from then to then counts already."),
        ({"end_at": "2025-01-21T02:00"}, "That lies ahead"),
    ],
)
def test_a_word_that_says_nothing_is_refused(as_keeper, sensor, wrong, told):
    answer = as_keeper.post(f"/climate/{sensor.pk}/verdict/", span(save="yes", **wrong))
    assert told in words(answer)
    assert not Verdict.objects.exists()


def test_a_word_is_taken_back_and_stays_to_be_read(as_keeper, keeper, sensor):
    word = give_verdict(
        sensor=sensor,
        start_at=MIDNIGHT,
        end_at=MIDNIGHT + 2 * HOUR,
        counts=False,
        reason="in the snow",
        by=keeper,
    )
    address = f"/climate/verdicts/{word.pk}/take-back/"
    assert as_keeper.get(address).status_code == 405
    as_keeper.post(address)
    assert readings(sensor).quality.tolist()[:2] == [0, 0]
    page = words(as_keeper.get(f"/climate/{sensor.pk}/"))
    assert "taken back by Hana Marendal, today 12:00" in page


# Who may


def test_only_a_keeper_says_it_and_a_helper_reads_it(
    as_helper, as_client, keeper, sensor
):
    check = check_in_ice(sensor=sensor, shown=[0.3] * 10, at=MIDNIGHT, by=keeper)
    word = give_verdict(
        sensor=sensor,
        start_at=MIDNIGHT,
        end_at=MIDNIGHT + HOUR,
        counts=False,
        reason="in the snow",
        by=keeper,
    )
    pages = {
        f"/climate/{sensor.pk}/ice/": ten(save="yes"),
        f"/climate/{sensor.pk}/verdict/": span(save="yes"),
        f"/climate/checks/{check.pk}/take-back/": {"reason": "no"},
        f"/climate/verdicts/{word.pk}/take-back/": {},
    }
    for address, sent in pages.items():
        for person in (as_helper, as_client):
            assert person.post(address, sent).status_code == 404
    assert SensorCheck.objects.filter(withdrawn_at=None).count() == 1
    assert Verdict.objects.filter(withdrawn_at=None).count() == 1
    page = as_helper.get(f"/climate/{sensor.pk}/")
    assert "in the snow" in words(page)
    assert "/verdict/" not in page.content.decode()
    assert "/ice/" not in page.content.decode()


def test_the_sensors_page_takes_as_many_statements_for_many_words(
    as_keeper, keeper, sensor, django_assert_max_num_queries
):
    def look():
        with django_assert_max_num_queries(40) as asked:
            as_keeper.get(f"/climate/{sensor.pk}/")
        return len(asked)

    def say(n):
        start = MIDNIGHT + n * timedelta(minutes=30)
        give_verdict(
            sensor=sensor,
            start_at=start,
            end_at=start + HOUR,
            counts=False,
            reason="in the snow",
            by=keeper,
        )
        at = MIDNIGHT - n * HOUR
        check_in_ice(sensor=sensor, shown=[0.3] * 10, at=at, by=keeper)

    say(0)
    few = look()
    for n in (2, 8, 10):
        say(n)
    assert look() == few


def test_what_is_odd_is_told_and_counts_all_the_same(as_helper, sensor):
    later = make.sensor(frame=sensor.frame, microclimate=sensor.microclimate)
    make.hours(later, NOON - 60 * HOUR, [2.0] * 20)
    make.hours(later, NOON - 20 * HOUR, [2.0] * 20)
    page = words(as_helper.get(f"/climate/{later.pk}/"))
    assert "Sat 19:00 to Sun 16:00: No reading for 21.0 h" in page
    assert "Every reading of these days counts." in page


def test_a_span_is_told_by_the_frames_own_clock(as_keeper, keeper):
    frame = make.frame(time_zone="America/New_York")
    far = make.sensor(frame=frame)
    make.hours(far, MIDNIGHT, [1.0, 85.0, 2.0, 3.0])
    page = as_keeper.get(f"/climate/{far.pk}/")
    (line,) = page.context["words"].spans
    assert "start_at=2025-01-19T20%3A00%3A00" in line.counts_query
    address = f"/climate/{far.pk}/verdict/?{line.counts_query}"
    assert "1 of 1 reading in 1 clock hour would count" in words(as_keeper.get(address))


def test_all_that_is_said_of_readings_is_in_the_readers_degrees(
    as_keeper, keeper, sensor
):
    """In the list, on the chart, in doubts; with a true minus."""
    later = NOON - 3 * HOUR
    make.store(
        sensor, [int(later.timestamp()) + 600 * n for n in range(3)], [0, 4000, 0]
    )
    text = words(as_keeper.get(f"/climate/{sensor.pk}/"))
    assert text.count("outside −60 to 70 °C") == 3
    assert "One reading lies 4.0 K above" in text
    keeper.units = "f"
    keeper.save(update_fields=["units"])
    text = words(as_keeper.get(f"/climate/{sensor.pk}/"))
    assert text.count("outside −76 to 158 °F") == 3
    assert "One reading lies 7.2 °F above" in text
    asked = {"sensors": sensor.pk, "width": 600}
    asked |= {"start": int(MIDNIGHT.timestamp()), "end": int(NOON.timestamp())}
    told = as_keeper.get("/climate/chart.json", asked).json()
    assert any("−76 to 158\u00a0°F" in one["words"] for one in told["asides"])
    assert not any("°C" in words for words in told["notes"])


# The clocks of Oslo were put back on 27 October 2024 at 01:00 UTC.
BACK = datetime(2024, 10, 27, tzinfo=UTC)


@pytest.fixture
def oslo(db):
    frame = make.frame(name="North Frame", time_zone="Europe/Oslo")
    sensor = make.sensor(frame=frame)
    # 02:00 for the first time, 02:00 for the second.
    make.hours(sensor, BACK, [85.0, 85.0, 2.0])
    return sensor


def test_a_span_in_the_hour_that_came_twice_is_let_count_by_its_link(as_keeper, oslo):
    make.store(oslo, [int(BACK.timestamp()) + 1800], [3000])
    page = as_keeper.get(
        f"/climate/{oslo.pk}/",
        {"range": "own", "since": "2024-10-27", "until": "2024-10-27"},
    )
    (line,) = page.context["words"].spans
    address = f"/climate/{oslo.pk}/verdict/"
    page = as_keeper.get(f"{address}?{line.counts_query}")
    assert "2 of 3 readings in 2 clock hours would count again." in words(page)
    form = page.context["form"]
    # What the page shows is what is sent on.
    shown = page.content.decode()
    sent = {name: form[name].value() for name in ("start_at", "end_at", "counts")}
    assert f'value="{sent["start_at"]}"' in shown
    as_keeper.post(address, {**sent, "reason": "a heater", "save": "yes"})
    verdict = Verdict.objects.get()
    assert (verdict.start_at, verdict.end_at) == (BACK, BACK + HOUR + A_MINUTE)


def test_an_hour_that_came_twice_is_asked_for_with_its_offset(as_keeper, oslo):
    address = f"/climate/{oslo.pk}/verdict/"
    asked = span(start_at="2024-10-27T02:30", end_at="2024-10-27T04:00", look="yes")
    page = as_keeper.post(address, asked)
    assert (
        "The clocks showed 02:30 twice that day. Write which: 2024-10-27T02:30+02:00 "
        "for the first time, 2024-10-27T02:30+01:00 for the second."
    ) in words(page)
    # A field of the browser's own takes no offset.
    assert '<input type="text" name="start_at"' in page.content.decode()
    assert '<input type="datetime-local" name="end_at"' in page.content.decode()
    page = as_keeper.post(address, {**asked, "start_at": "2024-10-27T02:30+01:00"})
    assert "1 of 1 reading in 1 clock hour would no longer count" in words(page)


def test_an_hour_that_the_clocks_left_out_is_said_to_be_left_out(as_keeper, oslo):
    asked = span(start_at="2024-03-31T02:30", end_at="2024-03-31T04:00", look="yes")
    page = words(as_keeper.post(f"/climate/{oslo.pk}/verdict/", asked))
    assert "The clocks went forward over 02:30 that day: no clock showed it." in page
