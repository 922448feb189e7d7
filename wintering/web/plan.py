"""One level of a frame from above, to scale: centimetres are the drawing's units.

On a phone held upright a long frame is turned by a quarter, so that places stay wide
enough for a gloved finger.
"""

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field

from django.urls import reverse

from wintering.stays.queries import (
    FramePlan,
    PlanBench,
    PlanLevel,
    PlanModule,
    PlanTree,
)

MARGIN_CM, FOOT_CM = 14, 40
NUMBER_CM, LEAST_NUMBER_CM, LABEL_CM = 13, 9.5, 7.5
# How wide a figure is against its height, in the types that pages use.
LETTER = 0.62
HATCHES = 6
TURN_WHERE_LONGER_THAN = 1.25


@dataclass(frozen=True, slots=True)
class Rect:
    """A rectangle on the drawing: y runs downwards."""

    x: float
    y: float
    width: float
    height: float

    @property
    def middle_x(self) -> float:
        return self.x + self.width / 2

    @property
    def middle_y(self) -> float:
        return self.y + self.height / 2

    @property
    def bottom(self) -> float:
        return self.y + self.height


@dataclass(frozen=True, slots=True)
class Place:
    rect: Rect
    label: str
    label_cm: float
    hatch: int
    description: str
    url: str
    is_chosen: bool


@dataclass(frozen=True, slots=True)
class Pot:
    rect: Rect
    number: str
    number_cm: float
    description: str
    url: str
    is_chosen: bool


@dataclass(frozen=True, slots=True)
class Fixed:
    """A fitting: its word, written along its longer side."""

    rect: Rect
    word: str
    is_upright: bool
    word_x: float
    word_y: float


@dataclass(frozen=True, slots=True)
class Picture:
    """One drawing of a level. `north_deg` is clockwise from the top of the drawing."""

    name: str
    width: float
    height: float
    outline: Rect
    benches: tuple[Rect, ...]
    places: tuple[Place, ...]
    pots: tuple[Pot, ...]
    fittings: tuple[Fixed, ...]
    north_deg: float

    @property
    def foot_y(self) -> float:
        return self.outline.bottom + 26

    @property
    def north_x(self) -> float:
        return self.width - MARGIN_CM - 12

    @property
    def counter_deg(self) -> float:
        """Keeps the N upright while its arrow turns."""
        return -self.north_deg

    @property
    def scale_x(self) -> float:
        return self.outline.x


@dataclass(frozen=True, slots=True)
class LevelDrawing:
    """A level drawn for wide screens and paper, and turned for narrow ones."""

    title: str
    wide: Picture
    narrow: Picture | None
    key: tuple[tuple[int, str], ...]
    benches: tuple[PlanBench, ...]


@dataclass(frozen=True, slots=True)
class Marked:
    """What can be chosen on a plan and what has been: links by module, choices."""

    module_urls: Mapping[int, str] = field(default_factory=dict)
    modules: frozenset[int] = frozenset()
    tree_number: str = ""


def draw_level(
    plan: FramePlan, level: PlanLevel, marked: Marked | None = None
) -> LevelDrawing:
    """A level of a plan. Its title must be the only one of that name on the page."""
    marks = marked or Marked()
    frame = plan.frame
    is_long = frame.width_cm > TURN_WHERE_LONGER_THAN * frame.depth_cm
    hatches = _hatches(plan)
    here = {module.microclimate for module in _modules(level)}
    return LevelDrawing(
        title=f"{frame.name}, {level.name}",
        wide=_picture(plan, level, marks, "wide"),
        narrow=_picture(plan, level, marks, "narrow") if is_long else None,
        key=tuple((n, name) for name, n in hatches.items() if name in here),
        benches=level.benches,
    )


def _hatches(plan: FramePlan) -> dict[str, int]:
    """A hatch for each microclimate, kept through the frame, its own on each level."""
    chosen: dict[str, int] = {}
    for level in plan.levels:
        here = sorted({module.microclimate for module in _modules(level)})
        taken = {chosen[name] for name in here if name in chosen}
        for name in here:
            if name not in chosen:
                free = [n for n in range(HATCHES) if n not in taken]
                chosen[name] = free[0] if free else len(chosen) % HATCHES
                taken.add(chosen[name])
    return chosen


def _modules(level: PlanLevel) -> Iterable[PlanModule]:
    return (module for bench in level.benches for module in bench.modules)


