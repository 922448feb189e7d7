from dataclasses import replace
from datetime import date, timedelta

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from wintering.science.evidence import Evidence
from wintering.science.pot_water import HORIZON_DAYS, LONGEST_DAYS, outlook
from wintering.science.pots import Pot, PotMaterial, PotShape
from wintering.science.potted_tree import Habit, PottedTree
from wintering.science.water_history import Demand, History, Word

FIRST = date(2026, 12, 1)
POT = Pot(PotShape.OVAL, 34.0, 26.0, 8.0, 1.0, PotMaterial.FIRED_CLAY)
PINE = PottedTree(POT, "akadama, pumice 1:1", Habit.CONIFER)
MAPLE = replace(PINE, habit=Habit.LEAFLESS)
DEMAND = Demand(FIRST, np.full(40, 0.3), 0.3, "Demand is made up.")


def day(n):
    return FIRST + timedelta(days=n)


def see(tree=PINE, words=(), *, on=10, watered=(0,), demand=DEMAND):
    return outlook(tree, History([day(n) for n in watered], words), demand, day(on))


words = st.lists(
    st.builds(
        Word,
        st.integers(1, 30).map(day),
        st.sampled_from(["dry", "moist", "wet", "no_finding", "frozen", "not_checked"]),
    ),
    max_size=6,
)


@given(
    st.sampled_from(list(Habit)),
    words,
    st.lists(st.integers(0, 20), min_size=1, max_size=3),
    st.integers(20, 40),
    st.floats(0, 3),
)
def test_figures_are_in_order_and_no_pot_goes_unseen(habit, found, watered, on, mm):
    demand = Demand(FIRST, np.full(40, mm), mm, "")
    seen = see(replace(PINE, habit=habit), found, on=on, watered=watered, demand=demand)
    assert 0 <= seen.gone.low <= seen.gone.likely <= seen.gone.high <= 1
    assert seen.factor.low < seen.factor.likely < seen.factor.high
    due = [d or date.max for d in (seen.check_from, seen.likely_due, seen.late)]
    assert due == sorted(due)
    looked = [w.on for w in found if w.word not in ("frozen", "not_checked")]
    last = max([*map(day, watered), *(d for d in looked if d <= day(on))])
    assert last < seen.check_on <= last + timedelta(LONGEST_DAYS[habit])


def test_a_just_watered_pot_is_full():
    found = see(on=0)
    assert (found.gone.low, found.gone.high) == (0, 0)
    assert found.check_from > day(3)


def test_the_day_is_that_in_which_half_is_reckoned_gone():
    # by hand: factor by area by 0.3 mm against half of what is available
    found = see()
    a_day = found.factor.likely * 0.3 * POT.top_m2
    days = 0.5 * found.available_l.likely / a_day
    assert found.likely_due == day(int(days))
    assert found.gone.likely == pytest.approx(10 * a_day / found.available_l.likely)


def test_dry_brings_the_day_nearer_and_moist_moves_it_away():
    dry, none, moist = (
        see(words=found, on=16, watered=[0, 15])
        for found in ([Word(day(14), "dry")], [], [Word(day(14), "moist")])
    )
    assert dry.likely_due < none.likely_due < moist.likely_due
    assert dry.factor.likely > none.factor.likely > moist.factor.likely
    assert [o.findings for o in (dry, none, moist)] == [1, 0, 1]


def test_the_more_is_found_the_narrower_the_range():
    watered = [0, 12, 24]
    found = [Word(day(n), "dry") for n in (12, 24)] + [Word(day(20), "moist")]
    one, three = (
        see(words=found[:1], on=25, watered=watered),
        see(words=found, on=25, watered=watered),
    )
    assert three.late - three.check_from < one.late - one.check_from
    assert three.evidence is Evidence.COMPUTED
    assert one.evidence is Evidence.OWN_CHOICE
    assert "learned from 3 findings in this pot" in three.because


