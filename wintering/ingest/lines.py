"""A file's bytes in blocks of whole lines, so that no file is too long.

Whatever the file's own encoding, a block is in one whose line ends and separators are
single bytes: what comes in UTF-16 is turned into UTF-8.
"""

import codecs
import re
from collections.abc import Iterator
from dataclasses import dataclass
from typing import BinaryIO

BLOCK_BYTES = 1 << 20  # stays within a processor's cache: own choice
_LONGEST_LINE = 1 << 22  # bytes; a longer one is cut, and then fits no table
_LINE_END = re.compile(rb"\r\n|\r|\n")


@dataclass(frozen=True, slots=True)
class Lines:
    """Whole lines, and the number of the first of them."""

    first: int
    data: bytes

    def text(self, encoding: str) -> list[str]:
        text = self.data.decode(encoding)
        lines = text.replace("\r\n", "\n").replace("\r", "\n").split("\n")
        if not lines[-1]:
            lines.pop()
        return lines

    def after(self, line: int) -> "Lines":
        """Without the lines before the one of that number."""
        at = 0
        for number in range(self.first, line):
            end = _LINE_END.search(self.data, at)
            if end is None:
                return Lines(number + 1, b"")
            at = end.end()
        return Lines(max(line, self.first), self.data[at:])


def byte_encoding(encoding: str) -> str:
    """The encoding of the blocks of a file in that encoding."""
    return "utf-8" if encoding.startswith("utf") else encoding


def blocks(
    file: BinaryIO, encoding: str, *, size: int, block_bytes: int = BLOCK_BYTES
) -> Iterator[Lines]:
    """The file's first `size` bytes in blocks of whole lines."""
    first, rest = 1, b""
    for part in _parts(file, encoding, size, block_bytes):
        data = rest + part
        end = _end_of_lines(data)
        if not end and len(data) > _LONGEST_LINE:
            end = len(data)
        block, rest = data[:end], data[end:]
        if block:
            yield Lines(first, block)
            first += _line_ends(block)
    if rest:
        yield Lines(first, rest)


def _parts(
    file: BinaryIO, encoding: str, size: int, block_bytes: int
) -> Iterator[bytes]:
    file.seek(0)
    left = size
    decode = None
    if encoding.startswith("utf-16"):
        # Half a letter spoils one cell, not the file.
        decode = codecs.getincrementaldecoder(encoding)(errors="replace").decode
    while left > 0 and (part := file.read(min(block_bytes, left))):
        is_first = left == size
        left -= len(part)
        if decode:
            part = decode(part, left <= 0).encode("utf-8", "replace")
        elif is_first:
            part = part.removeprefix(codecs.BOM_UTF8)
        yield part


def _end_of_lines(data: bytes) -> int:
    """Where the last whole line ends; a carriage return may have a fellow to come."""
    feed = data.rfind(b"\n") + 1
    if feed:
        return feed
    return data.rfind(b"\r", 0, len(data) - 1) + 1


def _line_ends(data: bytes) -> int:
    feeds = data.count(b"\n")
    if b"\r" not in data:
        return feeds
    return feeds + data.count(b"\r") - data.count(b"\r\n")
