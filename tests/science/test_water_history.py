from datetime import date, timedelta

import numpy as np
import pytest

from wintering.science.drying_factor import CHANGE_SD, Belief
from wintering.science.water_history import (
    Demand,
    Drying,
    History,
    Weighing,
    Word,
    learned,
)

FIRST = date(2026, 11, 1)
PRIOR = Belief(0.0, 0.5)
# 0.04 m², 0.8 L, linear: 0.3 mm a day are 1.5 % of the water a day
DRYING = Drying(0.8, lambda mm: np.cumsum(mm) * 0.04)
DEMAND = Demand(FIRST, np.full(60, 0.3), 0.3, "Made up.")


def day(n):
    return FIRST + timedelta(days=n)


def learn(history, on, demand=DEMAND):
    return learned(PRIOR, history, DRYING, demand, on)


def test_nothing_found_leaves_the_prior():
    assert learn(History([day(0)]), day(30)) == (PRIOR, 0)


def test_words_move_the_belief_by_when_they_were_found():
    early, findings = learn(History([day(0)], [Word(day(25), "dry")]), day(25))
    late, _ = learn(History([day(0)], [Word(day(40), "dry")]), day(40))
    moist, _ = learn(History([day(0)], [Word(day(40), "moist")]), day(40))
    assert findings == 1
    assert early.mean > late.mean > 0 > moist.mean


@pytest.mark.parametrize("word", ["no_finding", "frozen", "not_checked"])
def test_words_that_say_nothing_of_water_teach_nothing(word):
    assert learn(History([day(0)], [Word(day(20), word)]), day(20)) == (PRIOR, 0)


def test_a_strange_word_is_refused():
    with pytest.raises(ValueError, match="“damp” is not a finding: use one of dry, "):
        Word(day(1), "damp")


def test_words_before_the_first_watering_teach_nothing():
    assert learn(History([day(9)], [Word(day(5), "dry")]), day(9)) == (PRIOR, 0)


def test_on_a_day_of_watering_only_dry_was_found_before_the_water():
    def after(word):
        history = History([day(0), day(20)], [Word(day(20), word)])
        return learn(history, day(20))

    assert after("wet") == after("moist") == (PRIOR, 0)
    assert after("dry")[0].mean > 0


def test_what_is_not_yet_known_does_not_count():
    history = History([day(0)], [Word(day(30), "dry")], changes=[day(30)])
    assert learn(history, day(29)) == (PRIOR, 0)


def test_the_order_in_which_things_were_written_down_does_not_matter():
    words = [Word(day(22), "moist"), Word(day(25), "dry"), Word(day(45), "dry")]
    weighings = [Weighing(day(26), 5.0), Weighing(day(33), 4.9)]
    one = History([day(0), day(25)], words, weighings)
    other = History([day(25), day(0)], words[::-1], weighings[::-1])
    assert learn(one, day(50)) == learn(other, day(50))
    assert learn(one, day(50))[1] == 4


def test_two_weighings_teach_the_factor():
    # 0.3 mm on 0.04 m² for 20 days are 0.24 kg; it lost twice that
    weighings = [Weighing(day(0), 6.00), Weighing(day(20), 5.52)]
    belief, findings = learn(History([day(0)], weighings=weighings), day(20))
    assert findings == 1
    assert 1.7 < belief.likely < 2.0
    assert belief.sd < 0.2


def test_a_pot_weighed_before_and_after_a_watering_teaches_nothing():
    weighings = [Weighing(day(10), 5.0), Weighing(day(22), 5.8)]
    history = History([day(0), day(20)], weighings=weighings)
    assert learn(history, day(25)) == (PRIOR, 0)


def test_an_interval_that_nobody_measured_teaches_nothing():
    def after(missing):
        mm = np.full(60, 0.3)
        mm[3 : 3 + missing] = np.nan
        history = History([day(0)], [Word(day(20), "dry")])
        return learn(history, day(20), Demand(FIRST, mm, 0.3, ""))

    assert after(2)[1] == 1
    assert after(3) == (PRIOR, 0)


def test_a_change_widens_and_is_no_finding():
    words = [Word(day(n), "dry") for n in (25, 26, 27, 28)]
    settled, _ = learn(History([day(0)], words), day(28))
    changed, findings = learn(History([day(0)], words, changes=[day(28)]), day(28))
    assert settled.sd < CHANGE_SD == changed.sd
    assert findings == 4


def test_days_to_come_take_the_seasons_mean_and_past_ones_do_not():
    demand = Demand(FIRST, np.array([0.1, np.nan, 0.2]), 0.5, "")
    found = demand.days(day(-1), 7, on=day(4))
    np.testing.assert_equal(found, [np.nan, 0.1, np.nan, 0.2, np.nan, 0.5, 0.5])


@pytest.mark.parametrize(("mm", "later"), [([-0.1], 0.3), ([0.1], -1), ([0.1], np.nan)])
def test_demand_is_never_below_zero(mm, later):
    with pytest.raises(ValueError, match="never below 0"):
        Demand(FIRST, np.array(mm), later, "")


def test_what_was_certain_anyway_is_no_finding():
    words = [Word(day(n), "moist") for n in (1, 2, 3)]
    belief, findings = learn(History([day(0)], words), day(3))
    assert findings == 0
    assert belief.mean == pytest.approx(0, abs=0.01)