@pytest.mark.parametrize(
    ("habit", "days"),
    [(Habit.CONIFER, 14), (Habit.BROADLEAF, 14), (Habit.LEAFLESS, 21)],
)
def test_a_cold_spell_without_demand_still_forces_a_look(habit, days):
    frozen = Demand(FIRST, np.zeros(40), 0.0, "")
    found = see(replace(PINE, habit=habit), demand=frozen)
    assert (found.check_from, found.likely_due, found.late) == (None, None, None)
    assert found.check_on == day(days)
    assert f"no pot goes longer than {days} days without a look" in found.because


def test_a_look_that_found_it_moist_puts_the_next_off_by_a_day_at_least():
    found = see(words=[Word(day(30), "no_finding")], on=30)
    assert found.check_from < day(30)
    assert found.check_on == day(31)
    assert "looked at on 31 December 2026" in found.because


def test_dry_and_not_watered_is_due_the_next_day():
    frozen = Demand(FIRST, np.full(40, 0.01), 0.01, "")
    found = see(words=[Word(day(5), "dry")], on=6, demand=frozen)
    assert found.check_on == day(6)
    assert "Found dry on 6 December 2026 and not watered since." in found.because


@pytest.mark.parametrize(
    ("tree", "watered", "demand", "because"),
    [
        (replace(PINE, pot=None), [0], DEMAND, "The size of the pot is not known"),
        (PINE, [], DEMAND, "No watering is recorded in this pot"),
        (PINE, [15], DEMAND, "No watering is recorded in this pot"),
        (PINE, [0], Demand(FIRST, np.full(40, np.nan), 0.3, ""), "Nothing is known of"),
    ],
)
def test_what_cannot_be_told_is_not_told(tree, watered, demand, because):
    found = see(tree, watered=watered, demand=demand)
    assert found.because.startswith(because)
    assert found.gone is found.check_from is found.late is found.check_on is None
    assert found.available_l is found.factor is None
    assert found.unknown == (found.because,)


def test_missing_days_are_counted_and_widen_the_range():
    def without(missing):
        mm = np.full(40, 0.3)
        mm[2 : 2 + missing] = np.nan
        return see(demand=Demand(FIRST, mm, 0.3, ""))

    two, three = without(2), without(3)
    assert two.factor == see().factor
    assert "humidity of 2 days since the watering is not known" in two.unknown[-1]
    assert three.factor.high / three.factor.low > two.factor.high / two.factor.low
    assert three.unknown[-1].endswith("and the range is wider.")


def test_a_log_that_ends_early_is_missing_days_not_the_seasons_mean():
    found = see(demand=Demand(FIRST, np.full(6, 0.3), 5.0, ""))
    assert "humidity of 4 days since the watering is not known" in found.unknown[-1]
    # the mean of the known six days, not 5 mm a day
    assert found.gone.likely == pytest.approx(see().gone.likely)


def test_what_is_taken_for_granted_is_said():
    assert see().unknown == (
        "That the last watering wetted the whole ball is taken for granted.",
        "What its leaves lose is not measured: a factor stands for it.",
        "Whether the pot is glazed is not known: taken as glazed.",
        "Whether moss covers the soil is not known: taken as bare.",
    )
    known = replace(MAPLE, is_unglazed=False, is_covered=False)
    assert len(see(known).unknown) == 1


def test_what_it_rests_on_is_said_in_sentences():
    assert see().because == (
        "Last watered on 1 December 2026. With one chance in ten half of its water is "
        "gone by 7 December 2026. The full pot holds about 0.64 L that the tree can "
        "take (0.32 to 0.98 L). Substrate: 50 % fired clay like akadama, 50 % pumice. "
        "Nothing has been learned from this tree yet: the range is that of any tree of "
        "its kind (evergreen conifer). Demand is made up."
    )


def test_a_horizon_bounds_what_is_reckoned():
    slow = Demand(FIRST, np.full(40, 0.05), 0.05, "")
    found = see(MAPLE, demand=slow)
    assert found.late is None
    assert found.likely_due <= day(10 + HORIZON_DAYS)
