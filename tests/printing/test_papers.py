"""Which scale a frame is drawn at."""

import pytest
from django.core.exceptions import ValidationError

from wintering.frames.models import Frame
from wintering.printing.papers import SCALES, Paper, scale_for


def scale(width_cm, depth_cm, paper=Paper.A4):
    frame = Frame(name="Pit", width_cm=width_cm, depth_cm=depth_cm)
    return scale_for(frame, paper)


def test_the_same_frame_takes_the_largest_scale_that_each_paper_holds():
    # 5.40 m at 1:20 are 270 mm: A4 on its long side has 297, Letter only 279.4.
    assert scale(540, 240, Paper.A4) == 20
    assert scale(540, 240, Paper.LETTER) == 25


@pytest.mark.parametrize(
    ("width_cm", "expected"), [(273, 10), (274, 20), (682, 25), (683, 50), (1366, 100)]
)
def test_the_scale_changes_where_the_width_no_longer_fits(width_cm, expected):
    assert scale(width_cm, 100) == expected


def test_a_deep_frame_is_held_by_its_depth():
    assert scale(100, 126) == 10
    assert scale(100, 127) == 20


def test_every_scale_bar_is_50_or_60_mm_long():
    lengths = {b.step_cm * b.parts * 10 / n for n, b in SCALES.items()}
    assert lengths == {50.0, 60.0}


def test_a_frame_too_large_for_any_scale_is_refused_with_its_size():
    with pytest.raises(ValidationError, match=r"40 × 6 m: even at 1:100 .* two frames"):
        scale(4000, 600)
