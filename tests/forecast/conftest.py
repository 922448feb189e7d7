"""A bench with a root probe and an air sensor, and the trees that stand on it."""

from datetime import UTC, date, datetime
from types import SimpleNamespace

import numpy as np
import pytest

from tests import make
from wintering.climate.models import Sensor

START = datetime(2024, 10, 1, tzinfo=UTC)
AT = datetime(2025, 1, 20, 12, tzinfo=UTC)
HOURS = int((AT - START).total_seconds() // 3600)


@pytest.fixture
def long_bench(db):
    """Logged hourly from 1 October to noon of 20 January, in UTC."""
    bench = make.bench()
    part = bench.modules.first().microclimate
    return SimpleNamespace(
        bench=bench,
        frame=bench.frame,
        root=make.sensor(name="R1", microclimate=part),
        air=make.sensor(name="A1", microclimate=part, place=Sensor.Place.AIR),
    )


@pytest.fixture
def logged(long_bench):
    def log(*, root=2.0, air=3.0, hours=HOURS):
        for sensor, c in ((long_bench.root, root), (long_bench.air, air)):
            make.hours(sensor, START, np.broadcast_to(c, (hours,)))
        return long_bench

    return log


@pytest.fixture
def stood(long_bench):
    """Stand a tree on a free module from 1 October on."""

    def stand(**fields):
        since = fields.pop("since", date(2024, 10, 1))
        fields.setdefault("root_work_on", date(2022, 4, 1))
        taxon = fields.pop("taxon", None) or cold_taxon()
        tree = make.tree(taxon=taxon, **fields)
        free = long_bench.bench.modules.filter(held=None).first()
        make.placement(tree=tree, modules=[free], since=since)
        return tree

    return stand


def cold_taxon(root_class="RB", **facts):
    taxon = make.taxon()
    make.fact("dormancy_class", "needs cold dormancy", taxon=taxon)
    if root_class:
        make.fact("root_class", root_class, taxon=taxon)
    return taxon
