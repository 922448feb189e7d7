"""Whether a tree fits a place: what forbids it, and what is only to be known."""

from collections.abc import Sequence
from dataclasses import dataclass

from wintering.frames.models import Bench, Module
from wintering.trees.models import Pot, Tree

# Free air between canopies; common practice.
AIR_GAP_CM = 5.0
# Share of a bench's load limit that saturated pots may use; common practice.
LOAD_SHARE = 0.8


@dataclass(frozen=True, slots=True)
class Rectangle:
    """Lower left corner and size in the frame's plan [cm]."""

    x_cm: float
    y_cm: float
    width_cm: float
    depth_cm: float

    def gap_to(self, other: "Rectangle") -> float:
        """Free distance along the wider axis [cm]; negative where they overlap."""
        across = max(
            other.x_cm - self.x_cm - self.width_cm,
            self.x_cm - other.x_cm - other.width_cm,
        )
        inward = max(
            other.y_cm - self.y_cm - self.depth_cm,
            self.y_cm - other.y_cm - other.depth_cm,
        )
        return max(across, inward)

    def centred(self, width_cm: float, depth_cm: float) -> "Rectangle":
        """A rectangle of that size in the middle of this one."""
        return Rectangle(
            self.x_cm + (self.width_cm - width_cm) / 2,
            self.y_cm + (self.depth_cm - depth_cm) / 2,
            width_cm,
            depth_cm,
        )


@dataclass(frozen=True, slots=True)
class Fit:
    """Sentences that forbid the place, sentences to know, and how the tree stands."""

    refusals: tuple[str, ...]
    warnings: tuple[str, ...]
    stands: Rectangle


def footprint_cm(tree: Tree, pot: Pot | None) -> tuple[float, float] | None:
    """The greater of pot and canopy, along and across [cm]; None: not measured."""
    sizes = [(tree.canopy_width_cm, tree.canopy_depth_cm)]
    if pot:
        sizes.append((pot.width_cm, pot.depth_cm))
    known = [(width, depth) for width, depth in sizes if width and depth]
    if not known:
        return None
    return max(width for width, _ in known), max(depth for _, depth in known)


def area_of(modules: Sequence[Module]) -> Rectangle:
    """The rectangle around modules of one bench, in the frame's plan."""
    bench = modules[0].bench
    left = min(module.x_cm for module in modules)
    low = min(module.y_cm for module in modules)
    right = max(module.x_cm + module.width_cm for module in modules)
    high = max(module.y_cm + module.depth_cm for module in modules)
    return Rectangle(bench.x_cm + left, bench.y_cm + low, right - left, high - low)


def fit_of(
    *,
    tree: Tree,
    pot: Pot | None,
    modules: Sequence[Module],
    neighbours: Sequence[tuple[str, Rectangle]],
    load_kg: float,
) -> Fit:
    """Judge one tree on modules of one bench.

    neighbours  number and rectangle of each other tree on the bench
    load_kg     weight of the other trees on the bench, as far as known
    """
    bench, area = modules[0].bench, area_of(modules)
    size = footprint_cm(tree, pot)
    stands = area.centred(*_turned_to_fit(size, area)) if size else area
    refusals = [
        *_block_refusals(modules, area),
        *_height_refusals(tree, bench),
        *_size_refusals(tree, size, area, modules),
        *_load_refusals(tree, bench, load_kg),
    ]
    warnings = [
        *_gap_warnings(stands, neighbours),
        *_load_warnings(tree, bench, load_kg),
    ]
    if size and stands.width_cm != size[0]:
        warnings.append("It fits only when turned a quarter.")
    return Fit(tuple(refusals), tuple(warnings), stands)


def _turned_to_fit(size: tuple[float, float], area: Rectangle) -> tuple[float, float]:
    width, depth = size
    fits = width <= area.width_cm and depth <= area.depth_cm
    fits_turned = depth <= area.width_cm and width <= area.depth_cm
    return (depth, width) if fits_turned and not fits else (width, depth)


def _block_refusals(modules: Sequence[Module], area: Rectangle) -> list[str]:
    if len({module.bench_id for module in modules}) > 1:
        return ["A tree stands on one bench: choose modules of the same bench."]
    taken = sum(module.width_cm * module.depth_cm for module in modules)
    if abs(taken - area.width_cm * area.depth_cm) > 1:
        return ["Choose modules that lie side by side and form a rectangle."]
    return []


def _height_refusals(tree: Tree, bench: Bench) -> list[str]:
    if tree.height_cm <= bench.headroom_cm:
        return []
    return [
        f"{tree.number} is too tall: {tree.height_cm:g} cm with its pot, and bench "
        f"{bench.name} has {bench.headroom_cm:g} cm of headroom."
    ]


def _size_refusals(
    tree: Tree,
    size: tuple[float, float] | None,
    area: Rectangle,
    modules: Sequence[Module],
) -> list[str]:
    if size is None:
        return [f"Measure {tree.number} first: neither pot nor canopy size is known."]
    width, depth = _turned_to_fit(size, area)
    if width <= area.width_cm and depth <= area.depth_cm:
        return []
    label = ", ".join(module.label for module in modules)
    return [
        f"{tree.number} is too wide: {size[0]:g} × {size[1]:g} cm, and {label} "
        f"has {area.width_cm:g} × {area.depth_cm:g} cm. Take more modules."
    ]


def _load_refusals(tree: Tree, bench: Bench, load_kg: float) -> list[str]:
    total = load_kg + (tree.weight_kg or 0)
    if bench.weight_limit_kg is None or total <= bench.weight_limit_kg:
        return []
    return [
        f"Bench {bench.name} would carry {total:g} kg, above its limit of "
        f"{bench.weight_limit_kg:g} kg."
    ]


def _load_warnings(tree: Tree, bench: Bench, load_kg: float) -> list[str]:
    if tree.weight_kg is None:
        return [f"The weight of {tree.number} is not known: the load is not checked."]
    total = load_kg + tree.weight_kg
    limit = bench.weight_limit_kg
    if limit is None or not LOAD_SHARE * limit < total <= limit:
        return []
    return [
        f"Bench {bench.name} would carry {total:g} kg, more than {LOAD_SHARE:.0%} of "
        f"its limit of {limit:g} kg."
    ]


def _gap_warnings(
    stands: Rectangle, neighbours: Sequence[tuple[str, Rectangle]]
) -> list[str]:
    gaps = [(stands.gap_to(place), number) for number, place in neighbours]
    close = [(gap, number) for gap, number in gaps if gap < AIR_GAP_CM]
    if not close:
        return []
    gap, number = min(close)
    return [
        f"Only {max(gap, 0):.0f} cm of air to {number}; {AIR_GAP_CM:g} cm keeps mould "
        "away (common practice)."
    ]
