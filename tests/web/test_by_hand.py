"""Reading a min/max thermometer: one tap away, kept once, asked about, taken back."""

import re
from datetime import UTC, datetime, timedelta
from uuid import uuid4

import pytest

from tests import make
from tests.web.test_stays import words as markup
from wintering.climate.models import MinMaxEntry, Sensor

NOON = datetime(2025, 1, 20, 12, tzinfo=UTC)
READ = "/thermometers/read/"
FORM = "5b0b54b4-8a2c-4b3b-9b5e-0f8f0e6f9a11"


@pytest.fixture(autouse=True)
def _january(time_machine):
    time_machine.move_to(NOON)


@pytest.fixture
def part(long_frame):
    return make.microclimate(frame=long_frame, name="rear bench")


@pytest.fixture
def door(part):
    return make.sensor(
        name="Door", place="air", microclimate=part, unit="f", is_min_max=True
    )


def words(answer):
    """What a person reads of a page."""
    return " ".join(re.sub(r"<[^>]+>", "", markup(answer)).split())


def written(**answers):
    told = {"low": "30.2", "high": "44.6", "now": "33,8", "was_reset": "yes"}
    return {**told, "when": "now", "entry_id": FORM, **answers}


@pytest.mark.parametrize("page", ["/", "/rounds/", "/frames/long-frame/"])
def test_the_way_to_it_is_one_tap(as_helper, door, page):
    assert READ in as_helper.get(page).content.decode()


def test_a_helper_reads_it_and_today_tells_it(as_helper, door):
    answer = as_helper.post(READ, written(), follow=True)
    entry = MinMaxEntry.objects.get()
    assert (entry.low, entry.high, entry.now, entry.unit) == (30200, 44600, 33800, "f")
    assert (entry.was_reset, entry.by.username) == (True, "emil")
    assert abs(entry.read_at - NOON) < timedelta(minutes=1)
    page = words(answer)
    assert "Recorded. Door: lowest 30.2 °F, highest 44.6 °F, now 33.8 °F." in page
    assert (
        "Door, rear bench: lowest −1.0 °C since its last reset, not known when, 1.0 °C "
        "when read today 12:00." in page
    )


def test_the_next_reading_starts_from_the_last_and_tells_since_when(as_keeper, door):
    as_keeper.post(READ, written(when="earlier", at="2025-01-20T07:40"))
    page = as_keeper.get(READ)
    values = [field.value() for field in page.context["form"].numbers]
    assert values == ["30.2", "44.6", "33.8"]
    as_keeper.post(READ, written(low="28.4", entry_id=str(uuid4()), was_reset="no"))
    assert "lowest −2.0 °C since today 07:40, 1.0 °C when read" in words(
        as_keeper.get("/")
    )


def test_without_a_reset_the_lowest_is_told_to_be_older(as_keeper, door):
    first = written(when="earlier", at="2025-01-19T18:00", was_reset="no")
    as_keeper.post(READ, first)
    as_keeper.post(READ, written(entry_id=str(uuid4())))
    told = words(as_keeper.get(f"/climate/{door.pk}/"))
    assert "not known when" in told


@pytest.mark.parametrize(
    ("when", "at", "read_at"),
    [
        ("morning", "", datetime(2025, 1, 20, 8, tzinfo=UTC)),
        ("earlier", "2025-01-19T18:00", datetime(2025, 1, 19, 18, tzinfo=UTC)),
        # A time that is typed says by itself that it was earlier.
        ("now", "2025-01-19T18:00", datetime(2025, 1, 19, 18, tzinfo=UTC)),
    ],
)
def test_it_may_be_written_down_later(as_keeper, door, when, at, read_at):
    as_keeper.post(READ, written(when=when, at=at))
    assert MinMaxEntry.objects.get().read_at == read_at


def test_this_morning_is_offered_once_it_has_been(as_keeper, door, time_machine):
    assert "today, 08:00" in words(as_keeper.get(READ))
    time_machine.move_to("2025-01-20 07:00:00+00:00")
    assert "today, 08:00" not in words(as_keeper.get(READ))


