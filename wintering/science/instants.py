"""Readings as pairs of an instant and a value, in whatever order they were written."""

import numpy as np
from numpy.typing import ArrayLike, NDArray


def paired(
    seconds: ArrayLike, value_c: ArrayLike
) -> tuple[NDArray[np.int64], NDArray[np.float64]]:
    """The two as arrays of one length; instants are whole seconds since 1970."""
    at = np.asarray(seconds, dtype=np.int64)
    c = np.asarray(value_c, dtype=np.float64)
    if at.shape != c.shape or at.ndim != 1:
        raise ValueError(
            f"{at.size} instants and {c.size} temperatures: give one of each a reading."
        )
    return at, c


def one_value_an_instant(
    at: NDArray[np.int64], c: NDArray[np.float64]
) -> tuple[NDArray[np.int64], NDArray[np.float64]]:
    """Sorted; exact duplicates dropped; different values at one instant averaged."""
    if np.all(at[1:] > at[:-1]):
        return at, c
    order = np.lexsort((c, at))
    at, c = at[order], c[order]
    fresh = np.ones(at.shape, dtype=bool)
    fresh[1:] = (np.diff(at) != 0) | (np.diff(c) != 0)
    instants, where = np.unique(at[fresh], return_inverse=True)
    return instants, np.bincount(where, weights=c[fresh]) / np.bincount(where)
