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


LATE_SEPTEMBER = date(2026, 9, 25)


def _signs(daylength_h: float | None, mean_c: float | None, **known) -> str | None:
    return _name(
        LATE_SEPTEMBER,
        daylength_h=daylength_h,
        recent_mean_c=mean_c,
        chill_met="no",
        **known,
    )


@pytest.mark.parametrize(
    ("daylength_h", "mean_c", "name"),
    [
        # at 9 °C growth stopped whatever the daylength, at 21 °C in none (Heide 2008)
        (14.0, 9.0, "acclimating"),
        (14.0, 9.1, "in leaf"),
        (14.0, 21.0, "in leaf"),
        # willows of 59° N stop at 15 to 16 h, so days of 12 h are short for most
        (12.0, 21.0, "acclimating"),
        (12.1, 21.0, "in leaf"),
        (11.0, 8.0, "acclimating"),
        # one figure alone, or none, leaves the rest to the calendar
        (None, 8.0, "acclimating"),
        (None, 21.0, "acclimating"),
        (14.0, None, "acclimating"),
    ],
)
def test_short_days_and_low_temperature_begin_the_hardening(daylength_h, mean_c, name):
    assert _signs(daylength_h, mean_c) == name


def test_the_reason_names_the_daylength_and_the_temperature():
    found = stage(LATE_SEPTEMBER, daylength_h=11.94, recent_mean_c=7.26)
    assert found.because == (
        "With days of 11.9 h and a recent mean of 7.3 °C growth has stopped and the "
        "tree hardens."
    )


@pytest.mark.parametrize(
    ("daylength_h", "mean_c", "name"),
    [
        (11.9, 5.0, "endodormant"),
        (11.9, 5.1, "acclimating"),
        (12.1, 5.0, "acclimating"),
        (14.0, 21.0, None),
        (None, None, "acclimating"),
    ],
)
def test_a_tree_that_keeps_its_leaves_needs_no_leaf_fall_to_rest(
    daylength_h, mean_c, name
):
    assert _signs(daylength_h, mean_c, sheds_leaves=False) == name


def test_a_leaf_fall_says_nothing_of_a_tree_that_keeps_its_leaves():
    later = {"leaf_fall_on": date(2026, 12, 20), "chill_met": "no"}
    assert _name(date(2026, 12, 1), **later) == "acclimating"
    assert _name(date(2026, 12, 1), sheds_leaves=False, **later) == "endodormant"


def test_a_tree_in_leaf_is_not_kept_from_rest_once_its_leaves_fell():
    warm = {"daylength_h": 14.0, "recent_mean_c": 21.0, "chill_met": "no"}
    fell_on = LATE_SEPTEMBER
    assert _name(LATE_SEPTEMBER, leaf_fall_on=fell_on, **warm) == "endodormant"


def test_daylength_and_temperature_speak_in_autumn_only():
    warm = {"daylength_h": 14.0, "recent_mean_c": 21.0, "chill_met": "no"}
    assert _name(date(2026, 11, 1), **warm) == "endodormant"
    assert _name(date(2027, 5, 1), **warm) == "endodormant"


def test_chill_is_called_likely_fulfilled_only_above_the_upper_bound():
    on = date(2027, 1, 20)
    assert "likely fulfilled" in stage(on, chill_met="likely").because
    between = stage(on, chill_met="possibly").because
    assert "possibly fulfilled" in between
    assert "likely" not in between
