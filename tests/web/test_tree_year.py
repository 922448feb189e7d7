"""What a tree's page says before its winter begins and after it ends."""

from datetime import UTC, date, datetime

import numpy as np
import pytest

from tests import make
from tests.forecast.conftest import cold_taxon
from tests.web.test_stays import words
from wintering.climate.models import Sensor

SEPTEMBER = datetime(2024, 9, 10, tzinfo=UTC)


@pytest.fixture
def stand(db):
    """A tree in air of 3 °C, or of the hours that are given, up to an instant."""

    def standing(until, air=3.0, **fields):
        bench = make.bench()
        part = bench.modules.first().microclimate
        sensor = make.sensor(microclimate=part, place=Sensor.Place.AIR)
        hours = int((until - SEPTEMBER).total_seconds() // 3600)
        make.hours(sensor, SEPTEMBER, np.broadcast_to(air, (hours,)))
        tree = make.tree(taxon=cold_taxon(), **fields)
        since = SEPTEMBER.date()
        make.placement(tree=tree, modules=[bench.modules.first()], since=since)
        return tree

    return standing


@pytest.fixture
def page_at(as_keeper, time_machine):
    def page(tree, at, browser=as_keeper):
        time_machine.move_to(at)
        return words(browser.get(tree.get_absolute_url()))

    return page


def test_before_its_winter_it_is_said_from_when_it_is_reckoned(stand, page_at):
    now = datetime(2024, 9, 20, 12, tzinfo=UTC)
    page = page_at(stand(now), now)
    assert page.count("Its winter is reckoned from 1 October on.") == 3
    assert "no air reading speaks" not in page


def test_no_exit_that_nobody_planned_is_called_planned(stand, page_at):
    now = datetime(2025, 1, 20, 12, tzinfo=UTC)
    tree = stand(now)
    page = page_at(tree, now)
    assert "By 1 March 2025, as no exit is planned, at that pace" in page
    assert ": no exit planned" in page
    make.stay(tree=tree, client=make.client(), planned_until=date(2025, 2, 20))
    assert "By 20 February 2025, the planned exit, at that pace" in page_at(tree, now)


def test_after_the_exit_nothing_is_projected_onto_it(stand, page_at):
    now = datetime(2025, 4, 10, 12, tzinfo=UTC)
    page = page_at(stand(now, air=9.0), now)
    assert "1 March, by which it should be complete, has come" in page
    assert "at that pace" not in page
    assert "at risk by" not in page


def test_who_reads_of_a_part_without_a_sensor_is_told_what_is_theirs_to_do(
    stand, page_at, as_client, owner
):
    now = datetime(2025, 1, 20, 12, tzinfo=UTC)
    tree = stand(now, owner=owner)
    mend = "Give its part of the frame a sensor"
    assert mend in page_at(tree, now)
    seen = page_at(tree, now, as_client)
    assert "no root-zone sensor speaks for" in seen
    assert mend not in seen


def test_roots_that_bear_less_than_the_act_value_are_spoken_of(stand, page_at):
    now = datetime(2024, 10, 20, 12, tzinfo=UTC)
    told = "the roots may be harmed before a warning comes"
    hardening = stand(now, air=12.0, root_work_on=date(2020, 4, 1))
    make.fact("root_class", "RA", taxon=hardening.taxon)
    assert told in page_at(hardening, now)
    worked_on = stand(now, air=12.0, root_work_on=date(2024, 4, 1))
    assert told not in page_at(worked_on, now)
