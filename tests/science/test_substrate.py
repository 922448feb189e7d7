import pytest
from hypothesis import given
from hypothesis import strategies as st

from wintering.science.evidence import Evidence
from wintering.science.substrate import ANY, COMPONENTS, height_factor, holding


@pytest.mark.parametrize("text", [None, "", "  "])
def test_an_unknown_substrate_has_the_whole_range(text):
    found = holding(text)
    assert found.available == ANY
    assert found.because == "The substrate is not known, so the range of any is used."
    assert found.evidence is Evidence.OWN_CHOICE


def test_words_that_name_no_component_are_quoted():
    found = holding("secret mix no. 5")
    assert found.available == ANY
    assert "No component of “secret mix no. 5” is known" in found.because


@pytest.mark.parametrize(
    "text",
    [
        "akadama, pumice, lava 2:1:1",
        "2:1:1 Akadama/Pumice/Lava",
        "50 % akadama, 25 % pumice, 25% lava",
        "akadama 50 %, pumice 25 %, lava 25 %",
        "2 parts akadama, 1 part pumice and 1 part of lava",
        "50 % akadama 25 % pumice 25 % lava",
        "akadama 50, pumice 25, lava 25",
        "akadama (50), pumice (25), lava (25).",
        "akadama 0.5, pumice 0.25, lava 0.25",
        "akadama 50 %, 25 % pumice, lava 25 %",
        "akadama 2 parts, pumice 1 part, lava 1 part",
        "akadama 3-6 mm 50 %, pumice 5 mm 25 %, lava 25 %",
        "akadama/pumice/lava 50/25/25",
        "50-25-25 akadama, pumice, lava",
        "1/2 akadama, 1/4 pumice, 1/4 lava",
        "akadama, pumice, lava 2:1:1, no bark",
    ],
)
def test_parts_are_read_however_they_are_written(text):
    found = holding(text)
    assert found.available.likely == pytest.approx(0.5 * 0.20 + 0.5 * 0.10)
    assert found.available.low == pytest.approx(0.075)
    assert found.available.high == pytest.approx(0.5 * 0.28 + 0.25 * (0.18 + 0.15))
    assert (
        found.because
        == "Substrate: 50 % fired clay like akadama, 25 % pumice, 25 % lava."
    )


@pytest.mark.parametrize(
    "text",
    [
        "akadama and pumice",
        "akadama 3-6 mm, pumice 5 mm",
        "akadama 60 to 70, pumice 30",
        "akadama 3, pumice 5",
        "70 % akadama, pumice as well",
        "1/0 akadama, 1/2 pumice",
        "akadama, pumice 1.2.3",
        "akadama 70, pumice 30 mm",
        "akadama, pumice 1:1:2",
        "akadama, pumice 0:1",
    ],
)
def test_parts_that_cannot_be_told_are_equal_and_said(text):
    found = holding(text)
    assert found.available.likely == pytest.approx(0.15)
    assert "parts not given, taken as equal" in found.because


@pytest.mark.parametrize(
    "text",
    [
        "no bark, pumice only",
        "pumice without peat or bark",
        "Peat-free, pumice",
        "pumice, without any fine bark",
        "just pumice instead of akadama",
        "pumice, no fines",
        "pumice, not akadama nor lava",
    ],
)
def test_what_is_said_not_to_be_in_it_does_not_count(text):
    found = holding(text)
    assert found.because == "Substrate: 100 % pumice."
    assert found.available == holding("pumice").available


def test_only_words_against_components_leave_the_range_of_any():
    assert holding("no bark").available == ANY


def test_kanuma_is_known_by_name_and_its_range_is_own_choice():
    found, akadama, pumice = (holding(t) for t in ("kanuma", "akadama", "pumice"))
    assert found.because == "Substrate: 100 % kanuma."
    assert found.evidence is Evidence.OWN_CHOICE
    # nobody measured it: from the leanest pumice to the richest fired clay
    assert found.available.low == pumice.available.low
    assert found.available.high == akadama.available.high


def test_one_component_alone_is_from_memory():
    found = holding("Akadama, sifted")
    assert found.because == "Substrate: 100 % fired clay like akadama."
    assert found.evidence is Evidence.FROM_MEMORY


def test_a_strange_component_widens_the_range():
    found, known = holding("akadama, kelp"), holding("akadama")
    assert "“kelp” is not known here, so the range is wider" in found.because
    assert found.available.low < known.available.low
    assert found.available.high > known.available.high
    assert found.evidence is Evidence.OWN_CHOICE


def test_peat_and_bark_stay_wet_at_the_surface_for_longer():
    assert holding("peat, perlite 1:1").is_fine
    assert holding("pine bark").is_fine
    assert not holding("peat, pumice 1:2").is_fine
    # the cautious side, because it goes on drying
    assert holding(None).is_fine


def test_a_shallow_pot_holds_more_by_the_litre():
    assert height_factor(7.6) == 1
    assert height_factor(5.0) == pytest.approx(1.052)
    # Owen & Altland 2008: from 3.8 to 15.2 cm bark held 20 to 42 % less
    assert 0.58 <= height_factor(15.2) / height_factor(3.8) <= 0.80
    assert height_factor(0.1) == pytest.approx(1.15)
    assert height_factor(40.0) == 0.80


@given(st.text(max_size=40))
def test_any_words_give_a_range_in_order(text):
    found = holding(text).available
    assert 0 < found.low <= found.likely <= found.high <= 0.6


def test_every_range_is_in_order_and_every_component_has_a_source():
    for component in COMPONENTS:
        r = component.available
        assert 0 < r.low < r.likely < r.high < 0.6
        assert component.capacity is None or r.likely < component.capacity
        assert component.source