@pytest.mark.parametrize(
    ("wrong", "told"),
    [
        ({"low": "45"}, "The lowest must not lie above the highest."),
        ({"now": "20"}, "must lie between its lowest and its highest"),
        ({"low": ""}, "Read it off, or press plus or minus."),
        ({"low": "cold"}, "Write a number"),
        ({"when": "earlier"}, "Say when it was read."),
        ({"when": "morning", "at": "2025-01-19T18:00"}, "Two times are given"),
        ({"at": "2025-01-21T18:00"}, "That lies ahead"),
    ],
)
def test_what_does_not_hang_together_is_told_beside_what_was_written(
    as_keeper, door, wrong, told
):
    answer = as_keeper.post(READ, written(**wrong))
    assert answer.status_code == 200
    assert told in words(answer)
    assert 'value="44.6"' in answer.content.decode()
    assert not MinMaxEntry.objects.exists()


def test_sending_twice_keeps_one(as_keeper, door):
    for _ in "12":
        answer = as_keeper.post(READ, written())
        assert answer.status_code == 302
    assert MinMaxEntry.objects.count() == 1


def test_a_form_sent_before_with_other_values_is_kept_on_the_second_try(
    as_keeper, door
):
    as_keeper.post(READ, written(when="morning"))
    answer = as_keeper.post(READ, written(low="28.4"))
    assert "that reading stands. Save again" in words(answer)
    fresh = answer.context["form"]["entry_id"].value()
    assert fresh != FORM
    as_keeper.post(READ, written(low="28.4", entry_id=fresh))
    lows = set(MinMaxEntry.objects.values_list("low", flat=True))
    assert lows == {30200, 28400}


@pytest.fixture
def celsius(part):
    thermometer = make.sensor(
        name="Shelf", place="air", microclimate=part, is_min_max=True
    )
    logger = make.sensor(name="A1", place="air", microclimate=part)
    make.hours(logger, NOON - timedelta(hours=1), [1.0])
    return thermometer


AMBIGUOUS = {"low": "30", "high": "44", "now": "34"}


def test_a_number_of_both_units_is_asked_about(as_keeper, celsius):
    page = words(as_keeper.post(READ, written(**AMBIGUOUS)))
    assert "Is that 34 °C, or 34 °F? A1 beside it read 1.0 °C at 11:00." in page
    assert not MinMaxEntry.objects.exists()


@pytest.mark.parametrize(("answer", "unit"), [("as-written", "c"), ("other", "f")])
def test_the_answer_says_in_which_unit_it_is_kept(as_keeper, celsius, answer, unit):
    asked = as_keeper.post(READ, written(**AMBIGUOUS)).context["form"].asked_of
    as_keeper.post(READ, written(**AMBIGUOUS, sure=f"{asked}|{answer}"))
    entry = MinMaxEntry.objects.get()
    assert (entry.now, entry.unit) == (34000, unit)


def test_an_answer_about_other_numbers_is_none(as_keeper, celsius):
    asked = as_keeper.post(READ, written(**AMBIGUOUS)).context["form"].asked_of
    changed = {**AMBIGUOUS, "now": "35"}
    page = words(as_keeper.post(READ, written(**changed, sure=f"{asked}|as-written")))
    assert "Is that 35 °C" in page
    assert not MinMaxEntry.objects.exists()


def test_one_far_from_the_logger_beside_it_is_to_be_looked_at(as_keeper, celsius):
    cold = {"low": "-8", "high": "3", "now": "-5"}
    page = words(as_keeper.post(READ, written(**cold)))
    assert "Look at it again: it shows −5.0 °C now. A1 beside it read 1.0 °C" in page


def test_several_thermometers_are_chosen_by_button(as_keeper, door, celsius):
    page = as_keeper.get(f"{READ}?thermometer={celsius.pk}")
    assert page.context["sensor"] == celsius
    assert f"?thermometer={door.pk}" in page.content.decode()
    assert as_keeper.get(f"{READ}?thermometer=999").status_code == 404


def test_without_one_a_keeper_enters_it_and_a_helper_is_told(
    as_keeper, as_helper, part
):
    assert "/frames/long-frame/thermometer/" in as_keeper.get(READ).content.decode()
    assert "A keeper enters it once" in words(as_helper.get(READ))
    told = {"name": "Door", "unit": "f", "place": "air", "microclimate": part.pk}
    answer = as_keeper.post("/frames/long-frame/thermometer/", told)
    made = Sensor.objects.get()
    assert (made.is_min_max, made.unit, made.microclimate) == (True, "f", part)
    assert answer.url == f"{READ}?thermometer={made.pk}"
    again = words(as_keeper.post("/frames/long-frame/thermometer/", told))
    assert "already has a sensor of that name" in again


