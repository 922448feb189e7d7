"""Hardiness through the season against published experiments.

The model lends rates from few species to all; each figure here says for which one it
was measured, and that the range of the model holds it.
"""

from datetime import date

import numpy as np
import pytest

from wintering.science.acclimation import (
    SOURCE,
    TOP_UNHARDENED_C,
    Limit,
    SeasonDays,
    TreeState,
    season,
)
from wintering.science.evidence import Evidence
from wintering.science.hardening import TOP_LOSS_K, lost_k, psi, top_hardened, warmth

FIRST = date(1993, 9, 1)


def _swedish_roots(midwinter_c, root_c_in_store):
    """Roots outdoors at 60° N until late October, then in a store until mid March."""
    autumn = np.interp(np.arange(58), [0, 30, 57], [12.0, 8.5, 4.0])
    c = np.concatenate([autumn, np.full(196 - 58, root_c_in_store)])
    chill = np.clip((np.arange(196) - 45) / 60, 0.0, 1.5)
    days = SeasonDays(FIRST, c, root_c=c, least_chill=chill, most_chill=chill)
    limit = Limit(midwinter_c, "as tested", Evidence.PUBLISHED)
    return season(days, TreeState(None, limit, roots_worked=False)).root


def _on(part, day):
    index = (day - FIRST).days
    return part.mild_c[index], part.hardy_c[index]


# Lindström & Stattin 1994, Can. J. For. Res. 24:2477-2484, doi 10.1139/x94-319,
# container seedlings, 2 h of freezing, abstract: over half survived -25 °C (spruce) and
# -20 °C (pine) in January; -10 °C in late October left 0-85 % of spruce and 0-13 % of
# pine alive in April; less hardy in March than in January in every store
@pytest.mark.parametrize(
    ("midwinter_c", "october_hardiest_c"), [(-25.0, -13.0), (-20.0, -10.0)]
)
def test_roots_of_spruce_and_pine_in_late_october(midwinter_c, october_hardiest_c):
    mild_c, hardy_c = _on(_swedish_roots(midwinter_c, 2.0), date(1993, 10, 28))
    assert mild_c > -10.0
    assert october_hardiest_c <= hardy_c < mild_c


@pytest.mark.parametrize("store_c", [-4.4, 2.2, 4.0])
@pytest.mark.parametrize("midwinter_c", [-25.0, -20.0])
def test_roots_are_hardiest_in_january_and_milder_in_march(midwinter_c, store_c):
    part = _swedish_roots(midwinter_c, store_c)
    october = _on(part, date(1993, 10, 28))
    january = _on(part, date(1994, 1, 20))
    march = _on(part, date(1994, 3, 14))
    for end in (0, 1):
        assert january[end] < march[end] < october[end]
    assert january[1] == pytest.approx(midwinter_c, abs=1.5)


def test_roots_kept_below_zero_lose_less_by_march():
    # same abstract: the loss was smaller at the subzero temperatures of frozen storage
    lost = {}
    for store_c in (-4.4, 4.0):
        part = _swedish_roots(-25.0, store_c)
        lost[store_c] = part.mild_c[194] - part.mild_c[141]
    assert lost[-4.4] < lost[4.0]


def test_short_days_alone_take_pine_half_of_the_way():
    # Scots pine: -22 °C under short days alone, -40 °C with cold as well; Arora &
    # Taulavuori 2016, doi 10.3389/fenvs.2016.00044
    days = SeasonDays(FIRST, np.full(90, 20.0), least_chill=np.zeros(90))
    pine = TreeState(Limit(-40.0, "pine", Evidence.PUBLISHED), None, None)
    top = season(days, pine).top
    assert top.hardy_c[-1] == pytest.approx(-22.0, abs=1.0)


def test_shoots_harden_further_than_roots_under_the_same_days():
    # Scots pine seedlings: shoots to -40 and roots to -15 °C in short days and cold,
    # and only cold hardened the roots; abstract on photo- and thermoperiod,
    # scilit.com/publications/4542e049fbb86087566128b3d4391bcd
    warm = np.full(60, 15.0)
    limits = (Limit(c, "pine", Evidence.PUBLISHED) for c in (-40.0, -15.0))
    found = season(SeasonDays(FIRST, warm), TreeState(*limits, roots_worked=False))
    assert found.top.hardy_c[-1] < found.top.hardy_c[0]
    assert np.ptp(found.root.hardy_c) == 0
    assert np.ptp(found.root.mild_c) == 0


