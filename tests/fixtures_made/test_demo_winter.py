"""The demo winter as data: it holds together and keeps to its story."""

import csv
import json
from collections import Counter
from datetime import date, datetime
from pathlib import Path

import pytest

FIXTURES = Path(__file__).parents[2] / "fixtures"
WINTER = json.loads((FIXTURES / "demo_winter.json").read_text(encoding="utf-8"))
TREES = {tree["number"]: tree for tree in WINTER["trees"]}
LONG_FRAME = next(frame for frame in WINTER["frames"] if frame["name"] == "Long Frame")
MODULE_CM = 45
LAYOUT_ON = "2024-11-17"  # all placed, layout printed
REPOT_MARK = 2024


def modules(bench: dict) -> list[str]:
    columns = int(bench["width_cm"] // MODULE_CM)
    rows = int(bench["depth_cm"] // MODULE_CM)
    letters = [""] if rows == 1 else ["f", "b"]
    first = bench["first_column"]
    return [
        f"{bench['name']}-{column:02d}{letter}"
        for column in range(first, first + columns)
        for letter in letters[:rows]
    ]


BENCHES = {b["name"]: b for frame in WINTER["frames"] for b in frame["benches"]}
MODULES = {label for bench in BENCHES.values() for label in modules(bench)}


def place_on(tree: dict, moment: str) -> list[str]:
    """Labels that a tree holds at a moment such as 2024-11-17."""
    then = [place for place in tree["places"] if place["since"] <= moment]
    return then[-1]["at"] if then else []


def bench_of(label: str) -> dict:
    return BENCHES[label.split("-")[0]]


def test_forty_one_trees_are_numbered_without_a_gap():
    assert list(TREES) == [f"T-{number:03d}" for number in range(1, 42)]


def test_owners_bring_as_many_trees_as_the_story_says():
    owned = Counter(tree["owner"] for tree in TREES.values())
    assert owned == {None: 18, "CA": 9, "CB": 7, "CC": 7}
    agreed = {c["mark"]: c["agreement"]["trees_agreed"] for c in WINTER["clients"]}
    assert agreed == {"CA": 9, "CB": 7, "CC": 6}


def test_every_taxon_is_in_the_catalogue():
    with (FIXTURES / "taxa.csv").open(encoding="utf-8", newline="") as file:
        known = {row["scientific_name"] for row in csv.DictReader(file)}
    assert {tree["taxon"] for tree in TREES.values()} <= known
    assert {fact["taxon"] for fact in WINTER["own_facts"]} <= known


def test_root_classes_follow_from_the_catalogue_and_the_last_root_work():
    with (FIXTURES / "taxon_facts.csv").open(encoding="utf-8", newline="") as file:
        classes = {
            row["taxon"]: row["value"]
            for row in csv.DictReader(file)
            if row["attribute"] == "root_class"
        }
    for tree in TREES.values():
        fresh = tree["root_year"] == REPOT_MARK
        assert tree["root_class"] == ("RD" if fresh else classes[tree["taxon"]])


def test_wake_ranks_follow_the_trades_ranks_but_for_the_early_cultivar():
    with (FIXTURES / "taxon_facts.csv").open(encoding="utf-8", newline="") as file:
        ranks = {
            row["taxon"]: (int(row["low"]), int(row["high"]))
            for row in csv.DictReader(file)
            if row["attribute"] == "wake_rank"
        }
    for tree in TREES.values():
        if tree["cultivar"] == "Kiyohime" or tree["taxon"] not in ranks:
            continue
        low, high = ranks[tree["taxon"]]
        assert low <= tree["wake_rank"] <= high, tree["number"]


def test_the_long_frame_has_one_hundred_and_two_modules():
    assert sum(len(modules(bench)) for bench in LONG_FRAME["benches"]) == 102


def test_benches_lie_inside_the_frame_and_under_the_ridge():
    assert (LONG_FRAME["width_cm"], LONG_FRAME["depth_cm"]) == (540, 240)
    for bench in LONG_FRAME["benches"]:
        assert 0 <= bench["x_cm"] <= 540 - bench["width_cm"], bench["name"]
        assert 0 <= bench["y_cm"] <= 240 - bench["depth_cm"], bench["name"]
        assert bench["height_cm"] + bench["headroom_cm"] <= 205, bench["name"]
        assert bench["width_cm"] % MODULE_CM == 0
        assert bench["depth_cm"] % MODULE_CM == 0


def test_benches_of_one_level_do_not_overlap_and_leave_the_aisle_free():
    aisle = next(f for f in LONG_FRAME["fittings"] if f["kind"] == "path")
    assert aisle["depth_cm"] == 60
    for level in {bench["level"] for bench in LONG_FRAME["benches"]}:
        on_level = [b for b in LONG_FRAME["benches"] if b["level"] == level]
        spots = [*on_level, aisle]
        for number, one in enumerate(spots):
            for other in spots[number + 1 :]:
                apart = (
                    one["x_cm"] + one["width_cm"] <= other["x_cm"]
                    or other["x_cm"] + other["width_cm"] <= one["x_cm"]
                    or one["y_cm"] + one["depth_cm"] <= other["y_cm"]
                    or other["y_cm"] + other["depth_cm"] <= one["y_cm"]
                )
                assert apart


def test_column_one_is_at_the_door():
    door = next(f for f in LONG_FRAME["fittings"] if f["kind"] == "door")
    assert door["x_cm"] > 500
    assert {bench["count_from"] for bench in LONG_FRAME["benches"]} == {"right"}


def test_every_position_exists():
    for tree in TREES.values():
        for place in tree["places"]:
            assert set(place["at"]) <= MODULES, tree["number"]


def moments_of_change() -> list[str]:
    return sorted({p["since"] for tree in TREES.values() for p in tree["places"]})


def test_no_two_trees_ever_hold_the_same_module():
    for moment in moments_of_change():
        held = [label for t in TREES.values() for label in place_on(t, moment)]
        twice = [label for label, times in Counter(held).items() if times > 1]
        assert twice == [], moment


def test_every_tree_fits_the_place_it_is_given():
    for tree in TREES.values():
        for place in tree["places"]:
            bench = bench_of(place["at"][0])
            assert tree["height_cm"] <= bench["headroom_cm"], tree["number"]
            width = max(tree["canopy_cm"][0], tree["pot"]["width_cm"])
            depth = max(tree["canopy_cm"][1], tree["pot"]["depth_cm"])
            assert width <= MODULE_CM * len(place["at"]), tree["number"]
            assert depth <= MODULE_CM, tree["number"]


def test_loads_and_places_are_those_of_the_story():
    loads = Counter()
    taken = []
    for tree in TREES.values():
        at = place_on(tree, LAYOUT_ON)
        loads[bench_of(at[0])["name"]] += tree["weight_kg"]
        taken += at
    story = {"NB": 68, "N0": 66, "N1": 131, "N2": 5, "S0": 10, "S1": 122}
    assert dict(loads) == pytest.approx(story, abs=0.6)
    assert len(taken) == 43


def test_loads_stay_within_four_fifths_of_each_limit_at_every_time():
    for moment in moments_of_change():
        loads = Counter()
        for tree in TREES.values():
            for label in place_on(tree, moment)[:1]:
                loads[bench_of(label)["name"]] += tree["weight_kg"]
        for name, load in loads.items():
            assert load <= 0.8 * BENCHES[name]["weight_limit_kg"], (moment, name)


def test_the_suspect_tree_stays_apart_until_it_is_clear():
    tree = TREES["T-041"]
    assert place_on(tree, "2024-11-16") == ["Q1-01"]
    assert place_on(tree, LAYOUT_ON) == ["S1-05b"]
    reports = [r for r in WINTER["condition_reports"] if r["tree"] == "T-041"]
    assert [r["pests"] for r in reports] == ["found", "found", "found", "none_found"]
    assert reports[-1]["on"] < LAYOUT_ON


def test_nine_trees_are_moved_in_the_freeze_and_one_is_left_behind():
    before = {n: place_on(tree, "2025-01-20T12:00") for n, tree in TREES.items()}
    after = {n: place_on(tree, "2025-01-21T09:00") for n, tree in TREES.items()}
    moved = {number for number in TREES if before[number] != after[number]}
    assert len(moved) == 9
    assert "T-012" not in moved
    back = {n: place_on(tree, "2025-01-26") for n, tree in TREES.items()}
    assert back == before


def test_client_trees_have_a_stay_and_own_trees_have_none():
    for tree in TREES.values():
        assert ("check_in" in tree) == (tree["owner"] is not None)
        if tree["owner"]:
            assert tree["check_in"] < tree["collect_on"]
            assert tree["declared"] > 0


def test_every_check_in_has_its_condition_report():
    checked_in = {n: tree["check_in"] for n, tree in TREES.items() if tree["owner"]}
    reported = {
        r["tree"]: r["on"]
        for r in WINTER["condition_reports"]
        if r["occasion"] == "check_in"
    }
    assert reported == checked_in


def test_leafless_trees_have_a_leaf_fall_day_and_evergreens_none():
    with (FIXTURES / "taxa.csv").open(encoding="utf-8", newline="") as file:
        evergreen = {
            row["scientific_name"]
            for row in csv.DictReader(file)
            if row["is_evergreen"] == "yes"
        }
    for tree in TREES.values():
        has_day = tree["leaf_fall_on"] is not None
        assert has_day == (tree["taxon"] not in evergreen), tree["number"]


def test_people_have_one_keeper_one_helper_and_three_clients_who_sign_in():
    roles = Counter(person["role"] for person in WINTER["people"])
    assert roles == {"keeper": 1, "helper": 1, "client": 3}
    names = {person["username"] for person in WINTER["people"]}
    assert {client["user"] for client in WINTER["clients"]} <= names


def test_rounds_name_only_trees_that_stand_in_their_frame():
    for round_ in WINTER["rounds"]:
        frame = next(f for f in WINTER["frames"] if f["name"] == round_["frame"])
        benches = {bench["name"] for bench in frame["benches"]}
        named = {*round_["watered"], *round_["frozen"], *round_["not_checked"]}
        for number in named | set(round_["bud_stages"]):
            at = place_on(TREES[number], round_["at"])
            assert at, (round_["at"], number)
            assert at[0].split("-")[0] in benches, (round_["at"], number)


def test_frozen_pots_are_not_watered():
    for round_ in WINTER["rounds"]:
        assert not set(round_["watered"]) & set(round_["frozen"])


def test_every_tree_is_watered_at_the_trades_intervals():
    # Widest usual interval: 8 days in October and November, 4 weeks until February.
    last: dict[str, date] = {}
    for round_ in WINTER["rounds"]:
        day = datetime.fromisoformat(round_["at"]).date()
        for number in round_["watered"]:
            widest = 8 if day < date(2024, 11, 25) else 28
            if number in last:
                assert (day - last[number]).days <= widest, (number, day)
            last[number] = day
    assert set(TREES) - set(last) == set()


def test_rounds_are_in_order_and_end_with_the_freeze():
    moments = [round_["at"] for round_ in WINTER["rounds"]]
    assert moments == sorted(moments)
    assert moments[-1] == "2025-01-21T09:20"


def test_sensors_and_logs_belong_together():
    sensors = {sensor["name"] for sensor in WINTER["sensors"]}
    logged = [name for file in WINTER["files"] for name in file["columns"]]
    earlier = {
        name
        for file in WINTER["files"]
        if file.get("earlier")
        for name in file["columns"]
    }
    assert sorted(logged) == sorted([*sensors, *earlier])
    named = {part["name"] for part in LONG_FRAME["microclimates"]}
    assert {s["microclimate"] for s in WINTER["sensors"]} - {None} <= named


def test_night_offsets_are_those_measured_against_the_reference():
    # For root zones the rear bench follows the pot at the knee wall; for air the
    # knee wall follows the rear bench.
    parts = {part["name"]: part for part in LONG_FRAME["microclimates"]}
    against_reference = {
        name: part["offset_k"]
        for name, part in parts.items()
        if part["follows"] == "rear bench"
    }
    assert against_reference == {
        "floor bay": -1.4,
        "floor under rear bench": 0.6,
        "outlet floor": 1.2,
        "ridge shelf": 0.2,
        "shaded floor": -0.4,
        "front bench": -1.0,
    }
    assert parts["rear bench"]["follows"] == "shaded floor"
    assert parts["rear bench"]["offset_k"] == 0.4
