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


@pytest.mark.parametrize(
    ("field", "most", "sentence"),
    [
        ("width_cm", 200, "A pot is at most 200 cm wide here: check the figure."),
        ("depth_cm", 200, "A pot is at most 200 cm deep here: check the figure."),
        ("height_cm", 100, "A pot is at most 100 cm high here: check the figure."),
    ],
)
def test_a_pot_of_an_impossible_size_is_refused_beside_its_field(
    as_keeper, maple, field, most, sentence
):
    refused = typed(**{f"pot-{field}": f"{most}.5"})
    page = as_keeper.post("/trees/new/", refused)
    assert page.context["pot"].errors == {field: [sentence]}
    assert not Pot.objects.exists()
    kept = typed(**{f"pot-{field}": f"{most}"})
    assert as_keeper.post("/trees/new/", kept).status_code == 302
    assert getattr(Pot.objects.get(), field) == most


@pytest.mark.parametrize("height", ["0", "-8"])
def test_a_pot_without_height_is_refused(as_keeper, maple, height):
    page = as_keeper.post("/trees/new/", typed(**{"pot-height_cm": height}))
    assert page.context["pot"].errors == {
        "height_cm": ["A pot's height is above 0 cm. Empty: don't know."]
    }


def test_the_same_sizes_are_refused_at_check_in(as_keeper):
    page = as_keeper.post("/stays/check-in/", typed(**{"pot-width_cm": "340"}))
    assert "A pot is at most 200 cm wide here" in page.content.decode()
