import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from wintering.ingest.dates import NO_DAY, days_of, settle_order
from wintering.ingest.refusals import LogQuestion, LogRefused
from wintering.ingest.stamps import NAIVE, UNREADABLE, read_stamps


def keys(*texts):
    stamps = read_stamps(texts)
    assert (stamps.date_key != UNREADABLE).all(), "every text is a date"
    return stamps.date_key


def settled(*texts, given=None, remembered=None):
    return settle_order(keys(*texts), name="log", given=given, remembered=remembered)


def test_a_year_first_leaves_nothing_to_settle():
    assert settled("2024-11-03", "20241104", "3 Nov 2024") is None


@pytest.mark.parametrize(
    ("texts", "order"),
    [
        (("03/11/2024", "13/11/2024"), "dmy"),
        (("11/03/2024", "11/13/2024"), "mdy"),
        (("03.11.24", "13.11.24"), "dmy"),
        (("11/03/24", "11/13/24"), "mdy"),
        (("24-11-03", "24-11-30"), "ymd"),
        (("07/07/2024",), "dmy"),  # the same day in either order
    ],
)
def test_a_day_above_twelve_settles_the_order(texts, order):
    assert settled(*texts) == order


@pytest.mark.parametrize(
    "texts", [("03/11/2024",), ("01/02/2024", "02/02/2024"), ("03/11/24",)]
)
def test_days_that_could_be_months_are_asked_about(texts):
    with pytest.raises(LogQuestion, match=r"day first or month first") as asked:
        settled(*texts)
    assert asked.value.about == "date_order"


def test_a_remembered_order_answers_the_question():
    assert settled("03/11/2024", remembered="mdy") == "mdy"


def test_a_remembered_order_that_leaps_from_month_to_month_is_not_trusted():
    days = ("09/11/2026", "10/11/2026", "11/11/2026")
    assert settled(*days, remembered="dmy") == "dmy"
    with pytest.raises(LogQuestion):
        settled(*days, remembered="mdy")


def test_the_file_itself_wins_over_a_remembered_order():
    assert settled("13/11/2024", remembered="mdy") == "dmy"


def test_a_given_order_answers_the_question():
    assert settled("03/11/2024", given="mdy") == "mdy"


@pytest.mark.parametrize("wrong", ["mdy", "ymd"])
def test_a_given_order_that_no_date_fits_is_refused(wrong):
    with pytest.raises(LogRefused, match="/11/2024, which cannot be read"):
        settled("03/11/2024", "25/11/2024", given=wrong)


def test_dates_that_contradict_each_other_are_asked_about():
    with pytest.raises(LogQuestion, match="not day first like others"):
        settled("25/11/2024", "26/11/2024", "11/27/2024")


def test_one_garbled_date_settles_nothing_and_stops_nothing():
    found = keys("25/11/2024", "99/99/2024")
    order = settle_order(found, name="log", given=None, remembered=None)
    assert order == "dmy"
    assert (days_of(found, order) == NO_DAY).tolist() == [False, True]


@given(
    st.dates(
        min_value=np.datetime64("1970-01-01").item(),
        max_value=np.datetime64("2199-12-31").item(),
    ),
    st.sampled_from(["%Y-%m-%d", "%d.%m.%Y", "%m/%d/%Y", "%d %b %Y", "%B %d, %Y"]),
)
def test_every_day_is_counted_as_the_calendar_does(day, form):
    order = {"%d.%m.%Y": "dmy", "%m/%d/%Y": "mdy"}.get(form)
    found = days_of(keys(day.strftime(form)), order)
    assert found[0] == np.datetime64(day).astype(int)


@pytest.mark.parametrize(
    ("text", "second"),
    [
        ("2024-11-03 00:00", 0),
        ("2024-11-03 23:59:59", 86_399),
        ("2024-11-03 24:00", 86_400),
        ("2024-11-03 12:30 AM", 1_800),
        ("2024-11-03 12:30 p.m.", 45_000),
        ("2024-11-03T07:05:09.4Z", 25_509),
        ("2024-11-03T07:05:09.600", 25_510),
        ("20241103 0705", 25_500),
    ],
)
def test_a_time_of_day_is_read(text, second):
    stamps = read_stamps([text])
    assert stamps.second.tolist() == [second]


@pytest.mark.parametrize(
    "text",
    [
        "2024-11-03 25:00",
        "2024-11-03 24:01",
        "2024-11-03 12:60",
        "2024-11-03 13:00 PM",
        "2024-11-03 12:5",
        "12:30",
        "2024-11",
        "-3.5",
        "",
        "2024-11-03 12:30 tomorrow",
        "x" * 100_000,
    ],
)
def test_what_is_no_time_is_not_read(text):
    assert not read_stamps([text]).readable.any()


@pytest.mark.parametrize(
    ("text", "minutes"),
    [
        ("2024-11-03 12:00", NAIVE),
        ("2024-11-03 12:00Z", 0),
        ("2024-11-03 12:00 UTC", 0),
        ("2024-11-03 12:00-05:00", -300),
        ("2024-11-03 12:00 GMT+0530", 330),
        ("2024-11-03T12:00:00\u221203", -180),
    ],
)
def test_an_offset_is_read(text, minutes):
    assert read_stamps([text]).offset_min.tolist() == [minutes]
