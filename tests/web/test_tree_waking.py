"""What a tree's page says of waking: what was seen, then the index, never a guess."""

from datetime import UTC, date, datetime

import numpy as np
import pytest

from tests import make
from tests.forecast.conftest import cold_taxon
from tests.web.test_stays import words
from wintering.climate.models import Sensor
from wintering.trees.services import see_buds

START = datetime(2024, 10, 1, tzinfo=UTC)
NOW = datetime(2025, 3, 15, 12, tzinfo=UTC)
HOURS = int((NOW - START).total_seconds() // 3600)


@pytest.fixture(autouse=True)
def _march(time_machine):
    time_machine.move_to(NOW)


@pytest.fixture
def stand(db):
    def standing(taxon, *, air=3.0):
        bench = make.bench()
        part = bench.modules.first().microclimate
        sensor = make.sensor(microclimate=part, place=Sensor.Place.AIR)
        make.hours(sensor, START, np.broadcast_to(np.asarray(air, float), (HOURS,)))
        tree = make.tree(taxon=taxon)
        make.placement(tree=tree, modules=[bench.modules.first()], since=START.date())
        return tree

    return standing


def page_of(browser, tree):
    return words(browser.get(tree.get_absolute_url()))


def test_a_cold_winter_gives_no_reason_to_wake(as_keeper, stand):
    page = page_of(as_keeper, stand(cold_taxon()))
    assert "Below 0.25: nothing speaks for waking." in page


def test_a_warm_one_is_not_called_sleep_though_no_flag_stands(as_keeper, stand):
    warm = np.full(HOURS, 3.0)
    warm[-24 * 30 :] = 14.0
    page = page_of(as_keeper, stand(cold_taxon(), air=warm))
    assert "It may be awake already." in page
    assert "nothing speaks for waking" not in page


def test_buds_seen_moving_outweigh_a_low_index(as_keeper, stand):
    tree = stand(cold_taxon())
    see_buds(tree=tree, code=7, on=date(2025, 3, 14), by=make.keeper())
    page = page_of(as_keeper, tree)
    assert "Its buds were seen at BBCH 07 on 14 March 2025" in page


def test_a_tree_of_a_cool_rest_is_said_not_to_be_reckoned(as_keeper, stand):
    taxon = make.taxon()
    make.fact("dormancy_class", "needs cool rest", taxon=taxon)
    page = page_of(as_keeper, stand(taxon))
    assert "of this one is stated that it needs cool rest." in page
    assert "no air reading speaks" not in page


def test_of_a_taxon_without_a_stated_rest_that_is_said(as_keeper, stand):
    page = page_of(as_keeper, stand(make.taxon()))
    assert "nothing is stated of its winter rest" in page


def test_a_mild_spell_alone_is_named_as_the_reason_to_look(as_keeper, stand):
    taxon = cold_taxon()
    make.fact("wake_rank", "1", taxon=taxon, low=1, high=1)
    mild = np.full(HOURS, 2.0)
    mild[-24 * 8 : -24 * 4] = 8.5
    page = page_of(as_keeper, stand(taxon, air=mild))
    assert "It may soon stir. By" in page


def test_a_client_reads_no_orders_about_water(as_client, as_keeper, stand, owner):
    tree = stand(cold_taxon())
    assert "<h2>Water" in as_keeper.get(tree.get_absolute_url()).content.decode()
    tree.owner = owner
    tree.save()
    assert "<h2>Water" not in as_client.get(tree.get_absolute_url()).content.decode()


def test_a_mild_spell_that_lies_weeks_back_speaks_for_nothing(as_keeper, stand):
    taxon = cold_taxon()
    make.fact("wake_rank", "1", taxon=taxon, low=1, high=1)
    mild = np.full(HOURS, 2.0)
    mild[-24 * 30 : -24 * 26] = 8.5
    page = page_of(as_keeper, stand(taxon, air=mild))
    assert "It may soon stir." not in page
    assert "nothing speaks for waking" in page