def test_only_a_keeper_enters_a_thermometer(as_helper, part):
    address = "/frames/long-frame/thermometer/"
    assert as_helper.get(address).status_code == 404
    told = {"name": "Door", "unit": "f", "place": "air", "microclimate": part.pk}
    assert as_helper.post(address, told).status_code == 404
    assert not Sensor.objects.exists()


def test_a_reading_is_taken_back_by_who_read_it_or_a_keeper(
    as_keeper, as_helper, as_client, door
):
    as_keeper.post(READ, written())
    entry = MinMaxEntry.objects.get()
    address = f"/thermometers/readings/{entry.pk}/take-back/"
    assert as_client.post(address).status_code == 404
    assert as_helper.post(address).status_code == 404
    assert as_keeper.get(address).status_code == 405
    as_keeper.post(address)
    entry.refresh_from_db()
    assert entry.withdrawn_at


def test_a_stranger_sees_no_thermometer(client, as_client, door):
    assert as_client.get(READ).status_code == 404
    assert client.get(READ).status_code == 302
    assert "Door" not in words(as_client.get("/"))


def test_today_takes_as_many_statements_for_many_thermometers(
    as_keeper, door, part, django_assert_max_num_queries
):
    for n in range(5):
        made = make.sensor(
            name=f"T{n}", place="air", microclimate=part, unit="f", is_min_max=True
        )
        sent = written(entry_id=str(uuid4()))
        as_keeper.post(f"{READ}?thermometer={made.pk}", {**sent, "now": ""})
    with django_assert_max_num_queries(25):
        assert "T4, rear bench" in words(as_keeper.get("/"))


def test_what_was_not_reset_is_told_beside_its_lowest(as_keeper, door):
    days = ("2025-01-17T18:00", "2025-01-18T18:00", "2025-01-19T18:00")
    for at, was_reset in zip(days, ("yes", "no", ""), strict=True):
        sent = {"when": "earlier", "at": at, "was_reset": was_reset}
        as_keeper.post(READ, written(entry_id=str(uuid4()), **sent))
    assert "since Fri 18:00, not reset Sat 18:00" in words(as_keeper.get("/"))
    warmer = written(entry_id=str(uuid4()), low="31")
    as_keeper.post(READ, warmer)
    assert "since Sun 18:00 at the earliest" in words(as_keeper.get("/"))


def test_earlier_in_the_hour_that_came_twice_is_asked_for_with_its_offset(
    as_keeper, keeper, door
):
    keeper.time_zone = "Europe/Oslo"
    keeper.save(update_fields=["time_zone"])
    at = {"when": "earlier", "at": "2024-10-27T02:30"}
    page = as_keeper.post(READ, written(**at))
    assert "The clocks showed 02:30 twice that day." in words(page)
    assert '<input type="text" name="at"' in page.content.decode()
    as_keeper.post(READ, written(**at | {"at": "2024-10-27T02:30+01:00"}))
    assert MinMaxEntry.objects.get().read_at == datetime(
        2024, 10, 27, 1, 30, tzinfo=UTC
    )


def test_a_reading_of_more_than_a_year_back_is_asked_about(as_keeper, door):
    at = {"when": "earlier", "at": "2015-01-20T08:00"}
    page = words(as_keeper.post(READ, written(**at)))
    assert "Was it read in 2015?" in page
    assert not MinMaxEntry.objects.exists()
    sure = as_keeper.post(READ, written(**at)).context["form"].asked_of
    # An answer about another year is none.
    as_keeper.post(
        READ, written(sure=f"{sure}|as-written", when="earlier", at="2014-01-20T08:00")
    )
    assert not MinMaxEntry.objects.exists()
    as_keeper.post(READ, written(**at, sure=f"{sure}|as-written"))
    assert MinMaxEntry.objects.get().read_at.year == 2015


def test_a_reading_of_1900_is_refused(as_keeper, door):
    sent = written(when="earlier", at="1900-01-20T08:00")
    assert "before 1970" in words(as_keeper.post(READ, sent))
    assert not MinMaxEntry.objects.exists()
