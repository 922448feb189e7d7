"""Why a keeper states a value is for those who work here: it may name other trees."""

import re

import pytest

from tests import make
from tests.web.test_stays import CHECK_IN, typed
from wintering.stays.models import Stay
from wintering.trees.services import state_fact, withdraw_fact

pytestmark = pytest.mark.django_db

REASON = "Seen on Karin's tree T-099."


@pytest.fixture(autouse=True)
def _january(time_machine):
    time_machine.move_to(make.NOON)


@pytest.fixture
def stated(keeper, maple):
    """Own values of the maple, of every kind that something is reckoned from."""
    low_high = {
        "root_kill_temp": (-8.0, -8.0, "°C"),
        "chilling_requirement": (40.0, 60.0, "portions"),
        "zone_limit_temp": (-20.0, -20.0, "°C"),
    }
    words = {"dormancy_class": "needs cold dormancy", "caution": "Its sap stings."}
    said = {"taxon": maple, "reason": REASON, "on": make.DAY, "by": keeper}
    for name, (low, high, unit) in low_high.items():
        figure = {"value": f"{low:g}", "low": low, "high": high, "unit": unit}
        state_fact(attribute=name, **figure, **said)
    for name, value in words.items():
        state_fact(attribute=name, value=value, **said)
    old = state_fact(attribute="root_class", value="RA", **said)
    withdraw_fact(fact=old, reason="It froze.", on=make.DAY, by=keeper)
    return maple


def pages(tree):
    return (
        f"/trees/{tree.number}/",
        f"/trees/{tree.number}/facts/",
        tree.taxon.get_absolute_url(),
        "/trees/",
        "/trees/?export=csv",
        "/taxa/",
    )


def text(answer) -> str:
    content = b"".join(answer.streaming_content) if answer.streaming else answer.content
    return " ".join(content.decode("utf-8-sig").split()).replace("&#x27;", "'")


def test_a_client_reads_a_keepers_values_without_their_reasons(
    as_client, owner, stated, collection
):
    tree = collection[1]
    for address in pages(tree):
        answer = as_client.get(address)
        assert answer.status_code == 200, address
        assert "T-099" not in text(answer), address
    facts = text(as_client.get(f"/trees/{tree.number}/facts/"))
    assert "Its sap stings." in facts
    assert len(re.findall("the keeper's own", facts)) >= 4


def test_those_who_work_here_read_them(as_keeper, as_helper, owner, stated, collection):
    tree = collection[1]
    for browser in (as_keeper, as_helper):
        for address in pages(tree)[1:3]:
            assert text(browser.get(address)).count(REASON) >= 5, address
        assert REASON in text(browser.get(f"/trees/{tree.number}/"))


def test_what_was_agreed_at_check_in_gives_no_reason_either(
    as_keeper, owner, keeper, maple
):
    said = {"taxon": maple, "reason": REASON, "on": make.DAY, "by": keeper}
    state_fact(attribute="dormancy_class", value="no dormancy", **said)
    as_keeper.post(
        CHECK_IN,
        typed(to_heated_place="on", **{"stay-since": "2025-01-20"}),
    )
    agreed = Stay.objects.get().agreed
    assert "no dormancy" in agreed
    assert "the keeper's own" in agreed
    assert "T-099" not in agreed
