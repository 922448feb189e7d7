"""Paper sizes, and the scale at which a frame fits on one."""

from dataclasses import dataclass
from enum import StrEnum

from django.core.exceptions import ValidationError

from wintering.frames.models import Frame


@dataclass(frozen=True, slots=True)
class Bar:
    """A scale bar: so many parts of so many cm each."""

    step_cm: int
    parts: int


# Drawing scales 1:n of common rulers, each with a bar of 50 or 60 mm on the paper.
SCALES = {
    10: Bar(10, 5),
    20: Bar(50, 2),
    25: Bar(50, 3),
    50: Bar(100, 3),
    100: Bar(100, 5),
}

MARGIN_MM = 12.0
"""Left and right of a sheet [mm]: more than any desktop printer leaves blank."""
TOP_MM, BOTTOM_MM = 20.0, 16.0
"""Above and below the text, with the running head and foot in it [mm]."""
AROUND_PLAN_MM = 48.0
"""Height kept on a plan's page for its title, scale bar and key [mm]."""


class Paper(StrEnum):
    A4 = "a4"
    LETTER = "letter"


@dataclass(frozen=True, slots=True)
class Size:
    """A sheet laid on its long side [mm]."""

    width_mm: float
    height_mm: float


# ISO 216 and ANSI/ASME Y14.1 size A (8.5 × 11 in); from memory.
SIZES = {Paper.A4: Size(297.0, 210.0), Paper.LETTER: Size(279.4, 215.9)}


def scale_for(frame: Frame, paper: Paper) -> int:
    """The n of the largest scale 1:n at which the frame's plan fits on the paper."""
    size = SIZES[paper]
    width_mm = size.width_mm - 2 * MARGIN_MM
    height_mm = size.height_mm - TOP_MM - BOTTOM_MM - AROUND_PLAN_MM
    for scale in SCALES:
        wide, deep = frame.width_cm * 10 / scale, frame.depth_cm * 10 / scale
        if wide <= width_mm and deep <= height_mm:
            return scale
    raise ValidationError(
        f"{frame} is {frame.width_cm / 100:g} × {frame.depth_cm / 100:g} m: even at "
        f"1:{max(SCALES)} its plan is larger than the paper. Describe it as two frames."
    )
