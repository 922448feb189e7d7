"""What is asked of a pot wherever one is entered."""

import pytest

from tests.web.test_tree_forms import typed
from wintering.science.substrate import holding
from wintering.trees.models import Pot

pytestmark = pytest.mark.django_db


def test_what_a_pot_is_made_of_and_holds_is_kept(as_keeper, maple):
    told = {
        "pot-height_cm": "8",
        "pot-material": "unglazed stoneware",
        "pot-substrate": "akadama, pumice and lava 2:1:1",
    }
    assert as_keeper.post("/trees/new/", typed(**told)).status_code == 302
    pot = Pot.objects.get()
    assert (pot.height_cm, pot.material) == (8, "unglazed stoneware")
    assert pot.substrate == "akadama, pumice and lava 2:1:1"


@pytest.mark.parametrize("address", ["/trees/new/", "/stays/check-in/"])
def test_every_page_that_enters_a_pot_asks_for_its_substrate(as_keeper, address):
    text = as_keeper.get(address).content.decode()
    assert 'name="pot-substrate"' in text
    assert "Such as akadama, pumice and lava 2:1:1." in text


def test_the_example_beside_the_field_is_understood():
    assert holding("akadama, pumice and lava 2:1:1").because == (
        "Substrate: 50 % fired clay like akadama, 25 % pumice, 25 % lava."
    )
