"""People who are signed in, and a data folder of the test's own."""

import pytest
from django.test import Client as Browser

from tests import make


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
