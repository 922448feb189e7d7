"""Whether the range of days holds what it says: trees made up from what is believed."""

from datetime import date, timedelta

import numpy as np
import pytest

from wintering.science.drying_factor import MODEL_SD, SOFTNESS
from wintering.science.pot_water import DUE_SHARE, Outlook, outlook
from wintering.science.pots import Pot, PotMaterial, PotShape
from wintering.science.potted_tree import Habit, PottedTree, held_l, lost_kg, prior
from wintering.science.water_history import Demand, History, Word

FIRST = date(2026, 11, 1)
POT = Pot(PotShape.OVAL, 34.0, 26.0, 8.0, 1.0, PotMaterial.FIRED_CLAY)
TREE = PottedTree(POT, "akadama, pumice 1:1", Habit.CONIFER)
HELD = held_l(TREE)
TREES, SLIPS = 200, 0.03


def day(n: int) -> date:
    return FIRST + timedelta(days=n)


def watched(rng: np.random.Generator, weeks: int) -> tuple[Outlook, date]:
    """A tree looked at weekly and watered when found dry, then watered: what is told
    of it, and the day on which half of its water is really gone."""
    believed = prior(TREE.habit, HELD)
    own = np.exp(rng.normal(believed.mean, believed.sd))
    mm = rng.gamma(2, 0.25, 400)

    def gone(since: int) -> np.ndarray:
        interval = own * np.exp(rng.normal(0, MODEL_SD))
        return interval * lost_kg(TREE, POT, HELD, mm[since:]) / HELD.litres.likely

    watered, words, now = [0], [], gone(0)
    for n in range(7, 7 * weeks + 1, 7):
        felt = now[n - watered[-1] - 1] + rng.normal(0, SOFTNESS)
        word = "wet" if felt < 0.35 else "moist" if felt < 0.65 else "dry"
        if rng.random() < SLIPS:
            word = str(rng.choice(["wet", "moist", "dry"]))
        words.append(Word(day(n), word))
        if word == "dry":
            watered.append(n)
            now = gone(n)
    last = 7 * weeks
    if watered[-1] != last:
        watered.append(last)
        now = gone(last)
    history = History([day(n) for n in watered], words)
    told = outlook(TREE, history, Demand(FIRST, mm, 0.5, ""), day(last))
    return told, day(last + int(np.searchsorted(now, DUE_SHARE)))


@pytest.mark.parametrize("weeks", [0, 2, 6, 12])
def test_at_least_eight_of_ten_trees_are_due_within_their_range(weeks):
    rng = np.random.default_rng(20261201)
    told = [watched(rng, weeks) for _ in range(TREES)]
    early = sum(due < seen.check_from for seen, due in told)
    late = sum(seen.late is not None and due > seen.late for seen, due in told)
    # one in ten on either side; of 200, chance alone goes up to 29 once in 50 times
    assert early <= 29
    assert late <= 29
    # and no range is so wide that everything falls within it
    assert early + late >= 6


def test_a_winter_of_words_halves_the_range():
    rng = np.random.default_rng(20261201)

    def median_days(weeks):
        seen = (watched(rng, weeks)[0] for _ in range(TREES))
        return np.median([(o.late - o.check_from).days for o in seen if o.late])

    assert median_days(12) < 0.5 * median_days(0)