Area = PlanBench | PlanModule | PlanTree
Laying = Callable[[float, float, float, float], Rect]


def _picture(plan: FramePlan, level: PlanLevel, marks: Marked, name: str) -> Picture:
    frame, is_turned = plan.frame, name == "narrow"
    lay = _turned if is_turned else _upright(frame.depth_cm)
    hatches = _hatches(plan)
    outline = lay(0, 0, frame.width_cm, frame.depth_cm)
    return Picture(
        name=name,
        width=outline.width + 2 * MARGIN_CM,
        height=outline.height + MARGIN_CM + FOOT_CM,
        outline=outline,
        benches=tuple(_laid(bench, lay) for bench in level.benches),
        places=tuple(
            _place(module, _laid(module, lay), hatches, marks)
            for module in _modules(level)
        ),
        pots=tuple(
            _pot(tree, _laid(tree, lay), marks)
            for bench in level.benches
            for tree in bench.trees
        ),
        fittings=tuple(
            _fixed(
                lay(f.x_cm, f.y_cm, f.width_cm, f.depth_cm),
                f.get_kind_display(),
                outline,
            )
            for f in plan.fittings
        ),
        north_deg=(frame.north_deg + 90 * is_turned) % 360,
    )


def _laid(area: Area, lay: Laying) -> Rect:
    return lay(area.x_cm, area.y_cm, area.width_cm, area.depth_cm)


def _upright(frame_depth_cm: float) -> Laying:
    """As on the plan; there y runs upwards, on a drawing downwards."""

    def lay(x: float, y: float, width: float, depth: float) -> Rect:
        top = frame_depth_cm - y - depth
        return _rounded(MARGIN_CM + x, MARGIN_CM + top, width, depth)

    return lay


def _turned(x: float, y: float, width: float, depth: float) -> Rect:
    """A quarter clockwise: the plan's left end comes to the top."""
    return _rounded(MARGIN_CM + y, MARGIN_CM + x, depth, width)


def _rounded(x: float, y: float, width: float, height: float) -> Rect:
    return Rect(round(x, 2), round(y, 2), round(width, 2), round(height, 2))


def _place(
    module: PlanModule, rect: Rect, hatches: dict[str, int], marks: Marked
) -> Place:
    holds = f"holds {module.tree_number}" if module.tree_number else "free"
    return Place(
        rect=rect,
        label=module.label,
        label_cm=_text_cm(module.label, rect.width - 2, LABEL_CM),
        hatch=hatches[module.microclimate],
        description=f"{module.label}, {holds}, {module.microclimate}",
        url=marks.module_urls.get(module.pk, ""),
        is_chosen=module.pk in marks.modules,
    )


def _pot(tree: PlanTree, rect: Rect, marks: Marked) -> Pot:
    number = tree.number
    if _text_cm(number, rect.width - 2, NUMBER_CM) < LEAST_NUMBER_CM:
        number = number.rpartition("-")[2]
    weight = "" if tree.weight_kg is None else f", {tree.weight_kg:g} kg"
    return Pot(
        rect=rect,
        number=number,
        number_cm=_text_cm(number, rect.width - 2, NUMBER_CM),
        description=(
            f"{tree.number} {tree.name}, {tree.owner_mark}, at {tree.label}, "
            f"{tree.height_cm:g} cm high{weight}"
        ),
        url=reverse("web:tree-detail", args=[tree.number]),
        is_chosen=tree.number == marks.tree_number,
    )


def _fixed(rect: Rect, word: str, outline: Rect) -> Fixed:
    """A fitting in the wall is small: its word stays within the frame."""
    needed = len(word) * LETTER * LABEL_CM
    is_upright = rect.width < needed <= rect.height
    return Fixed(
        rect=rect,
        word=word,
        is_upright=is_upright,
        word_x=rect.middle_x
        if is_upright
        else _within(rect.middle_x, needed, outline.x, outline.x + outline.width),
        word_y=_within(rect.middle_y, 2 * LABEL_CM, outline.y, outline.bottom),
    )


def _within(middle: float, length: float, low: float, high: float) -> float:
    """The middle of something of that length, moved to lie between two ends."""
    room = length / 2 + 2
    return round(min(max(middle, low + room), high - room), 2)


def _text_cm(text: str, room_cm: float, most_cm: float) -> float:
    """The largest letters with which a text keeps within its room."""
    return round(min(most_cm, room_cm / (LETTER * max(1, len(text)))), 2)
