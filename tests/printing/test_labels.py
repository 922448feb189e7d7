"""A tree's two tags, read back from the finished file."""

import pytest
import zxingcpp

from tests import make
from tests.printing.conftest import AT
from tests.printing.reading import drawn, pictures, sizes_mm, text_of
from wintering.printing.labels import tree_label
from wintering.printing.papers import Paper

ADDRESS = "https://wintering.example.org/trees/T-017/"

pytestmark = pytest.mark.django_db


@pytest.fixture
def tree():
    return make.tree(
        serial=17,
        number="T-017",
        taxon=make.taxon("Pinus parviflora"),
        original_script="五葉松",
        owner=make.client(name="Noa Sandoral", mark="CA"),
    )


def label(tree, **choices):
    choices = {"address": ADDRESS, "made_at": AT, "time_zone": "UTC", **choices}
    return tree_label(tree, **choices).content


def test_both_tags_carry_the_address_of_the_trees_page(tree):
    [page] = pictures(label(tree))
    codes = zxingcpp.read_barcodes(page)
    assert [code.text for code in codes] == [ADDRESS, ADDRESS]


def test_the_code_is_read_from_a_poor_print(tree):
    [page] = pictures(label(tree), dots_per_mm=4)
    assert {code.text for code in zxingcpp.read_barcodes(page)} == {ADDRESS}


def test_the_number_is_at_least_8_mm_high(tree):
    content = label(tree)
    [page] = pictures(content)
    [stake] = drawn(content, width=120, height=30)
    left, top = round(stake[0] * 10), round(stake[1] * 10)
    # The first letter of the number: the only ink in the tag's first 9 mm.
    first = page.convert("L").crop((left + 10, top + 10, left + 90, top + 200))
    ink = first.point(lambda grey: 255 if grey < 128 else 0).getbbox()
    assert ink[3] - ink[1] >= 80


def test_each_tag_names_the_tree_and_only_marks_its_owner(tree):
    tree.stays.create(
        client=tree.owner, winter=2024, since=make.AUTUMN, declared_tree_value=1150
    )
    text = text_of(label(tree))
    assert text.count("Pinus parviflora 五葉松") == 2
    assert text.count("CA") == 2
    assert "Sandoral" not in text
    assert "1150" not in text


def test_the_control_line_is_50_mm_long(tree):
    assert drawn(label(tree), width=50, height=0)


def test_a_long_name_stays_inside_its_tag(tree):
    tree.cultivar = "of a length that nobody has ever written on a tag " * 2
    content = label(tree)
    [page] = pictures(content)
    for width in (120, 105):
        [tag] = drawn(content, width=width, height=30)
        below = round((tag[1] + tag[3]) * 10) + 4
        strip = page.convert("L").crop((160, below, 1200, below + 20))
        assert strip.getextrema()[0] > 200


def test_labels_are_printed_upright_on_either_paper(tree):
    assert sizes_mm(label(tree, paper=Paper.A4)) == {(210.0, 297.0)}
    assert sizes_mm(label(tree, paper=Paper.LETTER)) == {(215.9, 279.4)}


def test_the_same_tree_and_instant_give_the_same_bytes(tree):
    assert label(tree) == label(tree)
