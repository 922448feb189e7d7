"""People who are signed in, and a data folder of the test's own."""

from datetime import date

import pytest
from django.test import Client as Browser

from tests import make
from wintering.trees.models import Evidence


@pytest.fixture(autouse=True)
def _private_files(settings, tmp_path):
    settings.MEDIA_ROOT = tmp_path / "files"


def signed_in(person) -> Browser:
    browser = Browser()
    browser.force_login(person)
    return browser


@pytest.fixture
def keeper(db):
    return make.keeper(username="hana", first_name="Hana", last_name="Marendal")


@pytest.fixture
def long_frame(db):
    return make.frame(name="Long Frame", slug="long-frame")


@pytest.fixture
def owner(db):
    """A client who can sign in."""
    return make.client(
        name="Noa Sandoral", mark="NS", user=make.user("client", username="noa")
    )


@pytest.fixture
def as_keeper(keeper) -> Browser:
    return signed_in(keeper)


@pytest.fixture
def as_helper(db) -> Browser:
    return signed_in(make.helper(username="emil", first_name="Emil"))


@pytest.fixture
def as_client(owner) -> Browser:
    return signed_in(owner.user)


@pytest.fixture
def as_stranger(db) -> Browser:
    """Somebody who owns no tree here but can sign in."""
    return signed_in(make.user("client", username="karin"))


@pytest.fixture
def maple(db):
    taxon = make.taxon(
        "Acer palmatum", common_names="Japanese maple", original_script="イロハモミジ"
    )
    make.fact(
        "zone_limit_temp",
        "-23.3",
        taxon=taxon,
        low=-23.3,
        high=-23.3,
        unit="°C",
        kind=Evidence.COMPUTED,
        source="lower edge of zone 6",
    )
    make.fact("root_class", "RB", taxon=taxon, source="a club's list of roots")
    make.fact("dormancy_class", "needs cold dormancy", taxon=taxon)
    return taxon


@pytest.fixture
def spruce(db):
    taxon = make.taxon("Picea glauca")
    make.fact("root_class", "RA", taxon=taxon)
    return taxon


@pytest.fixture
def collection(owner, maple, spruce):
    """An own spruce on a bench, a client's maple on it too, another's nowhere."""
    bench = make.bench(name="N1", columns=3, rows=1)
    own = make.tree(taxon=spruce, root_work_on=date(2021, 4, 1))
    noas = make.tree(
        taxon=maple,
        owner=owner,
        cultivar="Kiyohime",
        original_script="清姫",
        root_work_on=date(2022, 4, 1),
    )
    other = make.client(name="Karin Tovasel", mark="KT")
    karins = make.tree(taxon=make.taxon("Ulmus minor"), owner=other)
    places = list(bench.modules.all())
    make.placement(tree=own, modules=places[:1])
    make.placement(tree=noas, modules=places[1:2], reason="Room above for a maple.")
    return [own, noas, karins]
