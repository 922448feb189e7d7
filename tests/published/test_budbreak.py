"""Budbreak held against the order in which trees opened in published trials."""

import csv
import re
from datetime import UTC, date, timedelta
from pathlib import Path

import numpy as np
import pytest

from tests.published.rows import Row, rows_of
from wintering.science.budbreak import Structure, budbreak_outlook
from wintering.science.chill_need import ChillUnit, Requirement
from wintering.science.curves import (
    BEECH,
    BIRCH_RAMP,
    BOTTA,
    CURVES,
    HORNBEAM,
    OAK_RAMP,
    SITKA_SPRUCE,
    RequirementCurve,
)
from wintering.science.days import local_days
from wintering.science.evidence import Evidence
from wintering.science.series import Hourly
from wintering.science.waking import GUARDED_RANK, RANKS

FACTS = Path(__file__).parents[2] / "fixtures" / "taxon_facts.csv"

MURRAY = {
    "Fagus sylvatica": 1,
    "Picea sitchensis": 2,
    "Betula pendula": 3,
    "Corylus avellana": 3,
}
"""Groups from the latest (1) to the earliest (5): Murray, Cannell & Smith 1989, J.
Appl. Ecol. 26:693-700, abstract at britishecologicalsociety.org/applied-ecology-
resources/document/19900675053/. Those of its species that a curve here is for."""

LAUBE_DAYS = {
    "Syringa vulgaris": 15,
    "Corylus avellana": 17,
    "Betula pendula": 19,
    "Larix decidua": 19,
    "Prunus avium": 22,
    "Carpinus betulus": 23,
    "Picea abies": 24,
    "Abies alba": 24,
    "Fraxinus excelsior": 29,
    "Pseudotsuga menziesii": 29,
    "Quercus robur": 30,
    "Quercus rubra": 35,
    "Fagus sylvatica": 41,
}
"""Days to budburst of shoots forced from the end of January on: Laube et al. 2014, from
the OSPREE table of budburst trials, github.com/lizzieinvancouver/ospree."""

LAST_CHILL_DAYS = [60, 80, 100, 145]
"""Chill days between which the groups were told apart (80 to 145, the same abstract),
and one milder winter."""


def _slow(species: str) -> RequirementCurve:
    """The species' curve of budburst, or of the start of a ramp if it has no other."""
    return next(curve for curve in CURVES if species in curve.taxa)


def _number(name: str, text: str) -> float:
    return float(re.search(rf"{name}=(-?[\d.]+)", text)[1])


@rows_of("Cannell & Smith 1983 required thermal time, Picea sitchensis")
def test_the_curve_of_sitka_spruce_is_that_of_the_table(row: Row):
    row.check(float(SITKA_SPRUCE.required(_number("chill days", row.series))))


@rows_of("required thermal time a+b*exp(r*C), a=0")
def test_each_row_of_the_table_is_one_of_the_curves(row: Row):
    species = re.match(r"(\w+ \w+)", row.series)[1]
    b, r = _number("b", row.series), _number(" r", row.series)
    curves = [
        curve
        for curve in CURVES
        if species in curve.taxa and (curve.b, curve.r) == (b, r)
    ]
    assert len(curves) == 1
    row.check(float(curves[0].required(_number("chill days", row.series))))


@pytest.mark.parametrize("chill", LAST_CHILL_DAYS)
def test_the_later_the_group_the_more_warmth_is_asked_for(chill: int):
    asked = {name: float(_slow(name).required(chill)) for name in MURRAY}
    for name, group in MURRAY.items():
        for other, other_group in MURRAY.items():
            assert group >= other_group or asked[name] > asked[other]


def test_early_flushers_hardly_answer_to_chill_and_beech_still_does_after_145_days():
    early = BIRCH_RAMP.required([100, 145])
    assert early[0] - early[1] < 5
    late = BEECH.required([100, 145])
    assert late[0] - late[1] > 100
    assert late[1] > 3 * BOTTA.required(145)


def test_curves_that_are_for_comparison_tell_the_order_of_hazel_birch_and_beech():
    trees = ["Corylus avellana", "Betula pendula", "Carpinus betulus"]
    asked = [float(_slow(name).required(100)) for name in [*trees, "Fagus sylvatica"]]
    days = [LAUBE_DAYS[name] for name in [*trees, "Fagus sylvatica"]]
    assert asked == sorted(asked)
    assert days == sorted(days)
    # an order and no more: hornbeam opened eighteen days before beech
    assert 0.9 < HORNBEAM.required(100) / BEECH.required(100) < 1


def test_the_default_curve_of_oak_is_against_what_was_seen_so_no_alarm_rests_on_it():
    assert LAUBE_DAYS["Quercus robur"] > LAUBE_DAYS["Betula pendula"] + 10
    assert OAK_RAMP.required(60) < BIRCH_RAMP.required(60)
    assert not OAK_RAMP.warns


def _ranks() -> dict[str, int]:
    with FACTS.open(newline="", encoding="utf-8") as lines:
        return {
            fact["taxon"]: RANKS[fact["value"]]
            for fact in csv.DictReader(lines)
            if fact["attribute"] == "budbreak_order"
        }


def test_the_guard_is_for_the_trees_that_opened_first():
    ranks = {name: _ranks()[name] for name in LAUBE_DAYS}
    guarded = {name for name, rank in ranks.items() if rank <= GUARDED_RANK}
    first = {name for name, days in LAUBE_DAYS.items() if days < 20}
    last = {name for name, days in LAUBE_DAYS.items() if days > 23}
    assert first <= guarded
    assert not last & guarded


def test_after_the_same_winter_the_groups_break_in_their_order():
    # ninety days at 2 °C, then 12 °C: 7 °C d a day against each curve
    days = local_days(date(2026, 10, 1), date(2027, 6, 1), UTC)
    c = np.full(days.end_hour - days.first_hour, 12.0)
    c[: 90 * 24] = 2.0
    past = Hourly.measured(days.first_hour, c[: 90 * 24])
    need = Requirement(42, 56, ChillUnit.COLD_DAYS, "own", Evidence.OWN_CHOICE)
    breaks = {
        name: budbreak_outlook(
            past, c[90 * 24 :, np.newaxis], days, requirement=need, curve=_slow(name)
        ).warning.points.p50
        for name in MURRAY
    }
    order = sorted(MURRAY, key=MURRAY.get, reverse=True)
    assert [breaks[name] for name in order] == sorted(breaks.values())
    # 67.4 + 4401.8 exp(-0.042 * 90) = 167.86 °C d: the 24th of those days
    assert breaks["Picea sitchensis"] == date(2026, 10, 1) + timedelta(days=90 + 23)


def test_warmth_before_the_end_of_rest_is_nothing_to_the_sequential_form():
    # after 40 chill days 638 exp(-0.4) - 68 = 359.66 °C d are asked for: at 13 a day
    # the 28th warm day
    days = local_days(date(2026, 10, 1), date(2027, 3, 1), UTC)
    c = np.full(days.end_hour - days.first_hour, 2.0)
    c[40 * 24 : 80 * 24] = 18.0
    need = Requirement(60, 60, ChillUnit.COLD_DAYS, "own", Evidence.OWN_CHOICE)
    found = budbreak_outlook(
        Hourly.measured(days.first_hour, c), np.empty((0, 1)), days, requirement=need
    )
    assert found.warning.points.p50 == date(2026, 10, 1) + timedelta(days=40 + 27)
    assert found.by_structure[Structure.SEQUENTIAL].points.reached == 0
