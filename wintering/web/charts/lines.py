"""Lines through many readings: gaps stay open, extremes survive."""

from collections.abc import Iterator
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Indices = NDArray[np.intp]


def runs(at_s: Floats, values: Floats, gap_after_s: float) -> Iterator[slice]:
    """Stretches without an unknown value and without a longer pause."""
    if not at_s.size:
        return
    known = ~np.isnan(values)
    joined = known[:-1] & known[1:] & (np.diff(at_s) <= gap_after_s)
    ends = np.flatnonzero(~joined) + 1
    edges = [0, *ends.tolist(), at_s.size]
    for first, end in pairwise(edges):
        if known[first]:
            yield slice(first, end)


def thinned(columns: NDArray[np.int64], values: Floats) -> Indices:
    """Which points to keep: of each column the first, lowest, highest and last.

    columns  the pixel column of each point, never falling
    """
    order = np.arange(columns.size)
    by_value = np.lexsort((values, columns))
    starts = np.flatnonzero(np.diff(columns, prepend=columns[0] - 1))
    ends = np.append(starts[1:], columns.size) - 1
    kept = np.concatenate([order[starts], by_value[starts], by_value[ends], ends])
    return np.unique(kept)


def path(x: Floats, y: Floats) -> str:
    """SVG path data; a lone point becomes a dot by its round line ends."""
    points = [
        f"{_short(px)} {_short(py)}"
        for px, py in zip(x.tolist(), y.tolist(), strict=True)
    ]
    if len(points) == 1:
        return f"M{points[0]}h0"
    return "M" + "L".join(points)


def _short(value: float) -> str:
    return f"{value:.1f}".removesuffix(".0")
