"""Plain decimal numbers of up to eight letters into thousandths, many at once.

Eight digits lie in one 64-bit word and are summed in three steps: pairs, then fours,
then all. A cell of another form is left to the careful reader.
"""

import numpy as np
from numpy.typing import NDArray

from wintering.ingest.fields import LAST, WORD, Fields, Int64, Words

_ZEROS = np.uint64(0x3030303030303030)
_HIGH_BITS = np.uint64(0x8080808080808080)
_TO_NINE = np.uint64(0x4646464646464646)  # '9' and this stay below the high bit
_BYTE = np.uint64(0xFF)
_MOST_DECIMALS = 3
_POWERS = np.array([1000, 100, 10, 1], np.int64)
_LIMIT = 2**31


def thousandths_of(fields: Fields, column: int) -> tuple[Int64, NDArray[np.bool_]]:
    """Each cell's number in thousandths, and which of them are plain numbers."""
    start, end = fields.starts[column], fields.ends[column]
    length = end - start
    kept = LAST[np.minimum(length, WORD)]
    word = (fields.words[end - WORD] & kept) | (_ZEROS & ~kept)
    word, is_negative, signs = _without_sign(word, length)
    word, decimals = _without_point(word)
    digits = length - signs - (decimals > 0)
    is_plain = (length <= WORD) & (digits > 0) & _are_digits(word)
    number = _number(word) * _POWERS[decimals]
    is_plain &= number < _LIMIT
    return np.where(is_negative, -number, number), is_plain


def _without_sign(
    word: Words, length: Int64
) -> tuple[Words, NDArray[np.bool_], NDArray[np.bool_]]:
    shift = (8 * (WORD - np.clip(length, 1, WORD))).astype(np.uint64)
    first = (word >> shift) & _BYTE
    is_negative = first == ord("-")
    is_signed = is_negative | (first == ord("+"))
    blotted = (first ^ np.uint64(ord("0"))) << shift
    return np.where(is_signed, word ^ blotted, word), is_negative, is_signed


def _without_point(word: Words) -> tuple[Words, Int64]:
    """The digits moved together, and how many stood behind the point or comma."""
    decimals = np.zeros(len(word), np.int64)
    for places in range(1, _MOST_DECIMALS + 1):
        mark = (word >> np.uint64(8 * (WORD - 1 - places))) & _BYTE
        is_mark = ((mark == ord(".")) | (mark == ord(","))) & (decimals == 0)
        if not is_mark.any():
            continue
        behind = LAST[places]
        before = ~LAST[places + 1]
        closed = (word & behind) | ((word & before) << np.uint64(8)) | np.uint64(0x30)
        word = np.where(is_mark, closed, word)
        decimals[is_mark] = places
    return word, decimals


def _are_digits(word: Words) -> NDArray[np.bool_]:
    below, above = word - _ZEROS, word + _TO_NINE
    return ((below | above) & _HIGH_BITS) == 0


def _number(word: Words) -> Int64:
    digits = word - _ZEROS
    pairs = digits * np.uint64(10) + (digits >> np.uint64(8))
    every_fourth = np.uint64(0x000000FF000000FF)
    fours = (pairs & every_fourth) * np.uint64(0x000F424000000064)
    fours += ((pairs >> np.uint64(16)) & every_fourth) * np.uint64(0x0000271000000001)
    return (fours >> np.uint64(32)).astype(np.int64)