@pytest.mark.parametrize("c", [6.0, 8.0, 10.0, 12.0, 15.0, 18.0])
def test_the_two_rates_of_loss_hold_those_of_grapevine(c):
    # Ferguson et al. 2011, Ann. Bot. 107:389-396, 'Chardonnay' after rest: 0.13 K a day
    # for each kelvin above 3.75 °C (figures as quoted by others)
    vine_k = 0.13 * (c - 3.75)
    fast, slow = (
        lost_k(np.array([c]), psi(np.array([1.2])), most)[0] for most in TOP_LOSS_K
    )
    assert slow <= vine_k <= fast


@pytest.mark.parametrize("c", [8.0, 12.0, 16.0, 20.0])
def test_they_hold_those_of_a_second_set_for_grapevine(c):
    # Ferguson et al. 2013, Am. J. Enol. Vitic., doi 10.5344/ajev.2013.13098, one of its
    # genotypes (figures as quoted by others): 0.10 K a day and kelvin above 5 °C
    vine_k = 0.10 * (c - 5.0)
    slow, fast = sorted(most * warmth(np.array([c]))[0] for most in TOP_LOSS_K)
    assert slow <= vine_k <= fast


def _vine(c, *, pace, below_c, unhardened_c, hardiest_c):
    """The published daily step of hardening, slowing towards the hardiest."""
    bears, course = unhardened_c, []
    for mean_c in c:
        left = (bears - hardiest_c) / (unhardened_c - hardiest_c)
        bears -= pace * max(below_c - mean_c, 0.0) * left
        course.append(bears)
    return np.array(course)


@pytest.mark.parametrize(
    "vine",
    [
        {"pace": 0.14, "below_c": 11.75, "unhardened_c": -3.0, "hardiest_c": -25.24},
        {"pace": 0.12, "below_c": 13.0, "unhardened_c": -1.2, "hardiest_c": -25.1},
    ],
    ids=["2011", "2013"],
)
def test_hardening_of_grapevine_lies_between_the_ends(vine):
    # both sets as above; an autumn from 16 °C down to 0 °C in 100 days
    c = np.linspace(16.0, 0.0, 100)
    share = (vine["unhardened_c"] - _vine(c, **vine)) / (
        vine["unhardened_c"] - vine["hardiest_c"]
    )
    mild, hardy = (top_hardened(c, np.zeros(100), end) for end in (0, 1))
    begun = share > 0.02
    assert (mild[begun] <= share[begun]).all()
    assert (share[begun] <= hardy[begun]).all()


# 10 % kill within half an hour: extension.psu.edu, Orchard Frost: Critical Temperatures
# for Various Fruits; flower buds
@pytest.mark.parametrize(
    ("bud_stage", "killing_f"),
    [(3, 15), (3, 17), (3, 18), (8, 18), (8, 25), (13, 27), (13, 28)],
    ids=[
        *("apple silver tip", "cherry swelling", "peach swelling", "apple green tip"),
        *("cherry green tip", "apple tight cluster", "apple bloom"),
    ],
)
def test_moving_buds_are_given_no_more_than_fruit_buds_bear(bud_stage, killing_f):
    killing_c = (killing_f - 32) / 1.8
    cold = SeasonDays(FIRST, np.full(150, 0.0), most_chill=np.zeros(150))
    hardy = Limit(-35.0, "apple", Evidence.PUBLISHED)
    top = season(cold, TreeState(hardy, None, None, bud_stage=bud_stage)).top
    assert top.today.mild_c >= killing_c - 0.05


def test_the_extreme_on_record_is_told_and_not_modelled():
    # apple bark lost up to 15 °C in one day in a warm greenhouse: Howell & Weiser 1970,
    # doi 10.21273/jashs.95.2.190
    assert max(TOP_LOSS_K) < 15.0
    assert "15 degrees on the Celsius scale in one day" in " ".join(SOURCE.split())
    assert TOP_UNHARDENED_C[1] < TOP_UNHARDENED_C[0]
