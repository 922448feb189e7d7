"""What was seen of buds outweighs every sum, for the tree and for those like it."""

import json
from datetime import date

import numpy as np
import pytest

from tests import make
from tests.forecast.conftest import AT, HOURS, cold_taxon
from wintering.forecast.models import Flag
from wintering.forecast.queries import tree_outlook
from wintering.forecast.services import judge_frame
from wintering.trees.services import see_buds

pytestmark = pytest.mark.django_db

WAKING = Flag.Kind.WAKING_EARLY


def waking(bench):
    flags = judge_frame(frame=bench.frame, at=AT)
    return {flag.tree.number: flag for flag in flags if flag.kind == WAKING}


def mild_january():
    """Cold to 1 January, then warm enough to be watched."""
    c = np.full(HOURS, 3.0)
    c[92 * 24 :] = 10.0
    return c


@pytest.mark.parametrize(
    ("code", "level"), [(1, "week"), (7, "tonight"), (10, "tonight")]
)
def test_moving_buds_flag_the_tree_whatever_the_sums_say(logged, stood, code, level):
    bench = logged(air=1.0)
    tree = stood()
    see_buds(
        tree=tree, code=code, on=date(2025, 1, 18), by=make.keeper(first_name="Hana")
    )
    flag = waking(bench)[tree.number]
    assert flag.level == level
    assert flag.since.date() == date(2025, 1, 18)
    assert flag.evidence[0]["value"] == f"{code:02d}"
    # Green that shows is held back no longer: no cold nights for it.
    assert ("Open the vents" in flag.advice) is (code < 7)
    assert ("Stop holding it back" in flag.advice) is (code >= 7)
    assert "seen on a round" in flag.evidence[0]["source"]


def test_of_buds_that_move_no_more_cold_is_asked(logged, stood):
    bench = logged(air=7.0)
    tree = stood()
    raised = {flag.kind for flag in judge_frame(frame=bench.frame, at=AT)}
    assert "chill_at_risk" in raised
    see_buds(tree=tree, code=7, on=date(2025, 1, 18), by=make.keeper())
    raised = {flag.kind for flag in judge_frame(frame=bench.frame, at=AT)}
    assert "chill_at_risk" not in raised


def test_leaves_seen_in_october_are_last_summers(logged, stood):
    logged(air=3.0)
    tree = stood()
    see_buds(tree=tree, code=19, on=date(2024, 10, 12), by=make.keeper())
    assert tree_outlook(tree, AT).buds is None


def test_a_tree_awake_by_the_sums_alone_is_looked_at_first(logged, stood):
    air = np.full(HOURS, 3.0)
    air[-24 * 14 :] = 20.0
    bench, tree = logged(air=air), stood()
    advice = waking(bench)[tree.number].advice
    assert advice.startswith("Look at the buds today, before anything else.")
    assert "Where green shows, keep it free of frost, no vents at night." in advice


def test_what_needs_no_cold_is_not_called_early(logged, stood):
    bench = logged(air=3.0)
    taxon = make.taxon()
    make.fact("dormancy_class", "needs cool rest", taxon=taxon)
    tree = stood(taxon=taxon)
    see_buds(tree=tree, code=15, on=date(2025, 1, 18), by=make.keeper())
    assert not waking(bench)


def test_a_tree_of_the_same_kind_beside_it_is_to_be_looked_at(logged, stood):
    bench = logged(air=1.0)
    taxon = cold_taxon()
    seen, beside = stood(taxon=taxon), stood(taxon=taxon)
    other_kind = stood(taxon=taxon, cultivar="Kiyohime")
    keeper = make.keeper(first_name="Hana")
    see_buds(tree=seen, code=3, on=date(2025, 1, 18), by=keeper)
    flags = waking(bench)
    assert flags.keys() == {seen.number, beside.number}
    assert flags[beside.number].level == "watch"
    # No number and no name: a client reads this of another's tree.
    told = json.dumps(flags[beside.number].evidence)
    assert "Another tree of its kind" in told
    assert seen.number not in told
    assert "Hana" not in told
    see_buds(tree=beside, code=0, on=date(2025, 1, 19), by=make.keeper())
    assert waking(bench).keys() == {seen.number}
    assert other_kind.number not in flags


def test_a_tree_in_another_part_of_the_frame_tells_nothing(logged, stood):
    bench = logged(air=1.0)
    taxon = cold_taxon()
    seen, elsewhere = stood(taxon=taxon), stood(taxon=taxon)
    module = bench.bench.modules.get(held__placement__tree=elsewhere)
    module.microclimate = make.microclimate(frame=bench.frame)
    module.save()
    see_buds(tree=seen, code=3, on=date(2025, 1, 18), by=make.keeper())
    assert waking(bench).keys() == {seen.number}


def test_buds_seen_closed_hold_the_warning_one_step_lower(logged, stood):
    bench = logged(air=mild_january())
    tree = stood()
    level = waking(bench)[tree.number].level
    see_buds(tree=tree, code=0, on=date(2025, 1, 19), by=make.keeper())
    flag = waking(bench)[tree.number]
    assert (level, flag.level) == ("week", "watch")
    assert any("seen closed on 19 January" in part["text"] for part in flag.evidence)


@pytest.mark.parametrize(
    ("code", "on", "leaf_fall_on"),
    [
        (33, date(2024, 8, 5), date(2024, 11, 10)),
        (92, date(2024, 10, 15), date(2024, 11, 10)),
        (92, date(2024, 10, 15), None),
        (33, date(2024, 9, 5), None),
    ],
)
def test_a_stage_that_the_year_has_passed_no_longer_speaks(
    logged, stood, code, on, leaf_fall_on
):
    logged(air=3.0)
    tree = stood(leaf_fall_on=leaf_fall_on)
    see_buds(tree=tree, code=code, on=on, by=make.keeper())
    outlook = tree_outlook(tree, AT)
    assert outlook.stage.name == "ecodormant"
    assert (outlook.buds, outlook.green_limits) == (None, None)


def test_leaves_seen_turning_speak_while_they_turn(logged, stood):
    logged(air=6.0)
    tree = stood()
    see_buds(tree=tree, code=92, on=date(2024, 10, 15), by=make.keeper())
    october = AT.replace(year=2024, month=10, day=25)
    assert tree_outlook(tree, october).stage.name == "acclimating"


def test_the_leaves_of_last_summer_wake_nobody(logged, stood):
    bench = logged(air=1.0)
    tree = stood()
    see_buds(tree=tree, code=19, on=date(2024, 8, 20), by=make.keeper())
    assert not waking(bench)


def test_only_trees_known_to_wake_early_answer_to_a_mild_spell_alone(logged, stood):
    mild = np.full(HOURS, 3.0)
    mild[-96:] = 9.0
    bench = logged(air=mild)
    early, late, unknown = cold_taxon(), cold_taxon(), cold_taxon()
    make.fact("wake_rank", "1", taxon=early, low=1, high=1)
    make.fact("wake_rank", "4", taxon=late, low=4, high=4)
    trees = {
        name: stood(taxon=t)
        for name, t in zip("elu", (early, late, unknown), strict=True)
    }
    assert waking(bench).keys() == {trees["e"].number, trees["u"].number}


def test_the_order_of_budbreak_in_words_stands_in_for_a_rank(logged, stood):
    mild = np.full(HOURS, 3.0)
    mild[-96:] = 9.0
    bench = logged(air=mild)
    taxon = cold_taxon()
    make.fact("budbreak_order", "late", taxon=taxon)
    stood(taxon=taxon)
    assert not waking(bench)
