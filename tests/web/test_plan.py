"""The plan of a level: to scale, the right way up, turned for phones."""

from datetime import date

import pytest
from django.template.loader import render_to_string

from tests import make
from wintering.stays.queries import frame_plan
from wintering.web.plan import FOOT_CM, MARGIN_CM, Marked, draw_level

ON = date(2025, 1, 20)
pytestmark = pytest.mark.django_db


@pytest.fixture
def frame():
    return make.frame(
        name="Long Frame", slug="long-frame", width_cm=540, depth_cm=240, north_deg=30
    )


@pytest.fixture
def bench(frame):
    """Two modules of 45 cm, 90 cm right and 150 cm up of the lower left corner."""
    part = make.microclimate(frame=frame, name="rear bench")
    return make.bench(
        frame=frame,
        microclimate=part,
        name="N1",
        columns=2,
        rows=1,
        x_cm=90,
        y_cm=150,
    )


def drawn(frame, marked=None):
    plan = frame_plan(frame, ON)
    return draw_level(plan, plan.levels[0], marked)


def corners(rect):
    return rect.x - MARGIN_CM, rect.y - MARGIN_CM, rect.width, rect.height


def test_up_on_the_plan_is_up_on_the_drawing(frame, bench):
    picture = drawn(frame).wide
    assert corners(picture.outline) == (0, 0, 540, 240)
    # The bench's upper edge lies 240 - 150 - 45 cm below the frame's.
    assert corners(picture.benches[0]) == (90, 45, 90, 45)
    assert [corners(place.rect) for place in picture.places] == [
        (90, 45, 45, 45),
        (135, 45, 45, 45),
    ]
    assert (picture.width, picture.height) == (
        540 + 2 * MARGIN_CM,
        240 + MARGIN_CM + FOOT_CM,
    )


def test_a_long_frame_is_turned_for_phones_and_north_with_it(frame, bench):
    picture = drawn(frame).narrow
    assert corners(picture.outline) == (0, 0, 240, 540)
    assert corners(picture.benches[0]) == (150, 90, 45, 90)
    assert picture.north_deg == 120
    assert drawn(frame).wide.north_deg == 30


def test_a_square_frame_is_drawn_once(bench, frame):
    frame.depth_cm = 500
    assert drawn(frame).narrow is None


def test_a_pot_is_its_footprint_with_its_number(frame, bench):
    tree = make.tree(canopy_width_cm=20, canopy_depth_cm=18)
    make.placement(tree=tree, modules=[bench.modules.first()])
    (pot,) = drawn(frame).wide.pots
    # The pot, 30 × 22 cm, is greater than the canopy.
    assert (pot.rect.width, pot.rect.height) == (30, 22)
    assert pot.url == "/trees/T-001/"
    assert "T-001 " in pot.description
    assert "at N1-01" in pot.description


def test_a_small_pot_keeps_a_readable_number(frame, bench):
    tree = make.tree(
        canopy_width_cm=20, canopy_depth_cm=18, pot={"width_cm": 18, "depth_cm": 14}
    )
    make.placement(tree=tree, modules=[bench.modules.first()])
    (pot,) = drawn(frame).wide.pots
    assert pot.number == "001"
    assert pot.number_cm >= 9


def test_places_can_be_chosen_by_links_that_need_no_script(frame, bench):
    first, second = bench.modules.all()
    marked = Marked({first.pk: f"?module={first.pk}"}, frozenset({second.pk}))
    one, other = drawn(frame, marked).wide.places
    assert (one.url, one.is_chosen) == (f"?module={first.pk}", False)
    assert (other.url, other.is_chosen) == ("", True)
    assert one.description == "N1-01, free, rear bench"


def test_microclimates_of_a_level_have_hatches_of_their_own(frame):
    for n in range(6):
        part = make.microclimate(frame=frame, name=f"part {n}")
        level = "floor" if n < 4 else "bench"
        make.bench(
            frame=frame, microclimate=part, level=level, x_cm=60 * n, columns=1, rows=1
        )
    plan = frame_plan(frame, ON)
    for level in plan.levels:
        key = draw_level(plan, level).key
        assert len({hatch for hatch, _ in key}) == len(key)


def test_words_of_fittings_in_the_wall_stay_within_the_frame(frame, bench):
    for kind, x in (("outlet", -6), ("door", 536)):
        make.fitting(frame=frame, kind=kind, x_cm=x, width_cm=10, depth_cm=8, y_cm=2)
    picture = drawn(frame).wide
    for fitting in picture.fittings:
        assert 9 < fitting.word_x - MARGIN_CM < 531
        assert 0 < fitting.word_y - MARGIN_CM < 240


def test_the_scale_bar_is_a_metre_of_the_same_scale(frame, bench):
    drawing = drawn(frame)
    page = render_to_string("web/_plan.html", {"drawing": drawing, "id": "floor"})
    assert f"M{MARGIN_CM} {drawing.wide.foot_y}h100" in page
    assert 'viewBox="0 0 568.0 294.0"' in page


def test_the_list_beneath_says_the_same(frame, bench):
    tree = make.tree(weight_kg=6)
    make.placement(tree=tree, modules=[bench.modules.first()])
    page = render_to_string("web/_plan.html", {"drawing": drawn(frame), "id": "floor"})
    assert f"N1-01: T-001 {tree.name}, own" in page
    assert "120 cm headroom, 6 kg of 180 kg" in page
    assert "style=" not in page
