"""Loggers that send: who sees them, who sets them up, and the token shown once."""

import re
from datetime import timedelta

import pytest

from tests import make
from tests.make import NOON
from tests.web.test_stays import words
from wintering.climate.models import Logger
from wintering.climate.queries.loggers import logger_of_token

LIST, ADD = "/climate/loggers/", "/climate/loggers/add/"


@pytest.fixture(autouse=True)
def _noon(time_machine):
    time_machine.move_to(NOON, tick=False)


@pytest.fixture
def logger(long_frame):
    made = make.logger(name="west", frame=long_frame, heard_at=NOON)
    made.channels.create(name="ch1", sensor=make.sensor(name="R1", frame=long_frame))
    return made


def token_in(answer):
    return re.search(r"Bearer ([\w-]{43,})", answer.content.decode())[1]


def test_the_list_names_frame_sensors_and_when_each_was_heard(as_helper, logger):
    channel = logger.channels.get()
    logger.arrivals.create(at=NOON - timedelta(minutes=2), readings=[[channel.pk, 0]])
    page = words(as_helper.get(LIST))
    assert "west" in page
    assert "Long Frame" in page
    assert "R1" in page
    assert "2 min ago" in page, "what waits to be folded was heard too"
    assert "Add logger" not in page


def test_the_list_asks_the_same_for_many(
    as_keeper, logger, long_frame, django_assert_max_num_queries
):
    for _ in range(10):
        more = make.logger(frame=long_frame)
        more.channels.create(name="ch1", sensor=make.sensor(frame=long_frame))
    with django_assert_max_num_queries(8):
        as_keeper.get(LIST)


def test_nobody_but_those_who_work_here_sees_them(as_client, logger):
    for address in (LIST, ADD, f"{LIST}{logger.pk}/"):
        assert as_client.get(address).status_code == 404


def test_a_helper_changes_nothing(as_helper, logger):
    channel = logger.channels.get()
    for part in ("token", "end", "channels", f"channels/{channel.pk}"):
        assert as_helper.post(f"{LIST}{logger.pk}/{part}/").status_code == 404
    assert as_helper.post(ADD).status_code == 404
    page = words(as_helper.get(f"{LIST}{logger.pk}/"))
    assert "Make a new token" not in page
    assert "Choose another sensor" not in page


def test_a_new_logger_is_answered_with_its_token_this_once(as_keeper, long_frame):
    answer = as_keeper.post(ADD, {"frame": long_frame.pk, "name": "west"})
    logger = Logger.objects.get()
    assert logger_of_token(token_in(answer)) == logger
    assert "http://testserver/api/readings" in words(answer)
    assert answer["Cache-Control"] == "no-store"
    again = as_keeper.get(f"{LIST}{logger.pk}/").content.decode()
    assert token_in(answer) not in again


def test_the_example_that_is_shown_can_be_sent_as_it_stands(
    as_keeper, long_frame, client
):
    answer = as_keeper.post(ADD, {"frame": long_frame.pk, "name": "west"})
    shown = answer.content.decode().replace("&#x27;", "'").replace("&quot;", '"')
    body = re.search(r"-d '(.+)'", shown)[1]
    token = {"authorization": f"Bearer {token_in(answer)}"}
    sent = client.post(
        "/api/readings", body, content_type="application/json", headers=token
    )
    assert sent.json()["added"] == 1


def test_a_name_that_is_taken_is_refused_beside_the_form(as_keeper, logger):
    answer = as_keeper.post(ADD, {"frame": logger.frame.pk, "name": "west"})
    assert "already has a logger of that name" in words(answer)


def test_a_new_token_stops_the_old(as_keeper, long_frame):
    first = as_keeper.post(ADD, {"frame": long_frame.pk, "name": "west"})
    logger = Logger.objects.get()
    second = as_keeper.post(f"{LIST}{logger.pk}/token/")
    assert logger_of_token(token_in(first)) is None
    assert logger_of_token(token_in(second)) == logger


def test_ending_is_asked_about_and_then_listed_apart(as_keeper, logger):
    assert "cannot be taken back" in words(as_keeper.get(f"{LIST}{logger.pk}/end/"))
    logger.refresh_from_db()
    assert logger.ended_at is None, "looking changes nothing"
    as_keeper.post(f"{LIST}{logger.pk}/end/")
    assert "Out of use" in words(as_keeper.get(LIST))
    told = as_keeper.post(f"{LIST}{logger.pk}/token/", follow=True)
    assert "taken out of use" in words(told)


def test_a_channel_is_given_another_sensor(as_keeper, logger):
    other = make.sensor(name="R2", frame=logger.frame)
    channel = logger.channels.get()
    address = f"{LIST}{logger.pk}/channels/{channel.pk}/"
    assert "stays with R1" in words(as_keeper.get(address))
    as_keeper.post(address, {"sensor": other.pk})
    channel.refresh_from_db()
    assert channel.sensor == other


def test_only_sensors_that_measure_the_same_are_offered(as_keeper, logger):
    make.sensor(name="H1", frame=logger.frame, quantity="humidity", unit="pct")
    make.sensor(name="M1", frame=logger.frame, is_min_max=True)
    make.sensor(name="elsewhere")
    channel = logger.channels.get()
    page = words(as_keeper.get(f"{LIST}{logger.pk}/channels/{channel.pk}/"))
    assert "R1" in page
    assert not {"H1", "M1", "elsewhere"} & set(re.findall(r"\w+", page))


def test_a_sensor_is_chosen_before_anything_came(as_keeper, logger):
    sensor = make.sensor(name="R3", frame=logger.frame)
    address = f"{LIST}{logger.pk}/channels/"
    as_keeper.post(address, {"name": "ch9", "sensor": sensor.pk})
    assert logger.channels.get(name="ch9").sensor == sensor


def test_without_a_frame_the_page_says_what_comes_first(as_keeper):
    assert "describe one first" in words(as_keeper.get(LIST))


def test_climate_leads_to_the_loggers(as_helper, long_frame):
    assert LIST in words(as_helper.get("/climate/"))
