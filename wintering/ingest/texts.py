"""Cells of few different texts, each text read once: names, quantities, units."""

from typing import Any

import numpy as np
from numpy.typing import NDArray

from wintering.ingest.fields import WORD, Fields, Int64, Words

_MOST_WORDS = 8
_MOST_TEXTS = 4096
_MIX = np.uint64(0x9E3779B97F4A7C15)  # odd, its bits spread: 2**64 over the golden mean


class Texts:
    """The different texts of one column, by their numbers."""

    def __init__(self, column: int) -> None:
        self.column = column
        self.texts: list[str] = []
        self._keys = np.empty(0, np.uint64)  # in order
        self._numbers = np.empty(0, np.int64)  # of the text with each key
        self._words = np.empty((0, _MOST_WORDS), np.uint64)  # by number

    def numbers(self, fields: Fields, encoding: str) -> Int64 | None:
        """The number of each cell's text; None where the texts are too many."""
        length = fields.ends[self.column] - fields.starts[self.column]
        across = -(-int(length.max(initial=1)) // WORD)
        if across > _MOST_WORDS:
            return None
        words = fields.first_words(self.column, slice(None), max(across, 1))
        keys = _keys(words, length)
        found = self._found(keys)
        fresh = np.flatnonzero(found < 0)
        if len(fresh):
            self._add(fields, encoding, keys, words, fresh)
            if len(self.texts) > _MOST_TEXTS:
                return None
            found = self._found(keys)
        is_same = (self._words[found, : words.shape[1]] == words).all()
        is_whole = not self._words[found, words.shape[1] :].any()
        return found if is_same and is_whole else None

    def _found(self, keys: Words) -> NDArray[Any]:
        if not len(self._keys):
            return np.full(len(keys), -1)
        at = np.minimum(np.searchsorted(self._keys, keys), len(self._keys) - 1)
        return np.where(self._keys[at] == keys, self._numbers[at], -1)

    def _add(
        self, fields: Fields, encoding: str, keys: Words, words: Words, rows: Int64
    ) -> None:
        first = np.unique(keys[rows], return_index=True)[1]
        chosen = rows[np.sort(first)]
        padded = np.zeros((len(chosen), _MOST_WORDS), np.uint64)
        padded[:, : words.shape[1]] = words[chosen]
        self._words = np.concatenate([self._words, padded])
        numbers = len(self.texts) + np.arange(len(chosen))
        self.texts += [fields.text(self.column, int(r), encoding) for r in chosen]
        together = np.concatenate([self._keys, keys[chosen]])
        order = np.argsort(together)
        self._keys = together[order]
        self._numbers = np.concatenate([self._numbers, numbers])[order]


def _keys(words: Words, length: Int64) -> Words:
    """One number for each cell, by which most texts differ; words are compared too."""
    keys = length.astype(np.uint64)
    for which in range(words.shape[1]):
        keys = (keys ^ words[:, which]) * _MIX
        keys ^= keys >> np.uint64(29)
    return keys
