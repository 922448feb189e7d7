from datetime import date

import pytest

from wintering.science.dormancy import DormancyStage, stage

FALLEN = {"leaf_fall_on": date(2026, 10, 25)}


def _name(on: date, **known) -> str | None:
    found = stage(on, **known)
    if found is None:
        return None
    assert found.because.endswith(".")
    return found.name.value


@pytest.mark.parametrize(
    ("on", "known", "name"),
    [
        (date(2026, 9, 10), {}, "acclimating"),
        (date(2026, 10, 24), {"chill_met": "no"} | FALLEN, "acclimating"),
        (date(2026, 10, 25), {"chill_met": "no"} | FALLEN, "endodormant"),
        (date(2026, 10, 31), {"chill_met": "no"}, "acclimating"),
        (date(2026, 11, 1), {"chill_met": "no"}, "endodormant"),
        (date(2027, 1, 20), {"chill_met": "possibly"}, "ecodormant"),
        (date(2027, 2, 20), {"chill_met": "likely"}, "ecodormant"),
        (date(2027, 2, 20), {"chill_met": "likely", "w": 0.79}, "ecodormant"),
        (date(2027, 3, 10), {"chill_met": "likely", "w": 0.8}, "waking"),
        (date(2027, 1, 10), {"chill_met": "no", "w": 0.9}, "waking"),
    ],
)
def test_the_stage_follows_from_season_leaf_fall_chill_and_warmth(on, known, name):
    assert _name(on, **known) == name


@pytest.mark.parametrize(
    ("bud_stage", "name"),
    [
        (1, "waking"),
        (9, "waking"),
        (10, "in leaf"),
        (19, "in leaf"),
        (95, "acclimating"),
    ],
)
def test_what_was_seen_comes_before_what_was_computed(bud_stage: int, name: str):
    seen = {"bud_stage": bud_stage, "w": 0.0, "chill_met": "no"}
    assert _name(date(2027, 1, 10), **seen) == name
    assert f"BBCH {bud_stage:02d}" in stage(date(2027, 1, 10), **seen).because


@pytest.mark.parametrize("bud_stage", [0, 97])
def test_resting_buds_leave_the_stage_to_the_chill(bud_stage: int):
    on = date(2026, 10, 20)
    assert _name(on, bud_stage=bud_stage, chill_met="no") == "endodormant"


@pytest.mark.parametrize(
    ("on", "known"),
    [
        (date(2026, 12, 1), {}),
        (date(2026, 12, 1), FALLEN),
        (date(2027, 6, 15), {"chill_met": "likely", "w": 1.0}),
    ],
)
def test_where_nothing_speaks_for_a_stage_none_is_named(on: date, known):
    assert stage(on, **known) is None


def test_a_number_that_is_no_bud_stage_is_refused():
    for code in (-1, 100):
        with pytest.raises(ValueError, match="not a BBCH code"):
            stage(date(2027, 1, 10), bud_stage=code)


def test_the_stages_are_the_physiologists_words():
    # Lang et al. 1987, HortScience 22:371-377, and the frame's own two ends
    assert [name.value for name in DormancyStage] == [
        "acclimating",
        "endodormant",
        "ecodormant",
        "waking",
        "in leaf",
    ]
