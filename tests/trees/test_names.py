import pytest
from hypothesis import given
from hypothesis import strategies as st

from wintering.trees.names import plain


@pytest.mark.parametrize(
    ("typed", "same_as"),
    [
        ("deshōjō", "Deshojo"),
        ("DESHOJO", "deshojo"),
        ("Łukasz", "łukasz"),
        ("Ｔ-０１２", "T-012"),
        ("Prunus × yedoensis", "prunus  yedoensis"),
        ("'Itoigawa'", "itoigawa"),
        ("Buxus  microphylla", "buxus microphylla"),
    ],
)
def test_spellings_of_one_name_are_the_same(typed, same_as):
    assert plain(typed) == plain(same_as)


def test_a_voiced_kana_is_another_letter():
    assert plain("が") != plain("か")


def test_han_characters_stay():
    assert plain("五葉松") == "五葉松"


@given(st.text())
def test_making_plain_twice_changes_nothing(text):
    assert plain(plain(text)) == plain(text)
