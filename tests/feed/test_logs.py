"""No log says a secret."""

import logging

import pytest

from wintering.feed.logs import HideCalendarTokens

SECRET = "Zx9-marked_secret-" + "q" * 25


def logged(message, *args):
    record = logging.LogRecord("any", logging.INFO, "", 0, message, args, None)
    record.request = object()
    assert HideCalendarTokens().filter(record)
    return record


@pytest.mark.parametrize(
    ("message", "args", "expected"),
    [
        ("Not Found: %s", (f"/calendar/{SECRET}.ics",), "Not Found: /calendar/…"),
        (
            '"%s" %s %s',
            (f"GET /calendar/{SECRET}.ics HTTP/1.1", "200", "812"),
            '"GET /calendar/… HTTP/1.1" 200 812',
        ),
        (
            f"Exception while serving /of/{SECRET}/",
            (),
            "Exception while serving /of/…/",
        ),
        (f"see '/calendar/{SECRET}.ics'", (), "see '/calendar/…'"),
    ],
)
def test_the_secret_is_cut_out_of_any_path(message, args, expected):
    record = logged(message, *args)
    assert record.getMessage() == expected
    assert not hasattr(record, "request")


def test_other_messages_stay_as_they_are():
    record = logged("Not Found: %s", "/trees/T-001/")
    assert record.getMessage() == "Not Found: /trees/T-001/"
    assert record.args == ("/trees/T-001/",)
    assert hasattr(record, "request")


@pytest.mark.parametrize("name", ["django.request", "django.server"])
def test_paths_are_hidden_where_they_are_logged(name):
    filters = logging.getLogger(name).filters
    assert any(isinstance(one, HideCalendarTokens) for one in filters)
